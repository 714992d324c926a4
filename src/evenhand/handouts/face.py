"""The face of a page: the one font, cut down to the characters that the page needs, carried inside it."""

from __future__ import annotations

import base64
import io
import logging
from functools import lru_cache

from fontTools import subset
from fontTools.ttLib import TTFont

from evenhand.charts import fonts

_ALWAYS = frozenset(map(chr, range(0x20, 0x7F))) | frozenset(
    "°±²³·×ßäöüéèêàçñåøÄÖÜÉ–—‘’“”…−\N{NO-BREAK SPACE}"
)


def face(text: str) -> str:
    """`@font-face` rules with the font as data, enough for every character of `text` that the font has."""
    needed = "".join(sorted(_ALWAYS | set(text)))
    return "\n".join(_rule(weight, needed) for weight in fonts.WEIGHTS)


@lru_cache(maxsize=8)
def _rule(weight: fonts.Weight, needed: str) -> str:
    data = base64.b64encode(_cut(weight, needed)).decode("ascii")
    return (
        f"@font-face {{ font-family: '{fonts.FAMILY}'; font-weight: {fonts.WEIGHTS[weight]}; font-style: normal; "
        f"src: url(data:font/woff;base64,{data}) format('woff'); }}"
    )


def _cut(weight: fonts.Weight, needed: str) -> bytes:
    """The font file with only the characters needed, as WOFF."""
    logging.getLogger("fontTools").setLevel(logging.ERROR)
    options = subset.Options(layout_features=["kern", "mark", "ccmp"], hinting=False, notdef_outline=True)
    options.name_IDs = [1, 2, 13, 14]
    options.flavor = "woff"
    with TTFont(fonts.path(weight), recalcTimestamp=False) as font:
        cutter = subset.Subsetter(options)
        cutter.populate(text=needed)
        cutter.subset(font)
        font.flavor = "woff"
        out = io.BytesIO()
        font.save(out)
    return out.getvalue()

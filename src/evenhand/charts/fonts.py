"""The one face, from its wheel: properties for every text, and how wide a text will be."""

from __future__ import annotations

import importlib.util
from functools import lru_cache
from pathlib import Path
from typing import Literal

from matplotlib.font_manager import FontProperties, get_font

FAMILY = "Source Sans Pro"
Weight = Literal["Regular", "Semibold"]
WEIGHTS: dict[Weight, int] = {"Regular": 400, "Semibold": 600}


@lru_cache(maxsize=4)
def path(weight: Weight) -> Path:
    """The font file of a weight."""
    spec = importlib.util.find_spec("font_source_sans_pro")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent / "files" / f"SourceSansPro-{weight}.ttf"


@lru_cache(maxsize=64)
def properties(px: float, weight: Weight = "Regular") -> FontProperties:
    """Font properties at a size in px (pictures are drawn at 72 dots an inch, so a point is a px)."""
    return FontProperties(family=[FAMILY], fname=str(path(weight)), size=px, weight=WEIGHTS[weight])


@lru_cache(maxsize=4096)
def width(text: str, px: float, weight: Weight = "Regular") -> float:
    """The width of a text in px."""
    font = get_font(str(path(weight)))
    font.set_size(px, 72)
    font.set_text(text, 0.0)
    return float(font.get_width_height()[0]) / 64


def wrapped(text: str, px: float, room: float, weight: Weight = "Regular") -> list[str]:
    """The text in lines no wider than `room` px; a single word may be wider."""
    lines: list[str] = []
    for word in text.split(" "):
        if lines and width(f"{lines[-1]} {word}", px, weight) <= room:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines

"""A picture as SVG inside a page: small, with ids of its own, its colours left to the page's style."""

from __future__ import annotations

import re
from html import escape

from evenhand.charts.look import DARK, LIGHT, Palette
from evenhand.charts.picture import Picture

_NUMBER = re.compile(r"-?\d+\.\d+")
_PATH = re.compile(r' d="([^"]*)"')
_PLACE = re.compile(r' (x|y)="(-?\d+\.\d+)"')
_ID = re.compile(r' id="([^"]+)"')
_REFERENCE = re.compile(r"(?:href=\"#|url\(#)([^\")]+)")


def variables(palette: Palette) -> str:
    """The palette as declarations of style variables."""
    named = {"ground": palette.ground, "ink": palette.ink, "quiet": palette.quiet, "rule": palette.rule}
    named["between"] = palette.between
    named |= {f"sensor-{place}": colour for place, colour in enumerate(palette.sensors)}
    return "; ".join(f"--{name}: {colour}" for name, colour in named.items())


def styles() -> tuple[str, str]:
    """Variables for light and for dark; pictures drawn in light follow them."""
    return variables(LIGHT), variables(DARK)


def inline(picture: Picture) -> str:
    """The picture, drawn in light, as an `svg` element; title and words are its name to those who do not see it."""
    name = f"{picture.name}-{picture.size.name}"
    svg = picture.svg()
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>|<style.*?</style>|<!--.*?-->", "", svg, flags=re.DOTALL)
    svg = _own_ids(svg.replace("xlink:href", "href"), name)
    svg = _PATH.sub(lambda found: f' d="{_shorter(found[1])}"', svg)
    svg = _PLACE.sub(lambda found: f' {found[1]}="{_short(found[2])}"', svg)
    for declaration in variables(LIGHT).split("; "):
        variable, colour = declaration.split(": ")
        svg = svg.replace(colour, f"var({variable})")
    box = re.search(r'viewBox="([^"]+)"', svg)
    assert box is not None
    body = svg[svg.index(">") + 1 :]
    body = re.sub(r"<g>\s*</g>|<g/>|<defs>\s*</defs>", "", re.sub(r">\s+<", "><", body))
    return (
        f'<svg viewBox="{box[1]}" role="img" aria-labelledby="{name}-title {name}-words">'
        f'<title id="{name}-title">{escape(picture.title)}</title><desc id="{name}-words">{escape(picture.alternative)}</desc>{body.strip()}'
    )


def _own_ids(svg: str, name: str) -> str:
    """Ids that something refers to get the picture's name; the others go."""
    used = {old: f"{name}-{place}" for place, old in enumerate(dict.fromkeys(_REFERENCE.findall(svg)))}
    svg = _ID.sub(lambda found: f' id="{used[found[1]]}"' if found[1] in used else "", svg)
    return _REFERENCE.sub(lambda found: found[0].replace(found[1], used[found[1]]), svg)


def _short(number: str) -> str:
    """A coordinate to a tenth of a px, to a hundredth near zero, where marks are drawn."""
    value = float(number)
    text = f"{value:.2f}" if abs(value) < 15 else f"{value:.1f}"
    return text.rstrip("0").rstrip(".")


def _shorter(path: str) -> str:
    """A path with short numbers and no spare space."""
    return re.sub(r"\s*([A-Za-z])\s*", r"\1", _NUMBER.sub(lambda found: _short(found[0]), path)).strip()

"""The frame every picture is drawn in: paper, title where it is titled, the caveat at the foot, places in px."""

from __future__ import annotations

from typing import Literal, TypeAlias, TypedDict, Unpack

from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.text import Text

from evenhand.charts import fonts
from evenhand.charts.fonts import Weight
from evenhand.charts.look import Palette, Size

Across: TypeAlias = Literal["left", "center", "right"]


class TextStyle(TypedDict, total=False):
    """How a text stands: size in px, colour, weight, and which of its points the place means."""

    px: float
    colour: str
    weight: Weight
    ha: Across
    va: Literal["top", "center", "bottom"]


class Frame:
    """A figure with px coordinates, measured from its top left corner.

    `top` and `bottom` bound the room between title and caveat. Where the size has no height, `body` px are
    made for the content; where it has one, the content gets what is left.
    """

    def __init__(self, size: Size, palette: Palette, title: str, caveat: str, body: float) -> None:
        self.size = size
        self.palette = palette
        self.edge = 12 * size.scale if size.titled else 2.0
        room = size.width - 2 * self.edge
        heading = fonts.wrapped(title, size.title, room, "Semibold") if size.titled else []
        foot = fonts.wrapped(caveat, size.small, room)
        line = size.small * 1.35
        self.top = self.edge + len(heading) * size.title * 1.25 + (size.text if heading else 0)
        footing = len(foot) * line + self.edge + 0.8 * size.small
        self.height = float(size.height or self.top + body + footing)
        self.bottom = self.height - footing
        self.figure = Figure(figsize=(size.width / 72, self.height / 72), dpi=72, facecolor=palette.ground)
        FigureCanvasSVG(self.figure)
        for row, text in enumerate(heading):
            self.text(self.edge, self.edge + row * size.title * 1.25, text, px=size.title, weight="Semibold")
        for row, text in enumerate(foot):
            at = self.bottom + 0.8 * size.small + row * line
            self.text(self.edge, at, text, px=size.small, colour=palette.quiet).set_gid("caveat")

    @property
    def right(self) -> float:
        """The right end of the room, px from the left."""
        return self.size.width - self.edge

    def text(self, x: float, y: float, text: str, **style: Unpack[TextStyle]) -> Text:
        """A text whose top left corner (or as `ha`, `va` say) is at px (x, y) of the frame."""
        return self.figure.text(
            x / self.size.width,
            1 - y / self.height,
            text,
            fontproperties=fonts.properties(style.get("px", self.size.text), style.get("weight", "Regular")),
            color=style.get("colour", self.palette.ink),
            ha=style.get("ha", "left"),
            va=style.get("va", "top"),
        )

    def axes(self, left: float, top: float, width: float, height: float) -> Axes:
        """Bare axes over a box in px: no spines, no ticks, no ground of their own."""
        box = (
            left / self.size.width,
            1 - (top + height) / self.height,
            width / self.size.width,
            height / self.height,
        )
        made = self.figure.add_axes(box, facecolor="none")
        for spine in made.spines.values():
            spine.set_visible(False)
        made.tick_params(length=0, labelbottom=False, labelleft=False)
        made.set_xticks([])
        made.set_yticks([])
        return made

    def write(self, axes: Axes, x: float, y: float, text: str, **style: Unpack[TextStyle]) -> Text:
        """A text at a place in the data of `axes`, centred there unless `ha`, `va` say otherwise."""
        return axes.text(
            x,
            y,
            text,
            fontproperties=fonts.properties(style.get("px", self.size.small), style.get("weight", "Regular")),
            color=style.get("colour", self.palette.ink),
            ha=style.get("ha", "center"),
            va=style.get("va", "center"),
            clip_on=False,
        )

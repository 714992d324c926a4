"""Colours, marks, line styles and sizes, each told apart by more than hue."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Palette:
    """One set of colours: `sensors` by a sensor's place for life."""

    ground: str
    ink: str
    quiet: str
    rule: str
    sensors: tuple[str, str, str]
    between: str
    """The estimate between sticks: a band at 35 %, and its line."""


LIGHT = Palette("#fbfaf7", "#1c1c1c", "#5b5b57", "#d9d6cd", ("#2f4b7c", "#b54a31", "#1f7a73"), "#8d86a8")
DARK = Palette("#15171a", "#ece9e2", "#a8a59d", "#34373c", ("#8fb0e6", "#f0937a", "#6fc7bb"), "#a79fd0")

MARKS = ("o", "s", "^")
"""Round, square, triangle, by place."""

Line: TypeAlias = str | tuple[float, tuple[float, ...]]
LINES: tuple[Line, Line, Line] = ("-", (0, (7, 2)), (0, (1.2, 1.4)))
"""Solid, long dash, dots, by place (offset, on and off in line widths)."""


@dataclass(frozen=True, slots=True)
class Size:
    """A size of picture: width and height in px (height None: as the content needs), text sizes in px, and
    whether the title is drawn in the frame (on a page the heading above is the title)."""

    name: str
    width: int
    height: int | None
    text: float
    small: float
    title: float
    titled: bool

    @property
    def scale(self) -> float:
        """Line widths and gaps relative to the page size."""
        return self.small / 13

    @property
    def wide(self) -> bool:
        """Broader than high, or broad enough for a week in a row."""
        return self.width >= 800 and (self.height is None or self.width > self.height)


PAGE = Size("page", 880, None, 15, 13, 20, titled=False)
NARROW = Size("narrow", 350, None, 14, 13, 18, titled=False)
SLIDE = Size("slide", 1920, 1080, 30, 26, 46, titled=True)
PHONE = Size("phone", 1080, 1350, 32, 28, 48, titled=True)

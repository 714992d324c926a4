"""The strip over the traces that names every line and mark, and how each kind of stick looks."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from evenhand.charts import fonts
from evenhand.charts.frame import Frame
from evenhand.charts.look import LINES, MARKS, Palette, Size
from evenhand.records.diary import Reason, Stick
from evenhand.records.trial import Trial


class StickKind(StrEnum):
    """Kinds of stick that are drawn apart."""

    STICK = "stick"
    PROMPTED = "prompted"
    CALIBRATION = "calibration"


STICKS = tuple(StickKind)
BAND = "estimate between sticks, 90 %"


def kind(stick: Stick) -> StickKind:
    """How a stick is drawn."""
    if stick.reason is Reason.CALIBRATION:
        return StickKind.CALIBRATION
    return StickKind.PROMPTED if stick.reason is Reason.PROMPTED else StickKind.STICK


def stick_look(which: StickKind, palette: Palette, size: Size) -> dict[str, Any]:
    """Line properties of a kind of stick: hollow diamond, slim quiet diamond, filled diamond."""
    points = 6.0 * size.scale
    look = {
        "marker": "D",
        "markersize": points,
        "markerfacecolor": palette.ground,
        "markeredgecolor": palette.ink,
    }
    look["markeredgewidth"] = 1.3 * size.scale
    if which is StickKind.PROMPTED:
        look |= {"marker": "d", "markeredgecolor": palette.quiet, "markersize": 1.1 * points}
    if which is StickKind.CALIBRATION:
        look |= {"markerfacecolor": palette.ink}
    return look


@dataclass(frozen=True, slots=True)
class Item:
    """One entry: its words, its colour, and the sensor's or stick's look."""

    words: str
    colour: str
    place: int | None = None
    stick: StickKind | None = None
    band: bool = False


def items(trial: Trial, palette: Palette, *, between: bool = False) -> list[Item]:
    """Every line and mark that this trial needs named; `between`: the estimate between sticks among them."""
    made = [Item(sensor.name, palette.sensors[sensor.place], place=sensor.place) for sensor in trial.sensors]
    there = {kind(stick) for stick in trial.sticks}
    names = {
        StickKind.STICK: "stick",
        StickKind.PROMPTED: "prompted stick",
        StickKind.CALIBRATION: "calibration",
    }
    made += [Item(names[which], palette.ink, stick=which) for which in STICKS if which in there]
    made += [Item(BAND, palette.between, band=True)] if between else []
    return [*made, Item("bars at the foot: start and warm-up", palette.quiet)]


def _sample(item: Item, size: Size) -> float:
    return (2.6 if item.place is not None or item.band else 1.3 if item.stick else 0.0) * size.small


def arranged(given: list[Item], size: Size) -> list[list[Item]]:
    """The entries in lines that fit the width."""
    lines: list[list[Item]] = [[]]
    used = 0.0
    for item in given:
        need = _sample(item, size) + fonts.width(item.words, size.small) + 1.4 * size.small
        if lines[-1] and used + need > size.width - 3 * size.small:
            lines.append([])
            used = 0.0
        lines[-1].append(item)
        used += need
    return lines


def draw(frame: Frame, lines: list[list[Item]]) -> None:
    """The strip, at the top of the frame's room."""
    px = frame.size.small
    axes = frame.axes(frame.edge, frame.top, frame.right - frame.edge, len(lines) * 1.6 * px)
    axes.set(xlim=(0, frame.right - frame.edge), ylim=(len(lines) * 1.6 * px, 0))
    for row, line in enumerate(lines):
        x, y = 0.0, (row + 0.5) * 1.6 * px
        for item in line:
            room = _sample(item, frame.size)
            if item.place is not None:
                axes.plot(
                    [x, x + 2.2 * px],
                    [y, y],
                    color=item.colour,
                    linewidth=1.6 * frame.size.scale,
                    linestyle=LINES[item.place],
                )
                axes.plot(
                    [x + 1.1 * px],
                    [y],
                    MARKS[item.place],
                    color=item.colour,
                    markersize=5.5 * frame.size.scale,
                    markeredgewidth=0,
                )
            if item.band:
                thick = 0.9 * px
                axes.plot(
                    [x, x + 2.2 * px],
                    [y, y],
                    color=item.colour,
                    linewidth=thick,
                    alpha=0.35,
                    solid_capstyle="butt",
                )
            if item.stick is not None:
                axes.plot(
                    [x + 0.5 * px],
                    [y],
                    linestyle="none",
                    clip_on=False,
                    **stick_look(item.stick, frame.palette, frame.size),
                )
            weight: fonts.Weight = "Semibold" if item.place is not None else "Regular"
            colour = frame.palette.quiet if item.band else item.colour
            frame.write(axes, x + room, y, item.words, colour=colour, ha="left", weight=weight)
            x += room + fonts.width(item.words, px, weight) + 1.4 * px

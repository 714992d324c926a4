"""The balance: one scale of the difference, a sensor's name at each end, zero in the middle, the margin around it."""

from __future__ import annotations

from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from evenhand.charts import fonts, scale
from evenhand.charts.frame import Across, Frame
from evenhand.charts.look import LIGHT, MARKS, PAGE, Palette, Size
from evenhand.charts.picture import Picture
from evenhand.findings.findings import Findings, HeadToHead
from evenhand.say.answer import leaning
from evenhand.say.headings import balance_title
from evenhand.say.meter import off, span_words
from evenhand.say.numbers import level
from evenhand.say.numbers import margin as margin_words
from evenhand.say.proof import body
from evenhand.stats.estimate import Est
from evenhand.units import Unit, from_mg_dl

METER_REACH = 15.0
"""The meter is moved at most this many percent either way."""


@dataclass(frozen=True, slots=True)
class _Row:
    """One estimate on the scale: its gid, its words, its numbers, whether it is the main one, its height in px."""

    gid: str
    lines: list[str]
    est: Est
    main: bool
    height: float


def balance(
    findings: Findings, places: dict[str, int], unit: Unit, *, pair: int = 0, size: Size = PAGE, palette: Palette = LIGHT
) -> Picture:  # fmt: skip
    """The balance of one pair of sensors. `places` gives each sensor's place (hue and mark) by its name."""
    head = findings.head_to_head[pair]
    title = balance_title(head, unit)
    rows = _rows(head, unit, size)
    names, foot = 2.4 * size.text, 4.2 * size.small
    meter = _meter_lines(head, size)
    below = len(meter) * 1.35 * size.small + 3.4 * size.small if meter else 0.0
    strip = 1.7 * size.small
    body_height = names + sum(row.height for row in rows) + strip + foot + below
    frame = Frame(size, palette, title, _caveat(findings, head), body_height)
    stretch = (frame.bottom - frame.top - names - strip - foot - below) / sum(row.height for row in rows)
    _names(frame, head, places)
    height = stretch * sum(row.height for row in rows) + strip
    axes = frame.axes(frame.edge, frame.top + names, frame.right - frame.edge, height)
    margin = from_mg_dl(findings.primary.margin, unit)
    reach = _reach(rows, margin, unit)
    axes.set(xlim=(-reach, reach), ylim=(height, 0))
    _band(
        frame,
        axes,
        margin,
        _words_height(rows[0], size),
        f"your margin, {margin_words(findings.primary.margin, unit)} each way",
    )
    at = 0.0
    for row in rows:
        _draw(frame, axes, row, unit, at=at, stretch=stretch)
        at += stretch * row.height
    if head.answer.state == "equal":
        _inner(frame, axes, head.interval_for_equal, unit, _line_at(rows[0], size, stretch))
    _ticks(frame, axes, reach, f"difference in average error, {unit}")
    if meter:
        _meter(frame, head, meter, frame.top + names + height + foot)
    name = "balance" if pair == 0 else f"balance-{pair + 1}"
    return Picture(name, frame.figure, title, _words(findings, head, title, unit), size)


def _caveat(findings: Findings, head: HeadToHead) -> str:
    thick = f", the thick part {level(head.interval_for_equal.level)}" if head.answer.state == "equal" else ""
    caveat = body(findings)
    return f"{caveat[0].upper()}{caveat[1:]}. Lines are {level(head.difference.level)} intervals{thick}."


def _rows(head: HeadToHead, unit: Unit, size: Size) -> list[_Row]:
    given = (
        ("difference", "", head.difference, True),
        ("all-pairs", "moving sticks in: ", head.all_pairs, False),
        ("with-prompted", "prompted sticks in: ", head.with_prompted, False),
    )
    made = []
    for gid, lead, est, main in given:
        if est.why == "no-prompted":
            continue
        px = 1.15 * size.text if main else size.small
        text = lead + leaning(est, head.a, head.b, unit)
        lines = fonts.wrapped(text, px, size.width * 0.92, "Semibold" if main else "Regular")
        made.append(_Row(gid, lines, est, main, len(lines) * 1.3 * px + (3.6 * px if main else 1.9 * px)))
    return made


def _names(frame: Frame, head: HeadToHead, places: dict[str, int]) -> None:
    """A sensor's name at each end, with its hue and its mark."""
    em = frame.size.text
    y = frame.top + 0.9 * em
    sides: tuple[tuple[str, Across], ...] = ((head.a, "left"), (head.b, "right"))
    for name, side in sides:
        colour = frame.palette.sensors[places[name]]
        x = frame.edge + 1.2 * em if side == "left" else frame.right - 1.2 * em
        frame.text(
            x, y, f"{name} closer", px=1.15 * em, colour=colour, weight="Semibold", ha=side, va="center"
        )
        box = frame.axes(frame.edge if side == "left" else frame.right - em, y - em / 2, em, em)
        box.set(xlim=(0, 1), ylim=(0, 1))
        box.plot([0.5], [0.5], MARKS[places[name]], color=colour, markersize=0.7 * em, clip_on=False)


def _reach(rows: list[_Row], margin: float, unit: Unit) -> float:
    ends = [end for row in rows for end in (row.est.value, row.est.low, row.est.high) if end is not None]
    return 1.12 * max([abs(from_mg_dl(end, unit)) for end in ends] + [2.4 * margin])


def _band(frame: Frame, axes: Axes, margin: float, top: float, words: str) -> None:
    """The margin as a pale band around zero, from under the main words to the axis."""
    bottom = axes.get_ylim()[0]
    pale = Rectangle(
        (-margin, top), 2 * margin, bottom - top, facecolor=frame.palette.rule, alpha=0.5, edgecolor="none"
    )
    pale.set(gid="margin", zorder=0)
    axes.add_patch(pale)
    frame.write(axes, 0, bottom - 0.9 * frame.size.small, words, colour=frame.palette.quiet)


def _words_height(row: _Row, size: Size) -> float:
    return len(row.lines) * 1.3 * (1.15 * size.text if row.main else size.small)


def _line_at(row: _Row, size: Size, stretch: float) -> float:
    words = _words_height(row, size)
    return words + (stretch * row.height - words) * 0.5


def _draw(frame: Frame, axes: Axes, row: _Row, unit: Unit, *, at: float, stretch: float) -> None:
    """One estimate: its words, its interval as a line, itself as an upright stroke."""
    size, ink = frame.size, frame.palette.ink
    px = 1.15 * size.text if row.main else size.small
    for place, line in enumerate(row.lines):
        weight: fonts.Weight = "Semibold" if row.main else "Regular"
        x = -axes.get_xlim()[1] if not row.main else 0.0
        align: Across = "center" if row.main else "left"
        frame.write(axes, x, at + (place + 0.65) * 1.3 * px, line, px=px, weight=weight, ha=align)
    spot = at + _words_height(row, size) + 0.2 * size.small
    zero = axes.plot(
        [0, 0], [spot, at + stretch * row.height], color=frame.palette.quiet, linewidth=size.scale, zorder=1
    )
    zero[0].set_gid("zero")
    if row.est.value is None:
        return
    y = at + _line_at(row, size, stretch)
    half = 0.95 * px if row.main else 0.45 * px
    thick = size.scale * (4.0 if row.main else 1.6)
    value = from_mg_dl(row.est.value, unit)
    stroke = axes.plot(
        [value, value], [y - half, y + half], color=ink, linewidth=1.7 * thick, solid_capstyle="butt"
    )
    stroke[0].set_gid(row.gid)
    if row.est.low is not None and row.est.high is not None:
        ends = [from_mg_dl(row.est.low, unit), from_mg_dl(row.est.high, unit)]
        axes.plot(ends, [y, y], color=ink, linewidth=thick, solid_capstyle="butt")[0].set_gid(
            f"{row.gid}-interval"
        )


def _inner(frame: Frame, axes: Axes, est: Est, unit: Unit, y: float) -> None:
    """The 90 % interval that decides 'equal', as the thick part of the line."""
    if est.low is None or est.high is None:
        return
    ends = [from_mg_dl(est.low, unit), from_mg_dl(est.high, unit)]
    thick = 9 * frame.size.scale
    line = axes.plot(ends, [y, y], color=frame.palette.ink, linewidth=thick, solid_capstyle="butt")
    line[0].set_gid("equal-interval")


def _ticks(frame: Frame, axes: Axes, reach: float, words: str) -> None:
    size, quiet = frame.size, frame.palette.quiet
    bottom = axes.get_ylim()[0]
    axes.plot([-reach, reach], [bottom, bottom], color=quiet, linewidth=size.scale, clip_on=False)
    for tick in scale.ticks(reach * 0.97, 5 if size.wide else 4):
        for x in {tick, -tick}:
            axes.plot(
                [x, x], [bottom, bottom + 0.4 * size.small], color=quiet, linewidth=size.scale, clip_on=False
            )
            frame.write(axes, x, bottom + 1.15 * size.small, scale.label(x), colour=quiet)
    frame.write(axes, 0, bottom + 2.5 * size.small, words, colour=quiet)


def _meter_lines(head: HeadToHead, size: Size) -> list[str]:
    if head.difference.value is None:
        return []
    return fonts.wrapped(span_words(head), size.small, size.width * 0.92)


def _meter(frame: Frame, head: HeadToHead, lines: list[str], top: float) -> None:
    """The meter span as two small ticks on a scale of its own, in percent."""
    size, palette = frame.size, frame.palette
    for place, line in enumerate(lines):
        frame.text(frame.edge, top + place * 1.35 * size.small, line, px=size.small)
    y = top + len(lines) * 1.35 * size.small + 0.4 * size.small
    axes = frame.axes(frame.edge, y, frame.right - frame.edge, 2.6 * size.small)
    axes.set(xlim=(-18, 18), ylim=(2.6, 0))
    axes.plot([-METER_REACH, METER_REACH], [0.5, 0.5], color=palette.quiet, linewidth=size.scale)
    axes.plot([0, 0], [0.25, 0.75], color=palette.quiet, linewidth=size.scale)
    low, high = head.meter_span_percent
    outward: tuple[tuple[float | None, str, float, Across], ...] = (
        (low, "meter-low", -METER_REACH, "right"),
        (high, "meter-high", METER_REACH, "left"),
    )
    for end, gid, far, side in outward:
        x = far if end is None else end
        axes.plot([x, x], [0.1, 0.9], color=palette.ink, linewidth=2.4 * size.scale)[0].set_gid(gid)
        if end is not None:
            frame.write(axes, x - far * 0.02, 1.75, off(end), ha=side)
        if end is None or abs(far - end) > 9:
            text = f"{off(far)} or more" if end is None else off(far)
            frame.write(axes, far * 1.2, 1.75, text, colour=palette.quiet, ha="left" if far < 0 else "right")


def _words(findings: Findings, head: HeadToHead, title: str, unit: Unit) -> str:
    parts = [
        f"{title}.",
        f"Difference in average error {leaning(head.difference, head.a, head.b, unit)}; margin {margin_words(findings.primary.margin, unit)} each way.",
        f"With moving sticks in {leaning(head.all_pairs, head.a, head.b, unit)}; with prompted sticks in {leaning(head.with_prompted, head.a, head.b, unit)}.",
    ]
    if head.difference.value is not None:
        parts.append(span_words(head))
    return " ".join([*parts, f"{body(findings).capitalize()}."])

"""How far off, when: points with intervals on one scale for all sensors, n under each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes

from evenhand.charts import fonts, scale
from evenhand.charts.frame import Frame
from evenhand.charts.look import LIGHT, MARKS, PAGE, Palette, Size
from evenhand.charts.picture import Picture
from evenhand.findings.findings import Findings
from evenhand.findings.parts import Accuracy
from evenhand.say.accuracy import LEVELS, cell, limits
from evenhand.say.dates import day
from evenhand.say.headings import PHASE_LABELS, PHASES, day_title, level_title, phase_title
from evenhand.say.proof import body
from evenhand.units import Unit, from_mg_dl


@dataclass(frozen=True, slots=True)
class _Series:
    """One sensor: its name, its place, and an accuracy for each column (None: no stick there)."""

    name: str
    place: int
    values: tuple[Accuracy | None, ...]


@dataclass(frozen=True, slots=True)
class _Plot:
    """A picture to be drawn: its columns' labels (up to two lines each), its series, how many columns a row holds."""

    name: str
    title: str
    labels: tuple[str, ...]
    series: tuple[_Series, ...]
    in_row: int


def by_phase(
    findings: Findings, places: dict[str, int], unit: Unit, *, size: Size = PAGE, palette: Palette = LIGHT
) -> Picture:  # fmt: skip
    """Average error in the first 24 h, the middle and the last 24 h of the wears."""
    series = tuple(
        _Series(sensor.name, places[sensor.name], tuple(getattr(sensor.phases, name) for name, _ in PHASES))
        for sensor in findings.sensors
        if sensor.phases is not None
    )
    return _draw(
        _Plot("phases", phase_title(findings), PHASE_LABELS, series, 3), findings, unit, size, palette
    )


def by_day(
    findings: Findings, places: dict[str, int], unit: Unit, *, size: Size = PAGE, palette: Palette = LIGHT
) -> Picture:  # fmt: skip
    """Average error on each day of the trial."""
    tables = {sensor.name: {one.day: one for one in sensor.days or ()} for sensor in findings.sensors}
    dates = {number: one.date for table in tables.values() for number, one in table.items()}
    days = range(1, max(dates) + 1) if dates else range(0)
    labels = tuple(_day_label(number, dates.get(number)) for number in days)
    series = tuple(
        _Series(
            name, places[name], tuple(table[number].accuracy if number in table else None for number in days)
        )
        for name, table in tables.items()
        if table
    )
    most = 21 if size.wide else 7
    in_row = -(-len(labels) // max(1, -(-len(labels) // most))) or 1
    return _draw(_Plot("days", day_title(findings), labels, series, in_row), findings, unit, size, palette)


def by_level(
    findings: Findings, places: dict[str, int], unit: Unit, *, size: Size = PAGE, palette: Palette = LIGHT
) -> Picture:  # fmt: skip
    """Average error at lows, in range and at highs, sorted by the stick."""
    low, high = limits(unit)
    labels = tuple(words.format(low=low, high=high) for _, words in LEVELS)
    series = tuple(
        _Series(
            sensor.name,
            places[sensor.name],
            tuple(getattr(sensor.levels.by_stick, name) for name, _ in LEVELS),
        )
        for sensor in findings.sensors
        if sensor.levels is not None
    )
    return _draw(_Plot("levels", level_title(findings), labels, series, 3), findings, unit, size, palette)


def _day_label(number: int, date: str | None) -> str:
    return (
        f"{number}\n{day(date, year=False).split()[0]} {day(date, year=False).split()[1][:3]}"
        if date
        else f"{number}\n"
    )


def _top(plot: _Plot, unit: Unit) -> float:
    """The top of the common scale: the highest interval, but at most two and a half times the highest point; 30 mg/dL
    where there is no point above zero."""
    there = [value.mad for one in plot.series for value in one.values if value is not None]
    points = [est.value for est in there if est.value is not None]
    if max(points, default=0.0) <= 0:
        return from_mg_dl(30.0, unit)
    ends = [est.high for est in there if est.high is not None]
    return 1.08 * from_mg_dl(min(max([*ends, *points]), 2.5 * max(points)), unit)


def _draw(plot: _Plot, findings: Findings, unit: Unit, size: Size, palette: Palette) -> Picture:
    px = size.small
    rows = max(1, -(-len(plot.labels) // plot.in_row))
    under = (
        max(label.count("\n") for label in plot.labels or ("",)) + 1 + len(plot.series)
    ) * 1.3 * px + 0.6 * px
    head = 3.4 * px
    each = 11 * px + under + px
    caveat = body(findings)
    words = f"{caveat[0].upper()}{caveat[1:]}. Lines are 95 % intervals{_without(plot)}; n is the number of sticks."
    frame = Frame(size, palette, plot.title, words, head + rows * each)
    _head(frame, plot, unit)
    each = (frame.bottom - frame.top - head) / rows
    top = _top(plot, unit)
    aside = [f"n {one.name}" for one in plot.series] + [scale.label(tick) for tick in scale.ticks(top, 4)]
    left = max(fonts.width(text, px) for text in aside) + px
    for row in range(rows):
        columns = range(row * plot.in_row, min((row + 1) * plot.in_row, len(plot.labels)))
        axes = frame.axes(
            frame.edge + left,
            frame.top + head + row * each,
            frame.right - frame.edge - left,
            each - under - px,
        )
        axes.set(xlim=(columns.start - 0.5, columns.start + plot.in_row - 0.5), ylim=(0, top))
        _scale(frame, axes, top)
        for series in plot.series:
            _points(frame, axes, plot, series, unit=unit, columns=columns)
        _under(frame, axes, plot, columns, each - under - px)
    return Picture(plot.name, frame.figure, plot.title, _words(plot, findings, unit), size)


def _without(plot: _Plot) -> str:
    """Why some points have no line, empty where all have one."""
    there = [value.mad for one in plot.series for value in one.values if value is not None]
    bare = any(est.value is not None and est.low is None for est in there)
    return ", points without one had too few sticks for it" if bare else ""


def _head(frame: Frame, plot: _Plot, unit: Unit) -> None:
    """Names with hue and mark, and what the scale measures."""
    px = frame.size.small
    axes = frame.axes(frame.edge, frame.top, frame.right - frame.edge, 3 * px)
    axes.set(xlim=(0, frame.right - frame.edge), ylim=(3 * px, 0))
    x = 0.0
    for series in plot.series:
        colour = frame.palette.sensors[series.place]
        axes.plot(
            [x + 0.4 * px], [0.7 * px], MARKS[series.place], color=colour, markersize=0.62 * px, clip_on=False
        )
        frame.write(axes, x + 1.2 * px, 0.7 * px, series.name, colour=colour, weight="Semibold", ha="left")
        x += fonts.width(series.name, px, "Semibold") + 2.6 * px
    frame.write(
        axes, 0, 2.1 * px, f"average error against your meter, {unit}", colour=frame.palette.quiet, ha="left"
    )


def _scale(frame: Frame, axes: Axes, top: float) -> None:
    quiet, px = frame.palette.quiet, frame.size.small
    left, right = axes.get_xlim()
    axes.plot([left, right], [0, 0], color=quiet, linewidth=frame.size.scale, clip_on=False)
    across = (right - left) / (axes.get_position().width * frame.size.width)
    for tick in scale.ticks(top, 4):
        frame.write(axes, left - 0.4 * px * across, tick, scale.label(tick), colour=quiet, ha="right")


def _points(
    frame: Frame, axes: Axes, plot: _Plot, series: _Series, *, unit: Unit, columns: Sequence[int]
) -> None:
    """One sensor's points and intervals in one row."""
    size = frame.size
    colour = frame.palette.sensors[series.place]
    across = (axes.get_xlim()[1] - axes.get_xlim()[0]) / (axes.get_position().width * size.width)
    between = min(0.26 if len(plot.series) == 2 else 0.22, 2.2 * size.small * across)
    shift = (plot.series.index(series) - (len(plot.series) - 1) / 2) * between
    top = axes.get_ylim()[1]
    x, y = [], []
    for column in columns:
        value = series.values[column]
        if value is None or value.mad.value is None:
            continue
        at = column + shift
        x.append(at)
        y.append(from_mg_dl(value.mad.value, unit))
        if value.mad.low is not None and value.mad.high is not None:
            ends = [from_mg_dl(value.mad.low, unit), min(from_mg_dl(value.mad.high, unit), top)]
            axes.plot([at, at], ends, color=colour, linewidth=2 * size.scale, solid_capstyle="butt")[
                0
            ].set_gid(f"interval-{series.name}")
            if from_mg_dl(value.mad.high, unit) > top:
                axes.plot([at], [top], "^", color=colour, markersize=5 * size.scale, clip_on=False)
    axes.plot(x, y, MARKS[series.place], color=colour, markersize=7 * size.scale, markeredgewidth=0)[
        0
    ].set_gid(f"points-{series.name}")


def _under(frame: Frame, axes: Axes, plot: _Plot, columns: Sequence[int], height: float) -> None:
    """Labels and n under the columns."""
    px = frame.size.small
    data = axes.get_ylim()[1] / height
    lines = max((label.count("\n") for label in plot.labels), default=0) + 1
    for column in columns:
        for row, text in enumerate(plot.labels[column].split("\n")):
            frame.write(
                axes,
                column,
                -(0.95 + 1.3 * row) * px * data,
                text,
                colour=frame.palette.ink if row == 0 else frame.palette.quiet,
            )
    for place, series in enumerate(plot.series):
        y = -(1.05 + 1.3 * (lines + place)) * px * data
        colour = frame.palette.sensors[series.place]
        across = (axes.get_xlim()[1] - axes.get_xlim()[0]) / (axes.get_position().width * frame.size.width)
        frame.write(
            axes, axes.get_xlim()[0] - 0.4 * px * across, y, f"n {series.name}", colour=colour, ha="right"
        )
        for column in columns:
            value = series.values[column]
            frame.write(axes, column, y, str(value.pairs) if value else "0", colour=colour)


def _words(plot: _Plot, findings: Findings, unit: Unit) -> str:
    told = []
    for column, label in enumerate(plot.labels):
        cells = [
            f"{one.name} {cell(value, unit)}"
            for one in plot.series
            if (value := one.values[column]) is not None
        ]
        if cells:
            lead = f"day {label}".replace("\n", ", ") if plot.name == "days" else label
            told.append(f"{lead}: {'; '.join(cells)}")
    return f"{plot.title}. Average error: {'. '.join(told)}. {body(findings)}."

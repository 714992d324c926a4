"""The traces: every sensor's readings over the sticks, gaps left open, limits, warm-up and calibrations shown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from evenhand.charts import band, keys, rows, thin
from evenhand.charts.frame import Frame
from evenhand.charts.look import LIGHT, LINES, MARKS, PAGE, Palette, Size
from evenhand.charts.picture import Picture
from evenhand.clock import HOUR, MINUTE
from evenhand.findings.findings import Findings
from evenhand.records.diary import MarkKind, Reason, Stick
from evenhand.records.readings import BEYOND_LOW, IN_RANGE, Readings
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Trial
from evenhand.say.accuracy import limits
from evenhand.say.dates import day
from evenhand.say.headings import traces_title
from evenhand.say.mind import answer_sealed
from evenhand.say.numbers import counted, listed
from evenhand.say.proof import body
from evenhand.units import HIGH, LOW, Unit, from_mg_dl


@dataclass(frozen=True, slots=True)
class _Scene:
    """What every row is drawn with."""

    frame: Frame
    trial: Trial
    unit: Unit
    top: float
    pixel: float
    """Seconds under one px."""
    values: bool = True
    """Whether sticks stand at their value; under seal all stand in one line at the top, so that nothing is compared."""


def traces(findings: Findings, trial: Trial, *, size: Size = PAGE, palette: Palette = LIGHT) -> Picture:
    """Both sensors over the sticks, the whole trial: a week a row, on a phone a wear a row."""
    unit = trial.header.unit
    title = traces_title(findings, unit)
    cut = rows.weeks(trial) if size.wide else rows.wear_rows(trial)
    line = band.blood_line(findings)
    items = keys.items(trial, palette, between=line is not None)
    key_lines = keys.arranged(items, size)
    head = len(key_lines) * 1.6 * size.small + 0.8 * size.small
    each = (12.5 if size.wide else 13.0) * size.small
    caveat = body(findings)
    frame = Frame(size, palette, title, f"{caveat[0].upper()}{caveat[1:]}.", head + each * max(len(cut), 1))
    keys.draw(frame, key_lines)
    each = (frame.bottom - frame.top - head) / max(len(cut), 1)
    left = 2.9 * size.small
    width = frame.right - frame.edge - left
    longest = max((row.end - row.start for row in cut), default=1)
    scene = _Scene(frame, trial, unit, _top(trial, unit), longest / width, not answer_sealed(findings))
    for place, row in enumerate(cut):
        labels = 1.5 * size.small + (1.4 * size.small if row.label else 0.4 * size.small)
        y = frame.top + head + place * each + labels - 1.5 * size.small
        axes = frame.axes(frame.edge + left, y, width, each - labels - 0.3 * size.small)
        axes.set(xlim=(row.start, row.start + longest), ylim=(0, scene.top))
        axes.set_gid(f"row-{place + 1}")
        _ground(scene, axes, row, first=place == 0)
        if line is not None:
            band.draw(frame, axes, line, unit, (row.start, row.end), scene.pixel)
        for sensor in trial.sensors:
            _line(scene, axes, row, sensor)
        _sticks(scene, axes, row)
    return Picture("traces", frame.figure, title, _words(findings, trial, title), size)


def _top(trial: Trial, unit: Unit) -> float:
    """The top of the scale: the highest that is drawn, and some air."""
    tops = [float(part.mg_dl.max()) for part in trial.readings.values() if len(part)]
    tops += [stick.glucose.mg_dl for stick in drawn(trial)]
    return from_mg_dl(max([250.0, *tops]) * 1.06, unit)


def drawn(trial: Trial) -> list[Stick]:
    """The sticks that are blood: no control solution, no strip error."""
    return [
        stick
        for stick in trial.sticks
        if not stick.marked(MarkKind.CONTROL) and not stick.marked(MarkKind.STRIP_ERROR)
    ]


def _ground(scene: _Scene, axes: Axes, row: rows.Row, *, first: bool) -> None:
    """The two glucose lines, the foot, the days."""
    frame, palette, px = scene.frame, scene.frame.palette, scene.frame.size.small
    words = limits(scene.unit)
    for value, text in zip((LOW[scene.unit], HIGH[scene.unit]), words, strict=True):
        axes.plot(
            [row.start, row.end],
            [value, value],
            color=palette.quiet,
            linewidth=0.7 * frame.size.scale,
            zorder=1,
        )[0].set_gid("limit")
        frame.write(axes, row.start - 5 * scene.pixel, value, text, colour=palette.quiet, ha="right")
    if first:
        label = frame.write(
            axes,
            row.start - 2.9 * px * scene.pixel,
            scene.top,
            str(scene.unit),
            colour=palette.quiet,
            ha="left",
        )
        label.set(va="top", gid="unit")
    axes.plot(
        [row.start, row.end], [0, 0], color=palette.rule, linewidth=frame.size.scale, clip_on=False, zorder=1
    )
    if row.label:
        frame.write(
            axes,
            row.start,
            scene.top,
            row.label,
            colour=palette.ink,
            ha="left",
            va="bottom",
            weight="Semibold",
        )
    _days(scene, axes, row)


def _days(scene: _Scene, axes: Axes, row: rows.Row) -> None:
    """A tick at each midnight, and its date where there is room."""
    frame, palette, px = scene.frame, scene.frame.palette, scene.frame.size.small
    room = px * scene.pixel
    last = -1e18
    for at in rows.midnights(scene.trial, row.start, row.end):
        axes.plot([at, at], [0, 0.04 * scene.top], color=palette.quiet, linewidth=frame.size.scale, zorder=1)
        text = day(scene.trial.zones.stamp(at).iso, year=False)
        text = text if frame.size.wide else f"{text.split()[0]} {text.split()[1][:3]}"
        if at - last > (6.6 if frame.size.wide else 4.4) * room and row.end - at > 3 * room:
            below = -0.25 * px / _px(axes, frame) * scene.top
            frame.write(axes, at, below, text, colour=palette.quiet, ha="left", va="top")
            last = at


def _px(axes: Axes, frame: Frame) -> float:
    return float(axes.get_position().height * frame.height)


def _line(scene: _Scene, axes: Axes, row: rows.Row, sensor: Sensor) -> None:
    """One sensor's readings in a row: line, a mark each half day, limit words, warm-up."""
    readings = scene.trial.readings.get(sensor.id)
    scale = scene.frame.size.scale
    colour = scene.frame.palette.sensors[sensor.place]
    _warm_up(scene, axes, row, sensor)
    if readings is None or not len(readings):
        return
    inside = (readings.instant >= row.start) & (readings.instant < row.end)
    at = readings.instant[inside].astype(np.float64)
    value = from_mg_dl_array(readings.mg_dl[inside], scene.unit)
    x, y = thin.thin(at, value, 1.3 * scene.pixel * scale, gap(readings, sensor))
    line = axes.plot(x, y, color=colour, linewidth=1.3 * scale, linestyle=LINES[sensor.place], zorder=3)[0]
    line.set_gid(f"trace-{sensor.name}")
    _marks(axes, at, value, sensor, colour=colour, points=4.2 * scale)
    _limit_words(scene, axes, at, value, flag=readings.flag[inside], sensor=sensor)


def from_mg_dl_array(values: thin.Floats, unit: Unit) -> thin.Floats:
    """An array of mg/dL in the wearer's unit."""
    return values * from_mg_dl(1.0, unit)


def gap(readings: Readings, sensor: Sensor) -> float:
    """Seconds between readings above which a line is broken: two and a half of the sensor's own steps."""
    usual = float(np.median(np.diff(readings.instant))) if len(readings) > 1 else 300.0
    return 2.5 * max(usual, float(sensor.interval or 0), 5 * MINUTE)


def _marks(
    axes: Axes, at: thin.Floats, value: thin.Floats, sensor: Sensor, *, colour: str, points: float
) -> None:
    """The sensor's mark about every half day, so that hue is never the only sign."""
    if not at.size:
        return
    halves = np.unique(((at + sensor.place * 3 * HOUR) // (12 * HOUR)).astype(np.int64), return_index=True)[1]
    axes.plot(
        at[halves],
        value[halves],
        MARKS[sensor.place],
        color=colour,
        markersize=points,
        markeredgewidth=0,
        zorder=4,
    )


def _warm_up(scene: _Scene, axes: Axes, row: rows.Row, sensor: Sensor) -> None:
    """Each start as an upright tick at the foot, warm-up as a bar."""
    colour = scene.frame.palette.sensors[sensor.place]
    foot = (0.05 + 0.045 * sensor.place) * scene.top
    for wear in scene.trial.wears_of(sensor.id):
        at = wear.start.instant
        if not row.start <= at < row.end:
            continue
        end = min(at + max(float(sensor.warm_up or 0), 3 * scene.pixel), row.end)
        axes.plot(
            [at, end],
            [foot, foot],
            color=colour,
            linewidth=4.5 * scene.frame.size.scale,
            solid_capstyle="butt",
            zorder=2,
        )[0].set_gid("warm-up")


def _limit_words(
    scene: _Scene, axes: Axes, at: thin.Floats, value: thin.Floats, *, flag: NDArray[np.int8], sensor: Sensor
) -> None:
    """LOW or HIGH, in the sensor's hue, where readings stand at its limit; once for a run and its neighbours."""
    beyond = np.flatnonzero(flag != IN_RANGE)
    colour = scene.frame.palette.sensors[sensor.place]
    px = scene.frame.size.small
    last = -1e18
    for place in beyond:
        if at[place] - last > 3.2 * px * scene.pixel:
            low = flag[place] == BEYOND_LOW
            text = scene.frame.write(
                axes,
                at[place],
                value[place],
                "LOW" if low else "HIGH",
                colour=colour,
                va="top" if low else "bottom",
                px=px,
            )
            text.set_gid("beyond")
            last = float(at[place])


def _sticks(scene: _Scene, axes: Axes, row: rows.Row) -> None:
    """Sticks as hollow diamonds; prompted ones slim and quiet; calibrations filled."""
    for kind in keys.STICKS:
        held = [
            stick
            for stick in drawn(scene.trial)
            if keys.kind(stick) is kind and row.start <= stick.at.instant < row.end
        ]
        if held:
            look = keys.stick_look(kind, scene.frame.palette, scene.frame.size)
            x = [stick.at.instant for stick in held]
            y = [
                from_mg_dl(stick.glucose.mg_dl, scene.unit) if scene.values else 0.97 * scene.top
                for stick in held
            ]
            axes.plot(x, y, linestyle="none", zorder=5, **look)[0].set_gid(f"sticks-{kind.value}")


def _words(findings: Findings, trial: Trial, title: str) -> str:
    sticks = drawn(trial)
    prompted = sum(stick.reason is Reason.PROMPTED for stick in sticks)
    lines = [
        f"{sensor.name}, {counted(len(trial.readings[sensor.id]), 'reading')}"
        for sensor in trial.sensors
        if sensor.id in trial.readings
    ]
    over = f"{listed(lines)}, " if lines else ""
    between = ", and the best estimate of blood glucose between them" if band.blood_line(findings) else ""
    return f"{title}. {over}over {counted(len(sticks), 'stick')}, {prompted} of them prompted{between}; lines at {' and '.join(limits(trial.header.unit))} {trial.header.unit}. {body(findings)}."

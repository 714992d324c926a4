"""One night: both traces, the sticks, the estimate between them, and where a sensor strayed or would have sounded."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from matplotlib.axes import Axes

from evenhand.charts import band, keys, rows, thin
from evenhand.charts.frame import Frame
from evenhand.charts.look import LIGHT, LINES, MARKS, PAGE, Palette, Size
from evenhand.charts.picture import Picture
from evenhand.charts.traces import drawn, from_mg_dl_array, gap
from evenhand.clock import HOUR
from evenhand.findings.findings import BloodLine, Findings
from evenhand.findings.parts import SensorFindings, Stray
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Trial
from evenhand.say import between
from evenhand.say.accuracy import limits
from evenhand.say.dates import day
from evenhand.say.proof import body
from evenhand.units import HIGH, LOW, Unit, from_mg_dl

BEFORE, AFTER = 4 * HOUR, 9 * HOUR
"""What is shown: from so long before midnight to so long after it."""


@dataclass(frozen=True, slots=True)
class _Night:
    """What is drawn: from and to (instants), the strays that touch it with their sensors."""

    start: int
    end: int
    strays: tuple[tuple[SensorFindings, Stray], ...]


def instant(iso: str) -> int:
    """The instant of a time of the findings."""
    return round(datetime.fromisoformat(iso).timestamp())


def nights(findings: Findings, trial: Trial) -> list[int]:
    """The midnights of the nights in which a sensor strayed, the longest time astray (times its size) first."""
    found: dict[int, float] = {}
    for sensor in findings.sensors:
        for stray in sensor.strays or ():
            if stray.source != "reconstruction":
                continue
            start, end = instant(stray.start), instant(stray.end or stray.start)
            for midnight in _midnights(trial, start, end):
                inside = min(end, midnight + AFTER) - max(start, midnight - BEFORE)
                if inside > 0:
                    found[midnight] = found.get(midnight, 0.0) + inside * abs(stray.size)
    return sorted(found, key=lambda midnight: -found[midnight])


def _midnights(trial: Trial, start: int, end: int) -> list[int]:
    return rows.midnights(trial, rows.midnight(trial, start - AFTER), end + BEFORE + 1)


def one_night(
    findings: Findings, trial: Trial, midnight: int, *, size: Size = PAGE, palette: Palette = LIGHT
) -> Picture:
    """The night around a local midnight (an instant). The findings hold a trusted reconstruction."""
    line = band.blood_line(findings)
    if line is None:
        raise ValueError("a night is drawn from a trusted reconstruction only")
    night = _of(findings, midnight)
    unit = trial.header.unit
    title = night_title(findings, trial, midnight)
    key_lines = keys.arranged(keys.items(trial, palette, between=True)[:-1], size)
    head = len(key_lines) * 1.6 * size.small + 1.2 * size.small
    told = body(findings)
    frame = Frame(
        size,
        palette,
        title,
        f"{told[0].upper()}{told[1:]}. The band holds blood glucose with 90 %.",
        head + 27 * size.small,
    )
    keys.draw(frame, key_lines)
    left, foot = 2.9 * size.small, (2.4 + 2.5 * len(findings.sensors)) * size.small
    top = frame.top + head
    axes = frame.axes(frame.edge + left, top, frame.right - frame.edge - left, frame.bottom - top - foot)
    axes.set(xlim=(night.start, night.end), ylim=(0, _top(trial, line, night, unit)))
    pixel = (night.end - night.start) / (frame.right - frame.edge - left)
    _ground(frame, axes, trial, night)
    band.draw(frame, axes, line, unit, (night.start, night.end), pixel)
    for sensor in trial.sensors:
        _trace(frame, axes, trial, sensor, night)
    _sticks(frame, axes, trial, night)
    _feet(frame, axes, findings, trial, night)
    return Picture("night", frame.figure, title, night_words(findings, trial, midnight), size)


def _of(findings: Findings, midnight: int) -> _Night:
    start, end = midnight - BEFORE, midnight + AFTER
    touching = [
        (sensor, stray)
        for sensor in findings.sensors
        for stray in sensor.strays or ()
        if instant(stray.start) < end and instant(stray.end or stray.start) > start
    ]
    return _Night(start, end, tuple(touching))


def night_title(findings: Findings, trial: Trial, midnight: int) -> str:
    """Who strayed that night, which way and for how long; else that both held."""
    unit = trial.header.unit
    night = _of(findings, midnight)
    date = day(trial.zones.stamp(midnight - HOUR).iso, year=False)
    if not night.strays:
        return f"The night of {date}: no sensor is shown to have strayed"
    sensor, stray = max(
        night.strays, key=lambda one: instant(one[1].end or one[1].start) - instant(one[1].start)
    )
    lasted = "to the end of its wear" if stray.end is None else f"for {between.lasting(stray)}"
    return f"The night of {date}: {sensor.name} read {between.side(stray.size, unit)} {lasted}"


def night_words(findings: Findings, trial: Trial, midnight: int) -> str:
    """The picture in words: the title, then each stray and alarm of the night."""
    night = _of(findings, midnight)
    unit = trial.header.unit
    told = [between.told_stray(sensor.name, stray, unit) for sensor, stray in night.strays]
    for sensor in findings.sensors:
        for at, chance in _alarms(sensor, night):
            told.append(
                f"{sensor.name} would have given a low alarm at {_hour(trial, at)}; the probability that blood was low is {between.chance(chance)}."
            )
    return " ".join((f"{night_title(findings, trial, midnight)}.", *told, f"{body(findings)}."))


def _alarms(sensor: SensorFindings, night: _Night) -> list[tuple[int, float]]:
    """The rehearsed alarms of a night with the probability that blood was low."""
    counts = sensor.alarms.rehearsed if sensor.alarms else None
    return [
        (instant(one.at), one.chance)
        for one in (counts.each if counts else ())
        if one.chance is not None and night.start <= instant(one.at) < night.end
    ]


def _hour(trial: Trial, at: int) -> str:
    return f"{trial.zones.stamp(at).wall:%H:%M}"


def _top(trial: Trial, line: BloodLine, night: _Night, unit: Unit) -> float:
    """The top of the scale: the highest that is drawn that night, and some air."""
    at = band.instants(line)
    high = band.values(line.high, Unit.MG_DL)[(at >= night.start) & (at < night.end)]
    tops = [200.0, *high[np.isfinite(high)].tolist()]
    for part in trial.readings.values():
        inside = (part.instant >= night.start) & (part.instant < night.end)
        tops += part.mg_dl[inside].tolist()
    return from_mg_dl(max(tops) * 1.08, unit)


def _ground(frame: Frame, axes: Axes, trial: Trial, night: _Night) -> None:
    """The two glucose lines, and the hours at the foot."""
    unit, px, palette = trial.header.unit, frame.size.small, frame.palette
    pixel = (night.end - night.start) / (axes.get_position().width * frame.size.width)
    for value, text in zip((LOW[unit], HIGH[unit]), limits(unit), strict=True):
        drawn_line = axes.plot(
            [night.start, night.end],
            [value, value],
            color=palette.quiet,
            linewidth=0.7 * frame.size.scale,
            zorder=1,
        )[0]
        drawn_line.set_gid("limit")
        frame.write(axes, night.start - 5 * pixel, value, text, colour=palette.quiet, ha="right")
    unit_label = frame.write(
        axes, night.start - 2.9 * px * pixel, axes.get_ylim()[1], str(unit), colour=palette.quiet, ha="left"
    )
    unit_label.set(va="top", gid="unit")
    axes.plot([night.start, night.end], [0, 0], color=palette.rule, linewidth=frame.size.scale, clip_on=False)
    high = axes.get_position().height * frame.height
    below = -0.3 * px / high * axes.get_ylim()[1]
    step = 3 if frame.size.wide else 4
    for hour in range(-int(BEFORE // HOUR), int(AFTER // HOUR) + 1):
        at = night.start + BEFORE + hour * HOUR
        if trial.zones.stamp(at).wall.hour % step == 0 and night.end - at > 2 * px * pixel:
            axes.plot(
                [at, at], [0, 0.03 * axes.get_ylim()[1]], color=palette.quiet, linewidth=frame.size.scale
            )
            frame.write(axes, at, below, _hour(trial, at), colour=palette.quiet, va="top")


def _trace(frame: Frame, axes: Axes, trial: Trial, sensor: Sensor, night: _Night) -> None:
    readings = trial.readings.get(sensor.id)
    if readings is None or not len(readings):
        return
    inside = (readings.instant >= night.start) & (readings.instant < night.end)
    at = readings.instant[inside].astype(np.float64)
    value = from_mg_dl_array(readings.mg_dl[inside], trial.header.unit)
    colour, scale = frame.palette.sensors[sensor.place], frame.size.scale
    x, y = thin.thin(at, value, 1.0, gap(readings, sensor))
    line = axes.plot(x, y, color=colour, linewidth=1.6 * scale, linestyle=LINES[sensor.place], zorder=3)[0]
    line.set_gid(f"trace-{sensor.name}")
    every = np.flatnonzero(np.diff((at - sensor.place * HOUR) // (2 * HOUR), prepend=np.nan) > 0)
    axes.plot(
        at[every],
        value[every],
        MARKS[sensor.place],
        color=colour,
        markersize=5 * scale,
        markeredgewidth=0,
        zorder=4,
    )


def _sticks(frame: Frame, axes: Axes, trial: Trial, night: _Night) -> None:
    for stick in drawn(trial):
        if night.start <= stick.at.instant < night.end:
            look = keys.stick_look(keys.kind(stick), frame.palette, frame.size)
            value = from_mg_dl(stick.glucose.mg_dl, trial.header.unit)
            axes.plot([stick.at.instant], [value], linestyle="none", zorder=5, **look)[0].set_gid("stick")


def _feet(frame: Frame, axes: Axes, findings: Findings, trial: Trial, night: _Night) -> None:
    """Under the hours, a line for each sensor: a bar where it strayed, with its words; a tick where it would sound."""
    px, places = frame.size.small, {sensor.name: sensor.place for sensor in trial.sensors}
    top, high = axes.get_ylim()[1], axes.get_position().height * frame.height
    for row, sensor in enumerate(findings.sensors):
        label_y = -(2.3 + 2.5 * row) * px / high * top
        y = label_y - 1.15 * px / high * top
        colour = frame.palette.sensors[places[sensor.name]]
        for owner, stray in night.strays:
            if owner is sensor:
                start = max(instant(stray.start), night.start)
                end = min(instant(stray.end) if stray.end else night.end, night.end)
                axes.plot(
                    [start, end],
                    [y, y],
                    color=colour,
                    linewidth=0.45 * px,
                    solid_capstyle="butt",
                    clip_on=False,
                )[0].set_gid("stray")
        for at, _chance in _alarms(sensor, night):
            mark = axes.plot(
                [at], [y], marker=2, color=colour, markersize=0.8 * px, clip_on=False, linestyle="none"
            )[0]
            mark.set_gid("alarm")
        label = frame.write(
            axes, night.start, label_y, _foot_words(sensor, night), colour=colour, ha="left", px=0.92 * px
        )
        label.set_gid(f"foot-{sensor.name}")


def _foot_words(sensor: SensorFindings, night: _Night) -> str:
    strayed = any(owner is sensor for owner, _ in night.strays)
    sounds = len(_alarms(sensor, night))
    words = [f"{sensor.name}", "bar: out of tolerance" if strayed else "not shown to have strayed"]
    return ", ".join(words + ([f"tick: low alarm ({sounds})"] if sounds else []))

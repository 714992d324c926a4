"""A strip of time with the glucose lines, and readings on it: new ones in full, those held already pale."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes

from evenhand.charts import rows, thin, traces
from evenhand.charts.frame import Frame
from evenhand.charts.look import LINES
from evenhand.records.readings import Readings
from evenhand.records.trial import Trial
from evenhand.say.accuracy import limits
from evenhand.say.dates import day
from evenhand.units import HIGH, LOW

PALE, PALE_LINE, FULL_LINE = 0.55, 1.0, 1.6


def line(
    frame: Frame,
    axes: Axes,
    part: Readings,
    trial: Trial,
    *,
    sensor: int,
    span: tuple[int, int, float],
    pale: bool,
) -> None:
    """One batch of readings within a span (from, to, seconds a px), in its sensor's hue and line."""
    start, end, pixel = span
    inside = (part.instant >= start) & (part.instant < end)
    at, order = np.unique(part.instant[inside], return_index=True)
    if not at.size:
        return
    value = traces.from_mg_dl_array(part.mg_dl[inside][order], trial.header.unit)
    owner = next(one for one in trial.sensors if one.place == sensor)
    x, y = thin.thin(at.astype(np.float64), value, 1.3 * pixel, traces.gap(part, owner))
    made = axes.plot(
        x,
        y,
        color=frame.palette.sensors[sensor],
        linewidth=(PALE_LINE if pale else FULL_LINE) * frame.size.scale,
        linestyle=LINES[sensor],
        alpha=PALE if pale else 1,
        zorder=2 if pale else 3,
    )[0]
    made.set_gid(f"{'held' if pale else 'new'}-{owner.name}")


def ground(
    frame: Frame, axes: Axes, span: tuple[int, int], trial: Trial, *, pixel: float, dates: bool
) -> None:
    """The two glucose lines with their values, the foot, and the dates."""
    palette, px, (start, end) = frame.palette, frame.size.small, span
    unit = trial.header.unit
    for value, text in zip((LOW[unit], HIGH[unit]), limits(unit), strict=True):
        axes.plot(
            [start, end], [value, value], color=palette.quiet, linewidth=0.7 * frame.size.scale, zorder=1
        )
        frame.write(axes, start - 5 * pixel, value, text, colour=palette.quiet, ha="right")
    top = axes.get_ylim()[1]
    frame.write(axes, start - 5 * pixel, top, str(unit), colour=palette.quiet, ha="right", va="top")
    axes.plot([start, end], [0, 0], color=palette.rule, linewidth=frame.size.scale, clip_on=False, zorder=1)
    for at in rows.midnights(trial, start, end) if dates else ():
        axes.plot([at, at], [0, 0.04 * top], color=palette.quiet, linewidth=frame.size.scale, zorder=1)
        if end - at > 5 * px * pixel:
            told = day(trial.zones.stamp(at).iso, year=False)
            frame.write(axes, at, -0.02 * top, told, colour=palette.quiet, ha="left", va="top")

"""The estimate between the sticks as a band with its line, under the traces."""

from __future__ import annotations

from datetime import datetime

import numpy as np
from matplotlib.axes import Axes

from evenhand.charts import thin
from evenhand.charts.frame import Frame
from evenhand.findings.findings import BloodLine, Findings
from evenhand.units import Unit, from_mg_dl


def blood_line(findings: Findings) -> BloodLine | None:
    """The line of a trusted reconstruction; None where there is none."""
    told = findings.reconstruction
    return told.line if told is not None and told.trusted else None


def instants(line: BloodLine) -> thin.Floats:
    """The instants of the line, shape (M,)."""
    start = datetime.fromisoformat(line.start).timestamp()
    return start + line.step_s * np.arange(len(line.middle), dtype=np.float64)


def values(part: tuple[float | None, ...], unit: Unit) -> thin.Floats:
    """A series of the line in the wearer's unit, NaN where there is none."""
    return np.array([np.nan if one is None else one for one in part], np.float64) * from_mg_dl(1.0, unit)


def draw(
    frame: Frame, axes: Axes, line: BloodLine, unit: Unit, span: tuple[float, float], pixel: float
) -> None:  # fmt: skip
    """The band and its line between two instants; `pixel` is how many seconds lie under one px."""
    at = instants(line)
    inside = (at >= span[0]) & (at < span[1])
    every = max(1, int(2 * pixel // line.step_s))
    chosen = np.flatnonzero(inside)[::every]
    if not chosen.size:
        return
    low, high, middle = (values(part, unit)[chosen] for part in (line.low, line.high, line.middle))
    colour = frame.palette.between
    band = axes.fill_between(at[chosen], low, high, color=colour, alpha=0.35, linewidth=0, zorder=1.5)
    band.set_gid("band")
    axes.plot(at[chosen], middle, color=colour, linewidth=0.9 * frame.size.scale, zorder=2)[0].set_gid(
        "between"
    )

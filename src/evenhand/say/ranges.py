"""Time in the consensus ranges, as each sensor would tell it."""

from __future__ import annotations

from evenhand.findings.findings import Findings
from evenhand.findings.parts import Ranges
from evenhand.say.accuracy import Line
from evenhand.say.numbers import glucose, percent
from evenhand.units import Unit, rounded

CAPTION = "What each would tell of your time in range, over the time both were reading"
CAVEAT = "A sensor that you or a pump acted on looks closer to the aim here than the blood was. For your care team, not for a dose."

_LIMITS = {Unit.MG_DL: ("54", "70", "180", "250"), Unit.MMOL_L: ("3.0", "3.9", "10.0", "13.9")}


def range_lines(findings: Findings, unit: Unit) -> tuple[Line, ...]:
    """One row for each range and summary, a cell for each sensor; empty where there are none."""
    tables = [sensor.ranges.common for sensor in findings.sensors if sensor.ranges is not None]
    very_low, low, high, very_high = _LIMITS[unit]
    rows = [
        (f"below {very_low}", [table.below_54 for table in tables]),
        (f"{very_low} to below {low}", [table.share_54_69 for table in tables]),
        (f"{low} to {high}", [table.share_70_180 for table in tables]),
        (f"above {high} to {very_high}", [table.share_181_250 for table in tables]),
        (f"above {very_high}", [table.above_250 for table in tables]),
    ]
    lines = [Line(label, tuple(_share(value) for value in values)) for label, values in rows]
    lines += [Line(label, tuple(_summary(table, label, unit) for table in tables)) for label in _SUMMARIES]
    return tuple(lines) if tables else ()


_SUMMARIES = ("mean", "variation (CV)", "glucose management indicator (GMI)", "days covered")


def _share(value: float | None) -> str:
    return "not known" if value is None else percent(value, 1)


def _summary(table: Ranges, label: str, unit: Unit) -> str:
    if label == "mean":
        return "not known" if table.mean is None else glucose(table.mean, unit)
    if label == "days covered":
        return rounded(table.days, 1)
    return _share(table.cv if label.startswith("variation") else table.gmi)

"""How far off, in tables: one row for each part of the trial, one cell for each sensor."""

from __future__ import annotations

from dataclasses import dataclass

from evenhand.findings.findings import Findings
from evenhand.findings.parts import Accuracy, SensorFindings
from evenhand.say import numbers
from evenhand.say.dates import day
from evenhand.say.headings import PHASES
from evenhand.say.numbers import counted
from evenhand.units import FACTOR, Unit, rounded, shown_difference


@dataclass(frozen=True, slots=True)
class Line:
    """One row of a table: its label and a text for each sensor."""

    label: str
    cells: tuple[str, ...]


def cell(accuracy: Accuracy, unit: Unit, *, bare: bool = False) -> str:
    """An error with its interval and count; 'at least' where readings stood at a measuring limit. `bare`: without
    the unit, for a table that names it."""
    said = numbers.estimate(
        accuracy.mad, lambda value: shown_difference(value, unit), "" if bare else str(unit)
    )
    if accuracy.mad.value is None:
        return f"{said}; {counted(accuracy.pairs, 'stick')}"
    return f"{'at least ' if accuracy.at_least else ''}{said}, n {accuracy.pairs}"


def phase_lines(findings: Findings, unit: Unit) -> tuple[Line, ...]:
    """Average error by phase of the wear."""
    with_phases = [sensor.phases for sensor in findings.sensors if sensor.phases is not None]
    return tuple(
        Line(words, tuple(cell(getattr(phases, name), unit, bare=True) for phases in with_phases))
        for name, words in PHASES
    )


def day_lines(findings: Findings, unit: Unit) -> tuple[Line, ...]:
    """Average error by day of the trial."""
    tables = [{one.day: one for one in sensor.days or ()} for sensor in findings.sensors]
    numbers_of_days = sorted({number for table in tables for number in table})
    dates = {number: one.date for table in tables for number, one in table.items()}
    return tuple(
        Line(
            f"day {number}, {day(dates[number], year=False)}",
            tuple(
                cell(table[number].accuracy, unit, bare=True) if number in table else "no stick"
                for table in tables
            ),
        )
        for number in numbers_of_days
    )


def wear_lines(findings: Findings, unit: Unit) -> tuple[Line, ...]:
    """Average error wear by wear; a sensor that had no such wear says so."""
    tables = [{one.number: one.accuracy for one in sensor.wear_by_wear or ()} for sensor in findings.sensors]
    numbered = sorted({number for table in tables for number in table})
    return tuple(
        Line(
            f"wear {number}",
            tuple(
                cell(table[number], unit, bare=True) if number in table else "no such wear"
                for table in tables
            ),
        )
        for number in numbered
    )


_SPLITS = (
    ("all", "all sticks"), ("steady", "glucose steady"), ("moving", "glucose moving"), ("rising", "rising"),
    ("falling", "falling"), ("day", "by day"), ("night", "by night"),
)  # fmt: skip
LEVELS = (("below", "below {low}"), ("in_range", "{low} to {high}"), ("above", "above {high}"))


def split_lines(findings: Findings, unit: Unit) -> tuple[Line, ...]:
    """Average error over the whole wear, by movement, by time of day."""
    tables = [sensor.accuracy for sensor in findings.sensors if sensor.accuracy is not None]
    return tuple(
        Line(words, tuple(cell(getattr(table, name), unit, bare=True) for table in tables))
        for name, words in _SPLITS
    )


def level_lines(findings: Findings, unit: Unit, *, by: str = "by_stick") -> tuple[Line, ...]:
    """Average error by glucose level, sorted by the stick (`by_stick`) or by each sensor (`by_sensor`)."""
    low, high = limits(unit)
    tables = [getattr(sensor.levels, by) for sensor in findings.sensors if sensor.levels is not None]
    return tuple(
        Line(
            words.format(low=low, high=high),
            tuple(cell(getattr(table, name), unit, bare=True) for table in tables),
        )
        for name, words in LEVELS
    )


def limits(unit: Unit) -> tuple[str, str]:
    """The two glucose lines as they are written in a unit.

    >>> limits(Unit.MMOL_L)
    ('3.9', '10.0')
    """
    return ("70", "180") if unit is Unit.MG_DL else ("3.9", "10.0")


def whole(sensor: SensorFindings, unit: Unit, tolerance: str) -> tuple[tuple[str, str], ...]:
    """The main numbers of one sensor over all its sticks: label and text."""
    if sensor.accuracy is None:
        return ()
    part = sensor.accuracy.all
    rows = [
        ("average error (MAD)", cell(part, unit)),
        ("reads high (+) or low (−) by (bias)", numbers.signed(part.bias, unit)),
        ("average error in percent (MARD)", numbers.share(part.mard, 1)),
    ]
    within = part.within.get(tolerance)
    if within is not None:
        rows.append((f"within {_close(tolerance, unit)} ({tolerance} agreement)", numbers.share(within)))
    if sensor.shown_minus_exported is not None:
        rows.append(("shown on its screen minus exported", numbers.signed(sensor.shown_minus_exported, unit)))
    if sensor.time_difference_s is not None:
        rows.append(("reading after (+) or before (−) the stick", apart(sensor.time_difference_s)))
    return tuple(rows)


def _close(tolerance: str, unit: Unit) -> str:
    """What a tolerance allows, below and above the level at which it turns into percent.

    >>> _close("20/20", Unit.MG_DL), _close("20/20", Unit.MMOL_L)
    ('20', '1.1 mmol/L or 20 %')
    """
    size = tolerance.split("/", maxsplit=1)[0]
    if unit is Unit.MG_DL:
        return size
    return f"{rounded(float(size) / FACTOR, 1)} mmol/L or {size} %"


def apart(seconds: float) -> str:
    """The median time between reading and stick.

    >>> apart(61.0), apart(-90.0)
    ('+1.0 min, median', '−1.5 min, median')
    """
    return f"{numbers.signed_text(rounded(seconds / 60, 1))} min, median"

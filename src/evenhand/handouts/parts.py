"""The tables of a page, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from evenhand.findings.findings import Findings
from evenhand.say import accuracy, fates, ranges
from evenhand.say.accuracy import Line
from evenhand.units import Unit


@dataclass(frozen=True, slots=True)
class Table:
    """A table: what it holds, its column headings, and rows whose first cell is a heading."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def _names(findings: Findings) -> tuple[str, ...]:
    return tuple(sensor.name for sensor in findings.sensors)


def _table(caption: str, first: str, findings: Findings, lines: Iterable[Line]) -> Table:
    rows = tuple((line.label, *line.cells) for line in lines if line.cells)
    return Table(caption, (first, *_names(findings)), rows)


def phase_table(findings: Findings, unit: Unit) -> Table:
    """Average error by phase."""
    caption = f"Average error against your meter, {unit}, by part of the wear"
    return _table(caption, "part of the wear", findings, accuracy.phase_lines(findings, unit))


def day_table(findings: Findings, unit: Unit) -> Table:
    """Average error by day."""
    caption = f"Average error against your meter, {unit}, day by day"
    return _table(caption, "day", findings, accuracy.day_lines(findings, unit))


def split_table(findings: Findings, unit: Unit) -> Table:
    """Average error over all sticks, by movement, by day and night."""
    caption = f"Average error against your meter, {unit}"
    return _table(caption, "sticks", findings, accuracy.split_lines(findings, unit))


def level_tables(findings: Findings, unit: Unit) -> tuple[Table, Table]:
    """The two tables by level, which are never mixed: sorted by the stick, and by each sensor."""
    by_stick = f"When your finger said so: average error, {unit}, sorted by the stick"
    by_sensor = f"When the sensor said so: average error, {unit}, sorted by each sensor; by selection alone it differs from the table by the stick"
    return (
        _table(by_stick, str(unit), findings, accuracy.level_lines(findings, unit)),
        _table(by_sensor, str(unit), findings, accuracy.level_lines(findings, unit, by="by_sensor")),
    )


def wear_table(findings: Findings, unit: Unit) -> Table:
    """Average error wear by wear."""
    caption = f"Average error against your meter, {unit}, wear by wear"
    return _table(caption, "wear", findings, accuracy.wear_lines(findings, unit))


def range_table(findings: Findings, unit: Unit) -> Table:
    """Time in range by each sensor, over common time."""
    return _table(ranges.CAPTION, f"range, {unit}", findings, ranges.range_lines(findings, unit))


def fate_table(findings: Findings) -> Table:
    """Every sensor opened."""
    rows = tuple(
        (f"{fate.sensor}, wear {fate.number}", fate.ending, fate.inserted, fate.worn, fate.readings, fate.lot)
        for fate in fates.fates(findings)
    )
    return Table(
        "Every sensor opened", ("wear", "what became of it", "inserted", "worn", "with readings", "lot"), rows
    )


def numbers_table(findings: Findings, *, sealed: bool, unit: Unit) -> Table:
    """The main numbers of each sensor; of a sealed trial only how complete it is."""
    columns = []
    for sensor in findings.sensors:
        rows = fates.upkeep(sensor)
        given = dict(
            rows[:2] if sealed else (*accuracy.whole(sensor, unit, findings.primary.tolerance), *rows)
        )
        columns.append(given)
    labels = dict.fromkeys(label for column in columns for label in column)
    rows_out = tuple((label, *(column.get(label, "") for column in columns)) for label in labels)
    caption = "How complete the readings are" if sealed else "Each sensor over all its sticks"
    return Table(caption, ("what", *_names(findings)), rows_out)

"""Whether a section can be read at all: a time, values, and a unit that is read."""

from __future__ import annotations

from collections.abc import Sequence

from evenhand.errors import BadFile, Place
from evenhand.intake import odd_columns, words
from evenhand.intake.facts import Facts
from evenhand.intake.layout import Section
from evenhand.intake.roles import Roles, midnights, unit_in


def require(
    found: Roles | None, section: Section, facts: Sequence[Facts], file: str, *, unit_said: bool = False
) -> BadFile | None:
    """Why a section cannot be read at all: no time, no values, a unit that is not read, or days without a time of day."""
    place = Place(file=file, sheet=section.sheet, line=section.header[-1] if section.header else None)
    if found is None:
        dated = next((fact for fact in facts if fact.day >= 0.6), None)
        if dated is not None:
            return _dateless(dated, "holds dates without a time of day", place)
        return BadFile(
            f"No column of times and values was found among: {', '.join(section.names[:12])}.",
            "Name them with --set time=COLUMN and --set value=COLUMN.",
            Place(file=file, sheet=section.sheet, line=section.header[0] if section.header else None),
        )
    time = facts[found.time]
    if not unit_said:
        for column in found.values:
            told = (
                section.names[column.index],
                section.units[column.index] if column.index < len(section.units) else "",
            )
            unit = next((unit for unit in map(words.other_unit, told) if unit), None)
            if unit is not None and not any(map(unit_in, told)):
                return odd_columns.refuse_other_unit(section.names[column.index], unit, place)
    if found.date is None and time.moment >= 0.6 and time.distinct >= 3 and midnights(time):
        return _dateless(time, "says midnight in every row: dates without a time of day", place)
    return None


def _dateless(fact: Facts, what: str, place: Place) -> BadFile:
    return BadFile(
        f"The column '{fact.name}' {what}, and no other column holds one.",
        "A value of a day cannot be held against a reading; export it with the time of day.",
        place,
    )

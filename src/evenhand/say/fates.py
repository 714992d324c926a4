"""Every sensor opened, one line each: what became of it, and what that cost. None is dropped."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from evenhand.findings.findings import Findings, WearFindings
from evenhand.findings.parts import Gaps, SensorFindings
from evenhand.say.dates import hours, moment
from evenhand.say.numbers import counted, in_words, listed, share
from evenhand.units import rounded

_ENDINGS: dict[str, str] = {
    "end": "worn to the end",
    "accident": "came off by accident",
    "choice": "taken off by choice",
    "failed": "failed",
    "never-started": "never started",
}


@dataclass(frozen=True, slots=True)
class Fate:
    """One line of the fate table, in words."""

    sensor: str
    number: int
    inserted: str
    worn: str
    readings: str
    ending: str
    lot: str


def ending(wear: WearFindings) -> str:
    """How a wear ended, and which wear it replaced."""
    said = ending_words(wear.ending, removed=wear.removed is not None)
    return f"{said}; replaced wear {wear.replaces}" if wear.replaces else said


def ending_words(ended: str | None, *, removed: bool) -> str:
    """How a wear ended, in words.

    >>> ending_words("failed", removed=True), ending_words(None, removed=False)
    ('failed', 'still worn, or its end was not logged')
    """
    if ended is not None:
        return _ENDINGS[ended]
    return "ended, how was not logged" if removed else "still worn, or its end was not logged"


def fates(findings: Findings) -> tuple[Fate, ...]:
    """The fate table, in the order of the wears."""
    return tuple(
        Fate(
            wear.sensor,
            wear.number,
            moment(wear.inserted or wear.started or "") if wear.inserted or wear.started else "not logged",
            hours(wear.hours),
            hours(wear.hours_with_readings),
            ending(wear),
            wear.lot or "not noted",
        )
        for wear in findings.wears
    )


def fate_title(findings: Findings) -> str:
    """The heading over the fate table.

    'Six sensors opened: five worn to the end, one failed'
    """
    wears = findings.wears
    if not wears:
        return "No sensor was logged as opened"
    counts = Counter(_ENDINGS[wear.ending] if wear.ending else "without a logged end" for wear in wears)
    told = f"{in_words(len(wears))} {'sensor' if len(wears) == 1 else 'sensors'} opened"
    parts = listed(f"{in_words(count)} {words}" for words, count in counts.most_common())
    return f"{told.capitalize()}: {parts}"


def upkeep(sensor: SensorFindings) -> tuple[tuple[str, str], ...]:
    """What a sensor asked of its wearer: label and text."""
    rows = [("readings", readings(sensor)), ("hours missed while worn", gaps(sensor.gaps))]
    rows.append(("lasted its rated life (Kaplan-Meier)", share(sensor.upkeep.survival_to_life)))
    cost = sensor.upkeep.cost_per_usable_day
    if cost is not None:
        paid, free = rounded(cost.all_paid, 2), rounded(cost.replaced_free, 2)
        text = f"{paid}" if paid == free else f"{paid}; {free} if failed ones were replaced free"
        rows.append(("cost of a usable day, in your money", text))
    return tuple(rows)


def readings(sensor: SensorFindings) -> str:
    """How many readings there are, of how many expected."""
    if not sensor.expected_readings:
        return counted(sensor.readings, "reading")
    part = rounded(min(100.0, 100 * sensor.readings / sensor.expected_readings), 1)
    return f"{sensor.readings:,} of {sensor.expected_readings:,} ({part} %)"


def gaps(lost: Gaps) -> str:
    """Hours without readings by cause.

    >>> gaps(Gaps(0.5, 7.2, 0.0))
    '7.7 h: sensor 0.5, phone away 7.2, cause unknown 0.0'
    """
    total = rounded(lost.sensor + lost.phone + lost.unknown, 1)
    if total == "0.0":
        return "none"
    parts = f"sensor {rounded(lost.sensor, 1)}, phone away {rounded(lost.phone, 1)}, cause unknown {rounded(lost.unknown, 1)}"
    return f"{total} h: {parts}"


def coverage_title(findings: Findings) -> str:
    """The heading of a sealed page: how complete the readings are.

    'Readings so far: Fern 98.5 %, Slate 97.0 % of those expected'
    """
    parts = [
        f"{sensor.name} {rounded(min(100.0, 100 * sensor.readings / sensor.expected_readings), 1)} %"
        for sensor in findings.sensors
        if sensor.expected_readings
    ]
    if not parts:
        return f"Readings so far: {counted(sum(sensor.readings for sensor in findings.sensors), 'reading')}"
    return f"Readings so far: {', '.join(parts)} of those expected"

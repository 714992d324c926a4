"""What must be read where someone could be hurt: at a low stick, and at the foot of every page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from evenhand.findings.findings import SafetyLine
from evenhand.say.dates import moment
from evenhand.say.numbers import glucose, listed
from evenhand.units import Unit

CAUTIONS = (
    "If how you feel and what a sensor shows do not agree, a fingerstick decides.",
    "Nothing here sets an insulin dose or recommends a treatment.",
    "Below 70 mg/dL (3.9 mmol/L) is a low, below 54 (3.0) a serious one: treat first, write it down later. Never go low or high to fill a gap in a plan.",
    "Keep at least one sensor's alarm for serious lows on, and do not swap a sensor that drives a pump without your care team.",
    "Your care team and your local rules come before anything on this page.",
)

FOOT = (
    "Sets no dose, recommends no treatment. A fingerstick decides when symptoms and sensor disagree. "
    "Your care team and local rules come first."
)


def far_off(line: SafetyLine, unit: Unit) -> str:
    """A stick at which a sensor was dangerously off."""
    shown, stick = glucose(line.shown, unit), glucose(line.stick, unit)
    return f"{moment(line.at)}: {line.sensor} showed {shown} while your finger said {stick}."


def misled(lines: Sequence[SafetyLine], *, tally: bool = True) -> str:
    """The heading over such sticks: which sensor, how often. Without a `tally`, under seal, it counts nothing.

    >>> line = SafetyLine("2026-03-04T13:10:00+00:00", "Slate", 104.0, 61.0, "missed-low")
    >>> misled([line, line])
    'Where a sensor could have misled you: Slate twice'
    """
    if not tally:
        return "Where a sensor could have misled you"
    counts = Counter(line.sensor for line in lines).most_common()
    return (
        f"Where a sensor could have misled you: {listed(f'{name} {_times(count)}' for name, count in counts)}"
    )


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")

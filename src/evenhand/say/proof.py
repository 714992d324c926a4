"""What an answer does not prove: three lines at most, as large as the text."""

from __future__ import annotations

from evenhand.findings.findings import Findings, HeadToHead
from evenhand.say.meter import span_words
from evenhand.say.numbers import counted, in_words, listed

HEADING = "What this does not prove"


def body(findings: Findings) -> str:
    """The caveat that stands inside every picture's frame.

    'one body, 2 + 2 sensors, one meter'
    """
    counts = [str(sensor.wears) for sensor in findings.sensors if sensor.wears]
    word = "sensor" if counts == ["1"] else "sensors"
    return f"one body, {' + '.join(counts) or 'no'} {word}, one meter"


def does_not_prove(findings: Findings) -> tuple[str, ...]:
    """The lines; never more than three."""
    counts = (
        listed(f"{in_words(sensor.wears)} of {sensor.name}" for sensor in findings.sensors)
        if findings.sensors
        else "none"
    )
    identical = " Two identical kinds of sensor would still give a named winner in about four of ten trials invented with sensors that vary as ours do."
    lines = [
        f"It speaks of one body and of the sensors worn ({counts}).{identical if findings.head_to_head else ''}",
        _meter(findings.head_to_head[0] if findings.head_to_head else None),
        _asked(findings),
    ]
    return tuple(lines)


def _meter(head: HeadToHead | None) -> str:
    against = "Everything is measured against your meter, not against a laboratory."
    if head is None or head.difference.value is None:
        return against
    return f"{against} {span_words(head)}"


def _asked(findings: Findings) -> str:
    primary = findings.primary
    if primary.standing == "undeclared":
        unknown = " Sticks without a stated reason judge too." if "unknown" in primary.sticks else ""
        return f"The question was not declared before the data, so the goal could have moved.{unknown}"
    if primary.standing in ("explored", "declared late"):
        return "The plan was declared late or departed from, so read this as explored, not as tested."
    few = findings.head_to_head[0].pairs if findings.head_to_head else 0
    judged = f" It rests on {counted(few, 'stick')}." if few else ""
    if primary.pairs == "steady":
        return f"It speaks of moments when glucose was steady; of lows, highs and fast changes it says little.{judged}"
    return f"Of lows and highs it says only what the few sticks taken there can.{judged}"

"""How it was done, for the fold at the end of a page."""

from __future__ import annotations

from evenhand.findings.findings import Findings
from evenhand.say.dates import day
from evenhand.say.numbers import counted, level, listed, margin
from evenhand.units import Unit

_STREAMS = {
    "kept": "the readings each device keeps",
    "live": "the readings each device sends live",
    "shown": "what each screen showed",
}
_STICKS = {"plan": "planned ones", "habit": "ones taken by habit", "unknown": "ones without a stated reason"}


def how(findings: Findings, unit: Unit) -> tuple[str, ...]:
    """The method in plain sentences."""
    primary = findings.primary
    movement = "sticks at which glucose was steady (moving less than 1 mg/dL, 0.06 mmol/L, a minute)"
    pairs = movement if primary.pairs == "steady" else "all sticks, steady or not"
    judging = listed(_STICKS[kind] for kind in primary.sticks)
    lines = [
        "Beside each stick stands the reading nearest in time of every sensor, at most a few minutes away (paired points).",
        f"The answer compares average errors (mean absolute differences, MAD) at {pairs} and at which both sensors were reading (common pairs); of the sticks, {judging} judge.",
        f"The difference that would make you switch (margin) is {margin(primary.margin, unit)}. Equal for your purpose (equivalence) means the {level(findings.head_to_head[0].interval_for_equal.level if findings.head_to_head else 0.9)} interval lies inside it on both sides, also after allowing for the meter's own scatter.",
        f"Judged were {_STREAMS[primary.stream]}. Readings beyond a measuring limit stand at the limit and are marked 'at least'.",
        "Intervals allow for sticks close in time being alike and for days pricked unequally; how wears differ from one another is not in them: they speak of these wears, not of the next sensor.",
        f"Night is outside {_waking(primary.waking)}. Times are in {findings.zone} unless a trip was noted.",
        f"Method {findings.method}, contract {findings.contract}, Evenhand {findings.evenhand}.",
    ]
    if primary.fingerprint:
        lines.append(
            f"Fingerprint of the declaration: {primary.fingerprint}. A date on one's own computer proves nothing to others; the fingerprint does where it was published before."
        )
    lines += [
        f"Departure from the declaration, {day(one.at)}: {one.what} ({one.why})."
        for one in primary.deviations
    ]
    lines += [
        f"{head.a} and {head.b}: {counted(head.pairs, 'common pair')} on {counted(head.days, 'day')}."
        for head in findings.head_to_head
    ]
    return tuple(lines)


def _waking(waking: tuple[str, str] | None) -> str:
    return f"{waking[0]} to {waking[1]}" if waking else "07:00 to 23:00"

"""The quiet line under the answer: how much was measured, whether it was declared, and which edition this is."""

from __future__ import annotations

from evenhand.findings.findings import Findings, Primary
from evenhand.say.dates import day, span
from evenhand.say.numbers import counted


def quiet_line(findings: Findings) -> tuple[str, ...]:
    """The parts of the quiet line, in order."""
    parts = [_amount(findings)]
    if findings.span is not None:
        parts.append(span(*findings.span))
    parts += [standing(findings.primary), *_openings(findings.primary)]
    if findings.primary.fingerprint:
        parts.append(f"fingerprint of the declaration {findings.primary.fingerprint[:8]}")
    return (*parts, f"edition {findings.edition[:8]}")


def _amount(findings: Findings) -> str:
    wears = counted(len(findings.wears), "wear")
    sticks = counted(findings.meter.sticks, "stick")
    if not findings.head_to_head:
        return f"{sticks}, {wears}"
    head = findings.head_to_head[0]
    kind = "judging, with glucose steady" if findings.primary.pairs == "steady" else "judging"
    return f"{sticks}, {head.pairs} of them {kind} and both sensors reading; {wears}, {counted(head.days, 'day')}"


def standing(primary: Primary) -> str:
    """Declared or not, in words.

    The date is the wearer's own; a date on one's own computer proves nothing to others.
    """
    if primary.standing == "undeclared" or primary.declared is None:
        return "not declared beforehand"
    when = day(primary.declared.at)
    if primary.standing == "declared late":
        return f"declared late, on {when}, day {primary.declared.day}, after {counted(primary.declared.sticks_before, 'stick')}"
    if primary.standing == "explored":
        return f"declared on {when}, since departed from: explored, not tested"
    return (
        f"declared on {when}, before the first stick"
        if primary.declared.sticks_before == 0
        else f"declared on {when}"
    )


def _openings(primary: Primary) -> list[str]:
    opened = [f"opened on day {opening.day}" for opening in primary.opened]
    looks = primary.looks
    if primary.declared is not None:
        opened.append(f"looks declared {looks.declared}, taken {looks.taken}")
    if primary.deviations:
        opened.append(counted(len(primary.deviations), "departure") + " from the declaration")
    return opened

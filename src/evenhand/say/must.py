"""Must-haves: what ends a choice by itself, whatever the numbers say."""

from __future__ import annotations

from evenhand.findings.findings import Findings, MustHaveFinding


def must_haves(findings: Findings) -> tuple[str, ...]:
    """One sentence for each must-have: unmet ones first, then those not known, then those met."""
    order: dict[bool | None, int] = {False: 0, None: 1, True: 2}
    return tuple(_sentence(one) for one in sorted(findings.must_haves, key=lambda one: order[one.met]))


def _sentence(one: MustHaveFinding) -> str:
    if one.met is None:
        return f"Whether {one.sensor} has what you must have is not known yet: {one.text}."
    return f"{one.sensor} {'has' if one.met else 'does not have'} what you must have: {one.text}."

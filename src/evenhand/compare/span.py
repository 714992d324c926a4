"""The meter span: how far the meter could be off, each way, with the answer unchanged."""

from __future__ import annotations

import numpy as np

from evenhand.compare.common import Common, Terms
from evenhand.compare.head_to_head import k_factor, verdict
from evenhand.compare.shapes import Floats
from evenhand.stats.decision import NOT_SETTLED, Verdict

STEPS = np.arange(-30, 31) * 0.5
"""Percent by which the meter is taken to read high: -15 to 15 in steps of 0.5."""
_ZERO = 30


def meter_span(pairs: Common, terms: Terms, lacks: str | None) -> tuple[float | None, float | None]:
    """The stretch around 0 over which the answer stays the same, in percent; None: no end within 15.

    Every stick is divided by 1 + x, the rest (which pairs count, their weights, steady or moving) does not depend
    on the sticks' size. Each x on a grid of 0.5 % gets its own interval, k and verdict.
    """
    told = answers(pairs, terms, lacks)
    same = [each == told[_ZERO] for each in told]
    low = _last_same(same[_ZERO::-1])
    high = _last_same(same[_ZERO:])
    return (
        None if low == _ZERO else float(STEPS[_ZERO - low]),
        None if high == _ZERO else float(STEPS[_ZERO + high]),
    )


def answers(pairs: Common, terms: Terms, lacks: str | None) -> tuple[Verdict, ...]:
    """The verdict at each of `STEPS`."""
    if lacks is not None or pairs.stick.size == 0:
        return (NOT_SETTLED,) * STEPS.size
    reads: Floats = 1 + STEPS / 100
    moved = pairs.stick[:, np.newaxis] * (1 - 1 / reads)
    farther = np.abs(pairs.error_a[:, np.newaxis] + moved) - np.abs(pairs.error_b[:, np.newaxis] + moved)
    return tuple(
        verdict(found, terms.margin, k_factor(pairs, terms, float(factor)), terms.levels)
        for found, factor in zip(pairs.visits.means(farther), reads, strict=True)
    )


def _last_same(same: list[bool]) -> int:
    """How many steps from zero on the answer stays."""
    return same.index(False) - 1 if False in same else len(same) - 1

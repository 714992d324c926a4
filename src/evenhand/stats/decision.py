"""The pure rule: equal within a margin, closer, or not settled. Sees intervals and numbers, never data.

The order of the four steps is this project's own; step 1 is the two one-sided tests at 5 % (Schuirmann 1987,
from memory) in the form of a 90 % interval inside the margin, with the correction for the reference's own
scatter on top.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Limits = Callable[[float], tuple[float, float] | None]
"""The interval at a confidence level (0 to 1), None where there is none."""

State = Literal["closer", "equal", "not settled"]
BeyondMargin = Literal["yes", "no", "open"]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the rule says of a difference. `sign` is -1 or 1 where a side is named, else 0."""

    state: State
    sign: int
    beyond_margin: BeyondMargin | None


NOT_SETTLED = Verdict("not settled", 0, None)


@dataclass(frozen=True, slots=True)
class Confidence:
    """The two levels of the rule: for a difference, and for 'equal'."""

    difference: float = 0.95
    equal: float = 0.90


BY_LOOKS = {1: Confidence(), 2: Confidence(0.9706, 0.9393), 3: Confidence(0.9779, 0.9536)}
"""Declared looks at equal spacing (Pocock, Biometrika 1977;64:191-199: nominal 0.0294 and 0.0221 at 5 %,
0.0607 and 0.0464 at 10 %)."""

THREE_PAIRS = Confidence(0.983, 0.967)
"""Three answers from three sensors: 5 % and 10 % shared by three (Bonferroni), rounded as they are printed."""


def confidence(looks: int, answers: int = 1) -> Confidence:
    """The levels for a number of declared looks (1 to 3) and of answers given.

    Several looks and several answers are both paid for: what may go wrong at a look is shared by the answers.

    >>> confidence(1), confidence(2).difference, confidence(1, answers=3).equal
    (Confidence(difference=0.95, equal=0.9), 0.9706, 0.967)
    >>> round(confidence(2, answers=3).difference, 4)
    0.9902
    """
    by_look = BY_LOOKS[looks]
    if answers == 1:
        return by_look
    if looks == 1 and answers == 3:
        return THREE_PAIRS
    return Confidence(1 - (1 - by_look.difference) / answers, 1 - (1 - by_look.equal) / answers)


def shrinkage(scatter: float, spread: float) -> float | None:
    """k = sqrt(1 - s²/R²): how far a difference of MADs is shrunk by the reference's own random error.

    `scatter` s is the reference's SD, `spread` R the root mean square difference from the reference, both in
    the same unit. None where s is not below R: then nothing can be called equal.

    >>> round(shrinkage(7.65, math.hypot(10, 7.65)), 3)
    0.794
    """
    if not 0 <= scatter < spread:
        return None
    return math.sqrt(1 - (scatter / spread) ** 2)


def decide(limits: Limits, margin: float, k: float | None, levels: Confidence) -> Verdict:
    """The answer for a difference whose intervals `limits` gives.

    In this order: equal (the interval at `levels.equal` lies inside the margin, and still does after division
    by `k`; None: never), closer by more than the margin, closer with the margin open, not settled. A side is
    named only by the interval at `levels.difference`, 'equal' or not. No interval: not settled.

    >>> narrow = lambda level: (-5.0, -3.5)
    >>> decide(narrow, 3.0, 0.9, Confidence())
    Verdict(state='closer', sign=-1, beyond_margin='yes')
    """
    wide = limits(levels.difference)
    tight = limits(levels.equal)
    if wide is None or tight is None:
        return NOT_SETTLED
    sign = _side(wide, 0.0)
    if k is not None and _inside(tight, margin) and _inside((tight[0] / k, tight[1] / k), margin):
        return Verdict("equal", sign, "no")
    if _side(wide, margin):
        return Verdict("closer", sign, "yes")
    if sign:
        return Verdict("closer", sign, "open")
    return NOT_SETTLED


def _inside(interval: tuple[float, float], margin: float) -> bool:
    """Strictly inside on both sides."""
    return -margin < interval[0] and interval[1] < margin


def _side(interval: tuple[float, float], margin: float) -> int:
    """-1 where the interval lies below -margin, 1 where above margin, else 0."""
    return int(interval[0] > margin) - int(interval[1] < -margin)


@dataclass(frozen=True, slots=True)
class Enough:
    """The least a trial must hold before it can settle anything (this project's choice)."""

    pairs: int = 30
    days: int = 7
    pricked_days: int = 3

    def missing(self, pairs: int, days: int, pricked_days: int) -> str | None:
        """The reason's code why there is not enough; None where there is.

        `pricked_days` is the least number of days with a pair over the counted wears.

        >>> Enough().missing(80, 12, 2)
        'too-few-days-in-a-wear'
        """
        if pairs < self.pairs:
            return "fewer-than-30-pairs"
        if days < self.days:
            return "fewer-than-7-days"
        if pricked_days < self.pricked_days:
            return "too-few-days-in-a-wear"
        return None


ENOUGH = Enough()

"""What more evidence would settle a difference: sticks, days, wears, or nothing. Knows variances, no glucose."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

from evenhand.stats.decision import ENOUGH

Kind = Literal["sticks", "days", "wears", "no"]

POWER = 0.8
"""How likely what is told shall be to settle it, were the true difference the one seen."""
HOPELESS = 100.0
"""More than so many times the pairs is told as 'no' (this project's choice)."""


_normal = NormalDist()


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a difference stands.

    `half_zero` and `half_equal` are the half-widths of its intervals for a difference and for 'equal' (None: no
    interval); `k` the shrinkage (None: nothing can be called equal). `within` and `between` are the parts of its
    variance that more sticks on the same days shrink, and that only more days do. `counted` is the least number of
    wears that count, of either side; `short_wears` those with too few pricked days. `days_possible` is the number
    of days that all these wears could have run together within their rated life, None where not known. `yield_` is how many pairs that count one
    stick brought, above 0 and at most 1.
    """

    difference: float
    half_zero: float | None
    half_equal: float | None
    k: float | None
    margin: float
    pairs: int
    days: int
    within: float
    between: float
    counted: int
    short_wears: int = 0
    days_possible: float | None = None
    yield_: float = 1.0


@dataclass(frozen=True, slots=True)
class Needed:
    """What would settle it in four of five such trials: `about` so many more of `kind`; None with 'no'."""

    kind: Kind
    about: int | None


def to_settle(standing: Standing) -> Needed:
    """What would settle a difference that is not settled in four of five trials, were the true difference the one
    seen; and about how many more of it.

    With f times the pairs, at the same sticks a day, half-widths h and standard error s shrink by √f. It is clear of zero
    in four of five where h + 0.84 s comes to |difference|; 'equal' in four of five where the estimate, normal about
    the difference, lies within k·margin - h of zero with that chance. Of the two the one that needs fewer pairs is told
    (it is the likelier to be reached). What binds is told: days where most of the variance lies between days, or days
    are short of the least, else sticks. 'no' where no number would do, or where sticks without number on every day
    of rated life would not.
    """
    if standing.counted == 0:
        return Needed("wears", 1)
    if standing.half_zero is None or standing.half_equal is None or standing.pairs < 2 or standing.days < 1:
        return Needed("days", max(1, ENOUGH.days - standing.days, _short(standing)))
    factor = _factor(standing)
    if math.isinf(factor):
        return Needed("no", None)
    if _never(standing, factor):
        return Needed("no", None)
    per_day = standing.pairs / standing.days
    more = math.ceil(max(standing.pairs * factor, ENOUGH.pairs) - standing.pairs)
    short = max(ENOUGH.days - standing.days, _short(standing))
    days = max(math.ceil(more / per_day), short)
    if short > 0 or standing.between > standing.within:
        return Needed("days", max(1, days))
    return Needed("sticks", max(1, math.ceil(more / standing.yield_)))


def _short(standing: Standing) -> int:
    """Days lacking because a counted wear has too few: at least one each."""
    return standing.short_wears


def _factor(standing: Standing) -> float:
    """How many times the pairs, by the nearer of the two ends; infinite where neither can be reached."""
    assert standing.half_zero is not None
    assert standing.half_equal is not None
    size = abs(standing.difference)
    error = math.sqrt(standing.within + standing.between)
    room = (standing.k or 0.0) * standing.margin
    return min(_clear(size, standing.half_zero, error), _equal(size, room, standing.half_equal, error))


def _clear(size: float, half: float, error: float) -> float:
    """f for an interval clear of zero; infinite above `HOPELESS`."""
    needed = half + _normal.inv_cdf(POWER) * error
    if needed > size * math.sqrt(HOPELESS) or size == 0:
        return math.inf
    return (needed / size) ** 2


def _equal(size: float, room: float, half: float, error: float) -> float:
    """f for an interval inside `room` on both sides; infinite above `HOPELESS`. Found by halving: the chance falls
    as the width, told by `shrink` = 1/√f, grows."""
    low, high = 1 / math.sqrt(HOPELESS), 10.0
    if _inside(size, room, half * low, error * low) < POWER:
        return math.inf
    for _ in range(60):
        shrink = (low + high) / 2
        if _inside(size, room, half * shrink, error * shrink) < POWER:
            high = shrink
        else:
            low = shrink
    return float(low**-2)


def _inside(size: float, room: float, half: float, error: float) -> float:
    """The chance that an estimate, normal about `size`, leaves its interval inside `room` on both sides."""
    if error == 0:
        return float(size + half < room)
    return max(0.0, _normal.cdf((room - half - size) / error) - _normal.cdf((half - room - size) / error))


def _never(standing: Standing, factor: float) -> bool:
    """Whether the part between days stays above what is needed, even with every day of rated life pricked."""
    if standing.days_possible is None or factor <= 1:
        return False
    left = standing.between * standing.days / max(standing.days_possible, standing.days)
    return left > (standing.within + standing.between) / factor

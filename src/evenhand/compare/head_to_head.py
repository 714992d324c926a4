"""Two sensors at their common pairs: how much farther the one was off than the other, and what that allows to say.

Measures only: the pure rule of `stats.decision` is applied, who is named is for `judge` to say.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from evenhand.clock import DAY
from evenhand.compare.accuracy import within
from evenhand.compare.common import Common, Terms, asked, common, primary
from evenhand.compare.shapes import Layout
from evenhand.records.sensors import CountsFrom
from evenhand.records.trial import Trial
from evenhand.stats.agreement import mean_square_terms
from evenhand.stats.decision import ENOUGH, NOT_SETTLED, Confidence, Verdict, decide, shrinkage
from evenhand.stats.estimate import Est
from evenhand.stats.grouped import VisitMean
from evenhand.stats.intervals import mean_est
from evenhand.stats.quantiles import t_quantile
from evenhand.stats.settle import Needed, Standing, to_settle


@dataclass(frozen=True, slots=True)
class Difference:
    """The difference of MADs, a minus b, in mg/dL.

    `found` is its mean and variance; `wide` and `tight` its intervals for a difference and for 'equal'; `k` how far the
    meter's scatter shrinks it (None: it reaches the spread); `lacks` why there is too little to settle anything.
    """

    common: Common
    found: VisitMean
    wide: Est
    tight: Est
    k: float | None
    lacks: str | None
    verdict: Verdict


def difference(pairs: Common, terms: Terms) -> Difference:
    """The difference of MADs at these common pairs, with the verdict of the pure rule."""
    found = pairs.visits.mean(pairs.farther)
    k = k_factor(pairs, terms)
    lacks = lacking(pairs, found)
    return Difference(
        common=pairs,
        found=found,
        wide=mean_est(found, terms.levels.difference),
        tight=mean_est(found, terms.levels.equal),
        k=k,
        lacks=lacks,
        verdict=NOT_SETTLED if lacks else verdict(found, terms.margin, k, terms.levels),
    )


def verdict(found: VisitMean, margin: float, k: float | None, levels: Confidence) -> Verdict:
    """The pure rule on the t intervals of a mean."""

    def limits(level: float) -> tuple[float, float] | None:
        if found.value is None or found.variance is None or found.df is None:
            return None
        half = t_quantile(0.5 + level / 2, found.df) * math.sqrt(found.variance)
        return found.value - half, found.value + half

    return decide(limits, margin, k, levels)


def lacking(pairs: Common, found: VisitMean) -> str | None:
    """Why there is too little to settle anything: pairs, days, or pricked days of a wear that counts; or None."""
    least = min(pairs.pricked_days().values(), default=0)
    return ENOUGH.missing(found.n, pairs.days, least)


def k_factor(pairs: Common, terms: Terms, meter_reads: float = 1.0) -> float | None:
    """sqrt(1 - s²/R²) over the pairs that count: s the meter's scatter at the mean stick, R the root mean square
    difference from the sticks, both sensors pooled. `meter_reads` divides every stick."""
    held = pairs.counted
    if held.size == 0:
        return None
    stick = pairs.stick[held] / meter_reads
    moved = pairs.stick[held] - stick
    squares = ((pairs.error_a[held] + moved) ** 2 + (pairs.error_b[held] + moved) ** 2) / 2
    return shrinkage(terms.scatter / 100 * float(stick.mean()), math.sqrt(float(squares.mean())))


def mean_square(pairs: Common) -> Est:
    """The difference of mean squares, a minus b, mg²/dL²: the meter's random error cancels in it."""
    stick = pairs.stick
    terms = mean_square_terms(stick + pairs.error_a, stick + pairs.error_b, stick)
    return mean_est(pairs.visits.mean(terms))


def agreement(pairs: Common, tolerance: int) -> Est:
    """The difference in the share within tolerance, a minus b, in percentage points."""
    errors = (pairs.error_a, pairs.error_b)
    inside = [within(pairs.stick + error, pairs.stick, tolerance).astype(float) for error in errors]
    return mean_est(pairs.visits.mean(100 * (inside[0] - inside[1])))


def all_pairs(layout: Layout, sensors: tuple[int, int], terms: Terms) -> Difference:
    """The difference whatever the movement."""
    other = replace(terms, steady=False)
    return difference(primary(layout, sensors, other), other)


def steady_pairs(layout: Layout, sensors: tuple[int, int], terms: Terms) -> Difference:
    """The difference at steady pairs alone."""
    other = replace(terms, steady=True)
    return difference(primary(layout, sensors, other), other)


def with_marks_applied(layout: Layout, sensors: tuple[int, int], terms: Terms) -> Difference | None:
    """The difference without the sticks that were marked after readings were seen; None where there are none."""
    split = asked(layout, sensors, terms)
    marked = layout.pairs.marked
    if not (split.pairs & marked).any():
        return None
    return difference(common(layout, replace(split, pairs=split.pairs & ~marked)), terms)


def before_calibrations(layout: Layout, sensors: tuple[int, int], terms: Terms) -> Difference | None:
    """The difference from the stretches before any calibration; None where neither sensor was calibrated."""
    if not any(worn.calibrated for worn in layout.worn if worn.sensor in sensors):
        return None
    other = replace(terms, uncalibrated=True)
    return difference(primary(layout, sensors, other), other)


def settling(trial: Trial, layout: Layout, told: Difference, terms: Terms) -> Needed | None:
    """What would settle it; None where it is settled."""
    if told.verdict.state != "not settled":
        return None
    found = told.found
    halves = [
        None if est.low is None or est.high is None else (est.high - est.low) / 2
        for est in (told.wide, told.tight)
    ]
    return to_settle(
        Standing(
            difference=found.value or 0.0,
            half_zero=halves[0],
            half_equal=halves[1],
            k=told.k,
            margin=terms.margin,
            pairs=found.n,
            days=told.common.days,
            within=found.psi * found.within,
            between=found.phi * found.between,
            counted=found.k,
            short_wears=sum(days < ENOUGH.pricked_days for days in told.common.pricked_days().values()),
            yield_=_yield(layout, told.common, found.n),
            days_possible=_days_possible(trial, layout, told.common),
        )
    )


def _yield(layout: Layout, pairs: Common, counted: int) -> float:
    """Pairs that count for each judging stick in the target hours at which both sensors were worn past warm-up."""
    rows = layout.pairs
    taken = int((rows.judging & rows.in_hours & (rows.wear[:, list(pairs.sensors)] >= 0).all(axis=1)).sum())
    return min(1.0, counted / taken) if taken and counted else 1.0


def _days_possible(trial: Trial, layout: Layout, pairs: Common) -> float | None:
    """Days on which the wears that met could have run together within rated life; None where a life is not known."""
    total = 0.0
    for stretch in np.unique(pairs.stretch):
        ends = []
        wears = [layout.worn[wear] for wear in pairs.worn(stretch)]
        for worn in wears:
            sensor = trial.sensors[worn.sensor]
            if sensor.life is None:
                return None
            from_insertion = sensor.counts_from is CountsFrom.INSERTION and worn.wear is not None
            began = worn.wear.first.instant if from_insertion and worn.wear else worn.start
            ends.append(max(began + sensor.life + (sensor.grace or 0), worn.end))
        begin = max(worn.usable for worn in wears)
        total += max(0, min(ends) - begin) / DAY
    return total

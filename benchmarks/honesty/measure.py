"""One invented trial: what was estimated, with its interval, and what was true."""

from __future__ import annotations

import math
import zlib
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from benchmarks.honesty.expected import AGREE, ERROR, SIZE, Eligible
from evenhand.compare.accuracy import gauge
from evenhand.compare.common import Common, Terms, asked, common, primary
from evenhand.compare.head_to_head import Difference, difference, lacking
from evenhand.compare.layout import lay_out
from evenhand.compare.next_sensor import stretches
from evenhand.compare.prompted import with_prompted
from evenhand.compare.shapes import Layout
from evenhand.compare.splits import WHOLE, Split, labels, phase, whole
from evenhand.judge.pairs import variances
from evenhand.rehearse.invent import invent
from evenhand.rehearse.truth import Invented, Truth
from evenhand.rehearse.world import World
from evenhand.stats.decision import Verdict, confidence, decide
from evenhand.stats.estimate import Est
from evenhand.stats.grouped import VisitMean
from evenhand.stats.next_wear import chance_next, next_ratio
from evenhand.stats.quantiles import t_quantile

MARGIN, TOLERANCE, SCATTER = 3.0, 20, 5.0
BOTH = (0, 1)
Floats = NDArray[np.float64]
Row = dict[str, float | int | str | None]
NEXT_SEED = 1_000_000_000
"""Added to a trial's seed for the next wears out of the box, with a number for the world's name."""


def terms(steady: bool = True) -> Terms:
    return Terms(steady, MARGIN, TOLERANCE, SCATTER, confidence(1))


def measure(world: World, seed: int, *, peek: bool = False) -> Row:
    """Everything the table needs of one trial, flat, for a line of JSON."""
    invented = invent(world, seed)
    layout = lay_out(invented.trial)
    pairs = primary(layout, BOTH, terms())
    told = difference(pairs, terms())
    row: Row = {"seed": seed, **_difference(told, true_difference(layout, told, invented.truth))}
    row |= _accuracy(layout, invented)
    row |= _estimate("prompted", with_prompted(layout, BOTH, terms()), row["d_true"])
    row |= _next(world, seed, pairs)
    row |= _apart(layout, invented.truth)
    if peek:
        so_far, whole_trial = peeked(layout, told, invented.truth)
        row |= {"peeked": so_far, "peeked_whole": whole_trial}
    return row


def _estimate(name: str, est: Est, true: float | int | str | None) -> Row:
    return {
        f"{name}_value": est.value,
        f"{name}_low": est.low,
        f"{name}_high": est.high,
        f"{name}_true": true,
    }


def _difference(told: Difference, true: float) -> Row:
    found = told.found
    half = None
    if found.variance is not None and found.df is not None:
        half = t_quantile(0.95, found.df) * math.sqrt(found.variance)
    return {
        "d": found.value, "d_low": told.wide.low, "d_high": told.wide.high, "d_tight": half, "d_true": true,
        "state": told.verdict.state, "sign": told.verdict.sign, "beyond": told.verdict.beyond_margin,
        "k": told.k, "pairs": found.n, "days": told.common.days, "lacks": told.lacks,
    }  # fmt: skip


def true_difference(layout: Layout, told: Difference, truth: Truth) -> float:
    """The difference of expected MADs over every eligible minute of the stretches that count, mg/dL."""
    return true_over(layout, truth, asked(layout, BOTH, terms()), told.found)


def true_over(layout: Layout, truth: Truth, split: Split, found: VisitMean) -> float:
    """The difference of expected MADs over every eligible minute of a split, mg/dL."""
    mads = Eligible.of(layout, truth, split, found.by_wear.wear).mean(truth.meter, SIZE)
    return float(mads[0] - mads[1])


def _accuracy(layout: Layout, invented: Invented) -> Row:
    """Bias, MAD and agreement of the first sensor over all, its first 24 h, and moving minutes."""
    found: Row = {}
    of = gauge(layout, 0)
    for name in ("all", "steady", "moving", "first_24h"):
        split = (
            whole(layout, (0,), name, layout.pairs.judging)
            if name in WHOLE
            else phase(layout, (0,), name, layout.pairs.judging)
        )
        accuracy = of.accuracy(split)
        out = {left.wear for left in accuracy.left_out}
        counted = [
            place for place, worn in enumerate(layout.worn) if worn.sensor == 0 and worn.number not in out
        ]
        eligible = Eligible.of(layout, invented.truth, split, np.array(counted, np.int64))
        meter = invented.truth.meter
        found |= _estimate(f"mad_{name}", accuracy.mad, float(eligible.mean(meter, SIZE)[0]))
        if name == "all":
            found |= _estimate("bias", accuracy.bias, float(eligible.mean(meter, ERROR)[0]))
            found |= _estimate("within", accuracy.within["20/20"], float(eligible.mean(meter, AGREE)[0]))
    return found


def _apart(layout: Layout, truth: Truth) -> Row:
    """Meter and first sensor told apart, in mg²/dL²: against the meter's own error variance at the eligible minutes, and
    against how the sensor scatters about blood within its stretches."""
    told = variances(layout, BOTH, terms())
    split = asked(layout, BOTH, terms())
    eligible = Eligible.of(layout, truth, split, np.unique(labels(layout, layout.minutes.wear, BOTH)))
    off = eligible.reading[:, 0] - eligible.blood
    for stretch in np.unique(eligible.stretch):
        own = eligible.stretch == stretch
        off[own] -= off[own].mean()
    if not off.size:
        return {}
    meter = float(truth.meter.expected_square_error(eligible.blood, eligible.blood).mean())
    return _estimate("var_meter", told.meter, meter) | _estimate("var_a", told.a, float((off**2).mean()))


def _next(world: World, seed: int, pairs: Common) -> Row:
    """What was said of the next pair of wears, and how the next pair of another trial of this world truly did."""
    if world.wears < 2:
        return {}
    units = stretches(pairs)
    told, ratio = chance_next(units), next_ratio(units)
    other = invent(
        replace(world, true_difference=None, days=world.days // world.wears, wears=1),
        next_seed(world, seed),
    )
    layout = lay_out(other.trial)
    split = asked(layout, BOTH, terms())
    every = np.unique(labels(layout, layout.minutes.wear, BOTH))
    mads = Eligible.of(layout, other.truth, split, every).mean(other.truth.meter, SIZE)
    return {
        "chance": told.chance, "chance_sign": told.sign, "next_true": float(mads[0] / mads[1]),
        "ratio_low": ratio.low, "ratio_high": ratio.high,
    }  # fmt: skip


def next_seed(world: World, seed: int) -> int:
    """The seed of the next pair of wears: another one in every world, so that no two rows of the table share them."""
    return seed + NEXT_SEED * (1 + zlib.crc32(world.name.encode()))


def peeked(layout: Layout, told: Difference, truth: Truth) -> tuple[int, int]:
    """Whether somebody who looks every evening from day 7 on would ever name a winner by chance alone: against the
    truth of the days so far, and against the truth of the whole trial, each taken off what was found. 1 or 0."""
    split = asked(layout, BOTH, terms())
    assert split.minutes is not None
    whole_trial = true_difference(layout, told, truth)
    ever = [0, 0]
    for day in np.unique(layout.pairs.day[split.pairs]):
        until = replace(
            split,
            pairs=split.pairs & (layout.pairs.day <= day),
            minutes=split.minutes & (layout.minutes.day <= day),
        )
        pairs = common(layout, until)
        found = pairs.visits.mean(pairs.farther)
        if lacking(pairs, found) is not None:
            continue
        for place, true in enumerate((true_over(layout, truth, until, found), whole_trial)):
            ever[place] = ever[place] or int(moved(found, -true, None).sign != 0)
    return ever[0], ever[1]


def moved(found: VisitMean, by: float, k: float | None) -> Verdict:
    """The verdict if the difference had come out `by` mg/dL higher."""

    def limits(level: float) -> tuple[float, float] | None:
        if found.value is None or found.variance is None or found.df is None:
            return None
        half = t_quantile(0.5 + level / 2, found.df) * math.sqrt(found.variance)
        return found.value + by - half, found.value + by + half

    return decide(limits, MARGIN, k, confidence(1))

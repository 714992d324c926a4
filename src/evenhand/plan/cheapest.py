"""The cheapest plan that reaches a wished chance of settling the question.

Every number of wears and of sticks a day is worked out from one set of invented trials (intervals shrink with the root
of the pairs); the cheapest that should do is then tried with invented trials of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from evenhand.errors import CannotPlan, EvenhandError
from evenhand.plan.checks import reads_together
from evenhand.plan.cost import cost_of, price
from evenhand.plan.draw import draw, seed_of
from evenhand.plan.tells import WHAT, Found, Progress, setting, simulate
from evenhand.records.plan import Drawn, SensorPlan
from evenhand.records.trial import Trial

MOST_WEARS, STICKS = 6, (3, 4, 5, 6, 7, 8, 10, 12)
TRIES = 4
"""So many plans at most are tried with invented trials of their own."""
TRY_LIVES = 20


@dataclass(frozen=True, slots=True)
class Option:
    """A plan that was weighed: the trial with these wishes, its drawing, the money it takes (None: a price is missing),
    sensors opened, strips, days, and the chance (0 to 1) with its standard error (None: not tried, only worked out)."""

    trial: Trial
    drawn: Drawn
    money: float | None
    sensors: int
    strips: int
    days: int
    chance: float
    error: float | None = None

    @property
    def rank(self) -> tuple[float, float, float]:
        """The cheaper the smaller: money where it is known, then sensors, then strips."""
        return (self.money or 0.0, float(self.sensors), float(self.strips))


@dataclass(frozen=True, slots=True)
class Cheapest:
    """What was found: the cheapest option whose own invented trials reach the chance (None: none did), and the option with
    the best chance as worked out, all within the money there is."""

    found: Option | None
    best: Option
    difference: float
    wished: float


def cheapest(
    trial: Trial,
    now: int,
    wished: float,
    difference: float,
    progress: Progress = lambda _share, _what: None,
) -> Cheapest:
    """The cheapest plan with which, were the true difference of these wears `difference` (mg/dL), the chance of an answer
    is at least `wished` (0 to 1): the closer one named, or 'equal' for a difference of 0. Raises as `draw` does."""
    base = draw(trial, now)
    fixed = setting(trial, base)
    found = simulate(fixed, [difference], seed_of(trial), lambda share, what: progress(0.35 * share, what))[0]
    every = [one for life in found for one in life]
    scale = _Scale.of(every, difference, trial.question.margin)
    options = sorted(_options(trial, now, base, scale), key=lambda one: one.rank)
    if not options:
        raise CannotPlan(
            "No number of wears can be laid from this start.", "Change the start, the hours or the days."
        )
    afford = [one for one in options if _within_budget(one)] or options[:1]
    best = max(afford, key=lambda one: one.chance)
    reached: Option | None = None
    tried: set[tuple[float, float, float]] = set()
    shift = 0.0
    for number in range(TRIES):
        option = next((one for one in afford if _moved(one.chance, shift) >= wished), None)
        if option is None or option.rank in tried or (reached and reached.rank <= option.rank):
            break
        tried.add(option.rank)
        share = 0.35 + 0.65 * number / TRIES
        held = _tried(option, difference, _part(progress, share, 0.65 / TRIES))
        shift = _above(held.chance) - _above(option.chance)
        if held.chance >= wished:
            reached = held
    progress(1.0, WHAT)
    return Cheapest(reached, best, difference, wished)


def _part(progress: Progress, start: float, share: float) -> Progress:
    """Progress of a part of the work."""
    return lambda done, what: progress(start + share * done, what)


def _moved(chance: float, shift: float) -> float:
    """A chance as worked out, corrected by how far the last trial of a plan lay from what was worked out for it."""
    return _below(_above(chance) + shift)


def _above(chance: float) -> float:
    """The inverse of `_below`, between 0.5 and 99.5 %."""
    return NormalDist().inv_cdf(min(max(chance, 0.005), 0.995))


@dataclass(frozen=True, slots=True)
class _Scale:
    """How estimates came out at `pairs` pairs: their SD, the half-width of the interval at the rule's level, and what a
    difference must stay inside for 'equal'."""

    difference: float
    margin: float
    spread: float
    half: float
    pairs: float

    @classmethod
    def of(cls, every: Sequence[Found], difference: float, margin: float) -> _Scale:
        values = [(one.value, one.half) for one in every if one.value is not None and one.half is not None]
        spread, half = (
            (np.array(column) for column in zip(*values, strict=True)) if values else (np.ones(1), np.ones(1))
        )
        return cls(
            difference,
            margin,
            float(spread.std()),
            float(half.mean()),
            float(np.mean([one.pairs for one in every])),
        )

    def chance(self, pairs: float) -> float:
        """The chance of an answer with so many pairs."""
        if pairs < 30 or self.pairs == 0:
            return 0.0
        shrink = math.sqrt(self.pairs / pairs)
        spread, half = max(self.spread * shrink, 1e-9), self.half * shrink
        if self.difference > 0:
            return _below((self.difference - half) / spread)
        room = 0.8 * self.margin - 0.84 * half
        return max(0.0, 2 * _below(room / spread) - 1)


def _below(z: float) -> float:
    return NormalDist().cdf(z)


def _options(trial: Trial, now: int, base: Drawn, scale: _Scale) -> Iterator[Option]:
    """Every plan weighed, with its chance as worked out."""
    together = reads_together(trial, base)
    a_pair = scale.pairs / max(1, len(base.minutes))
    for wears in range(1, MOST_WEARS + 1):
        other = _with(trial, wears, trial.plan.wanted.sticks)
        try:
            laid = draw(other, now)
        except EvenhandError:
            continue
        share = reads_together(trial, laid) / max(1, together)
        for sticks in STICKS:
            wished = _with(trial, wears, sticks)
            many = round(len(base.minutes) * share * sticks / max(1e-9, _a_day(base, trial)))
            yield _option(wished, laid, many, scale.chance(many * a_pair))


def _a_day(drawn: Drawn, trial: Trial) -> float:
    together = reads_together(trial, drawn) / 86_400
    return len(drawn.minutes) / max(together, 1e-9)


def _with(trial: Trial, wears: int, sticks: int) -> Trial:
    wanted = trial.plan.wanted
    ours = tuple(replace(wanted.of(sensor.id), wears=wears) for sensor in trial.sensors)
    changed = replace(wanted, days=None, sticks=sticks, sensors=_merged(wanted.sensors, ours))
    question = replace(trial.question, strips=None)
    return replace(trial, question=question, plan=replace(trial.plan, wanted=changed, drawn=None))


def _merged(before: Sequence[SensorPlan], ours: Sequence[SensorPlan]) -> tuple[SensorPlan, ...]:
    named = {one.sensor for one in ours}
    return (*ours, *(one for one in before if one.sensor not in named))


def _option(trial: Trial, laid: Drawn, sticks: int, chance: float) -> Option:
    cost = cost_of(trial, laid)
    strips = sticks + trial.plan.wanted.repeats
    money, _ = price(trial, cost.sensors, strips)
    days = round((laid.end.instant - min(wear.inserted.instant for wear in laid.wears)) / 86_400)
    return Option(trial, laid, money, sum(cost.sensors.values()), strips, days, chance)


def _within_budget(option: Option) -> bool:
    question = option.trial.question
    return question.money is None or option.money is None or option.money <= question.money


def _tried(option: Option, difference: float, progress: Progress) -> Option:
    """The option with its chance from invented trials of its own."""
    drawn = draw(option.trial, option.drawn.at.instant)
    fixed = setting(option.trial, drawn)
    lives = max(8, min(TRY_LIVES, 500 // max(fixed.scene.days, 1)))
    found = simulate(fixed, [difference], seed_of(option.trial) + 1, progress, lives)[0]
    wanted = "closer" if difference > 0 else "equal"
    shares = np.array(
        [np.mean([one.verdict.state == wanted and one.verdict.sign <= 0 for one in life]) for life in found]
    )
    return replace(
        option,
        drawn=drawn,
        chance=float(shares.mean()),
        error=float(shares.std(ddof=1) / math.sqrt(len(shares))),
    )

"""What a plan can tell before a strip is spent: invented trials, judged by the same pure rule as a real one.

Two sensors of one kind are invented in lives with the plan's own wears; the second's errors are made larger until the
true difference of these wears is what a row asks for; sticks are drawn as the plan draws them. Settling by early
insertion is not credited, repeats are not counted in.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.random import Generator

from evenhand.clock import MINUTE
from evenhand.compare.common import Terms
from evenhand.compare.events import RECHECK_WITHIN
from evenhand.compare.head_to_head import verdict
from evenhand.compare.shapes import Floats, Indices, Instants, Mask
from evenhand.errors import CannotPlan
from evenhand.plan import sticks
from evenhand.plan.arms import stream
from evenhand.plan.draw import reading, seed_of
from evenhand.plan.hours import Hours
from evenhand.plan.pool import Line, Lived, Scene, live, mean_slope, still
from evenhand.records.plan import Chances, Drawn, Tells
from evenhand.records.question import PairsAsked, Question
from evenhand.records.trial import Trial
from evenhand.stats.cells import Cells
from evenhand.stats.decision import ENOUGH, NOT_SETTLED, Verdict, confidence, shrinkage
from evenhand.stats.quantiles import t_quantile
from evenhand.stats.visits import group_visits

Progress = Callable[[float, str], None]

TIMES = (0.0, 1.0, 5 / 3, 8 / 3)
"""The true differences of the rows, in margins: 0, 3, 5 and 8 mg/dL at the usual margin."""
SCATTER = 5.0
"""The meter's SD in percent, as the rule takes it where it was not measured."""
COARSE_STEP = 7
"""The factor on errors is found from every seventh usable minute."""
NODES = (0.05, 0.7, 1.0, 1.3, 1.7, 2.3, 3.5, 5.5, 8.0)
"""Factors on the second sensor's errors that are tried."""
DRAWS = 2
"""So often sticks are drawn for two invented sensors and one difference."""
LIVES = (12, 60)
"""At least and at most so many lives are invented."""
LIFE_DAYS = 900
"""As many lives as come to so many days, within `LIVES`."""
WHAT = "inventing trials of this plan"


@dataclass(frozen=True, slots=True)
class Setting:
    """What is held fixed: the scene, where each date begins among its minutes and how many it has, the sticks a day, how
    many usable minutes a plain day has, and the terms."""

    scene: Scene
    first: Instants
    sizes: Instants
    a_day: float
    full: int
    terms: Terms


@dataclass(frozen=True, slots=True)
class Found:
    """One invented trial: the verdict, the estimate and the half-width of its interval (None: none), the pairs."""

    verdict: Verdict
    value: float | None
    half: float | None
    pairs: int


def setting(trial: Trial, drawn: Drawn) -> Setting:
    """What a trial and its drawn plan come to. `CannotPlan` for one sensor: there is nothing to hold it against."""
    if len(trial.sensors) < 2:
        raise CannotPlan(
            "One sensor has no other to be held against.", "Name a second one with 'evenhand new'."
        )
    question = trial.question
    ids = [sensor.id for sensor in trial.sensors]
    pair = question.pair if question.pair and set(question.pair) <= set(ids) else (ids[0], ids[1])
    chosen = (trial.sensors[ids.index(pair[0])], trial.sensors[ids.index(pair[1])])
    hours = Hours.of(question, trial.zones)
    begin = min(wear.reads.instant for wear in drawn.wears)
    at, day = sticks.usable(hours, reading(drawn.wears, chosen), begin, drawn.end.instant)
    if at.size == 0:
        raise CannotPlan("The two sensors never read at once.", "Plan more days, or wider waking hours.")
    stretches = tuple(
        tuple(
            (wear.started.instant, wear.removed.instant, wear.reads.instant)
            for wear in drawn.wears
            if wear.sensor == sensor.id and wear.removed.instant - wear.reads.instant > MINUTE
        )
        for sensor in chosen
    )
    full = hours.per_day()
    a_day = len(drawn.minutes) * full / at.size
    scene = Scene(chosen, (stretches[0], stretches[1]), at, day, trial.header.zone, trial.header.unit)
    _, first, sizes = np.unique(day, return_index=True, return_counts=True)
    return Setting(scene, first, sizes, a_day, full, _terms(question, len(trial.sensors)))


def _terms(question: Question, sensors: int) -> Terms:
    answers = 1 if sensors == 2 or question.pair else 3
    return Terms(
        question.pairs is PairsAsked.STEADY,
        question.margin,
        question.tolerance,
        SCATTER,
        confidence(question.looks, answers),
    )


def tells(trial: Trial, drawn: Drawn, progress: Progress = lambda _share, _what: None) -> Tells:
    """The chances of each answer under this plan, for several true differences and for two sensors of one kind."""
    fixed = setting(trial, drawn)
    margin = trial.question.margin
    asked: list[float | None] = [*(times * margin for times in TIMES), None]
    found = simulate(fixed, asked, seed_of(trial), progress)
    rows = tuple(_chances(difference, of) for difference, of in zip(asked, found, strict=True))
    every = [one for of in found for life in of for one in life]
    return Tells(margin, len(every) // len(asked), float(np.mean([one.pairs for one in every])), rows)


def lives_of(days: int) -> int:
    """How many lives are invented for a plan of so many days."""
    return min(LIVES[1], max(LIVES[0], LIFE_DAYS // max(days, 1)))


def simulate(
    fixed: Setting, asked: list[float | None], seed: int, progress: Progress, lives: int | None = None
) -> list[list[list[Found]]]:
    """Invented trials by row and by life."""
    many = lives or lives_of(fixed.scene.days)
    found: list[list[list[Found]]] = [[] for _ in asked]
    for number in range(many):
        progress(number / many, WHAT)
        life = live(fixed.scene, seed * 1000 + number)
        rng = stream(seed, "tells", number)
        for row in found:
            row.append([])
        for one, two in product(life.lines[0], life.lines[1]):
            for row, of in zip(found, _trials(fixed, life, (one, two), asked, rng), strict=True):
                row[-1].extend(of)
    progress(1.0, WHAT)
    return found


def _chances(difference: float | None, of: list[list[Found]]) -> Chances:
    """Shares over all trials, with the standard error from the spread of the lives' own shares."""
    flags = np.array(
        [
            [
                np.mean([one.verdict.state == "closer" for one in life]),
                np.mean([one.verdict.beyond_margin == "yes" for one in life]),
                np.mean([one.verdict.state == "equal" for one in life]),
                np.mean([bool(difference) and one.verdict.sign > 0 for one in life]),
            ]
            for life in of
        ]
    )
    means = flags.mean(axis=0)
    error = float(flags[:, [0, 2]].std(axis=0, ddof=1).max() / math.sqrt(len(of)))
    return Chances(difference, float(means[0]), float(means[1]), float(means[2]), float(means[3]), error)


def _trials(
    fixed: Setting, life: Lived, lines: tuple[Line, Line], asked: list[float | None], rng: Generator
) -> list[list[Found]]:
    """Trials of two invented sensors by row: the second's errors scaled to the difference, sticks drawn, the rule applied."""
    factors = _factors(fixed, life, lines, [one for one in asked if one is not None])
    found = []
    for difference in asked:
        pair = _Pair(fixed, lines, 1.0 if difference is None else next(factors))
        there = pair.eligible
        cells = Cells.count(pair.label[there], fixed.scene.day[there], fixed.scene.at[there])
        found.append([_one(fixed, life, pair, cells, rng) for _ in range(DRAWS)])
    return found


def _one(fixed: Setting, life: Lived, pair: _Pair, cells: Cells, rng: Generator) -> Found:
    chosen = _draw(fixed, rng)
    chosen = chosen[pair.eligible[chosen]]
    stick = np.floor(life.noise.draw(life.blood[chosen], rng) + 0.5)
    errors = pair.reading[0][chosen] - stick, pair.reading[1][chosen] - stick
    return _judged(fixed, (stick, *errors), (pair.label[chosen], chosen), cells)


class _Pair:
    """Two invented sensors at every usable minute: readings, whether a stick there would judge, and the label of the two
    wears that run."""

    def __init__(self, fixed: Setting, lines: tuple[Line, Line], factor: float) -> None:
        one, (scaled, slope) = lines[0], lines[1].scaled(factor)
        self.reading: tuple[Floats, Floats] = (one.reading, scaled)
        present: Mask = np.isfinite(one.reading) & np.isfinite(scaled)
        self.eligible: Mask = present & still(mean_slope(one.slope, slope)) if fixed.terms.steady else present
        self.label: Indices = one.wear * 100 + lines[1].wear


def _factors(
    fixed: Setting, life: Lived, lines: tuple[Line, Line], differences: list[float]
) -> Iterator[float]:
    """For each difference the factor on the second sensor's errors at which its expected MAD over eligible minutes is
    larger by that much, between 0.05 and 8: between nodes in straight lines, then one step along the line there."""
    one, two = lines[0].thinned(COARSE_STEP), lines[1].thinned(COARSE_STEP)
    blood = life.blood[::COARSE_STEP]
    first = life.noise.expected_abs_error(one.reading, blood)

    def apart(factor: float) -> float:
        pair = _Pair(fixed, (one, two), factor)
        kept = pair.eligible
        if not kept.any():
            return 0.0
        second = life.noise.expected_abs_error(pair.reading[1][kept], blood[kept])
        return float(second.mean() - first[kept].mean())

    nodes = np.array(NODES)
    at = np.maximum.accumulate(np.array([apart(factor) for factor in NODES]))
    for difference in differences:
        place = min(max(int(np.searchsorted(at, difference)), 1), nodes.size - 1)
        run = (nodes[place] - nodes[place - 1]) / max(at[place] - at[place - 1], 1e-9)
        guess = float(np.clip(nodes[place] + run * (difference - at[place]), NODES[0], NODES[-1]))
        yield float(np.clip(guess + run * (difference - apart(guess)), NODES[0], NODES[-1]))


def _draw(fixed: Setting, rng: Generator) -> Instants:
    """Places among the usable minutes, drawn as `sticks.drawn` draws them, all days at once."""
    first, sizes = fixed.first, fixed.sizes
    many = np.minimum(np.floor(fixed.a_day * sizes / fixed.full + rng.random(sizes.size)), sizes).astype(
        np.int64
    )
    total = int(many.sum())
    slot = np.arange(total) - np.repeat(np.cumsum(many) - many, many)
    begin, size, parts = (np.repeat(column, many) for column in (first, sizes, np.maximum(many, 1)))
    found: Instants = begin + np.floor((slot + rng.random(total)) / parts * size).astype(np.int64)
    for _ in range(3):
        close = np.flatnonzero(np.diff(fixed.scene.at[found]) <= RECHECK_WITHIN) + 1
        again = np.floor((slot[close] + rng.random(close.size)) / parts[close] * size[close]).astype(np.int64)
        found[close] = begin[close] + again
    return found


def _judged(
    fixed: Setting, values: tuple[Floats, Floats, Floats], where: tuple[Indices, Instants], cells: Cells
) -> Found:
    (stick, error_a, error_b), (label, chosen), terms = values, where, fixed.terms
    scene = fixed.scene
    visits = group_visits(label, scene.day[chosen], scene.at[chosen], cells)
    found = visits.mean(np.abs(error_a) - np.abs(error_b))
    held = visits.order
    half = None
    if found.variance is not None and found.df is not None:
        half = t_quantile(0.5 + terms.levels.difference / 2, found.df) * math.sqrt(found.variance)
    if held.size == 0:
        return Found(NOT_SETTLED, None, None, 0)
    squares = (error_a[held] ** 2 + error_b[held] ** 2) / 2
    k = shrinkage(terms.scatter / 100 * float(stick[held].mean()), math.sqrt(float(squares.mean())))
    day = scene.day[chosen][held]
    least = min(
        int(np.unique(day[side == wear]).size)
        for side in (label[held] // 100, label[held] % 100)
        for wear in np.unique(side)
    )
    lacks = ENOUGH.missing(found.n, int(np.unique(day).size), least)
    said = NOT_SETTLED if lacks else verdict(found, terms.margin, k, terms.levels)
    return Found(said, found.value, half, found.n)

"""What a plan can tell before a strip is spent: invented trials, judged by the same pure rule as a real one.

Two sensors of one kind are invented in lives with the plan's own wears; the second's errors are made larger until the
true difference of these wears is what a row asks for; sticks are drawn as the plan draws them. Settling by early
insertion is not credited, repeats are not counted in.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from evenhand.clock import MINUTE
from evenhand.compare.common import Terms
from evenhand.compare.head_to_head import verdict
from evenhand.compare.shapes import Floats, Indices, Instants, Mask
from evenhand.errors import CannotPlan
from evenhand.plan import sticks
from evenhand.plan.arms import stream
from evenhand.plan.draw import reading, seed_of
from evenhand.plan.hours import Hours
from evenhand.plan.pool import COPIES, Line, Lived, Scene, live, mean_slope, still
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
COARSE_STEP = 4
"""The factor on errors is found from every fourth usable minute."""
LIVES = (12, 60)
"""At least and at most so many lives are invented."""
LIFE_DAYS = 900
"""As many lives as come to so many days, within `LIVES`."""
WHAT = "inventing trials of this plan"


@dataclass(frozen=True, slots=True)
class Setting:
    """What is held fixed: the scene, the sticks a day, how many usable minutes a plain day has, and the terms."""

    scene: Scene
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
        raise CannotPlan("One sensor has no other to be held against.", "Name a second one with 'evenhand new'.")
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
    return Setting(scene, a_day, full, _terms(question, len(trial.sensors)))


def _terms(question: Question, sensors: int) -> Terms:
    answers = 1 if sensors == 2 or question.pair else 3
    return Terms(
        question.pairs is PairsAsked.STEADY, question.margin, question.tolerance, SCATTER, confidence(question.looks, answers)
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
        for row, difference in enumerate(asked):
            found[row].append(
                [
                    _trial(fixed, life, (one, two), difference, rng)
                    for one in range(COPIES)
                    for two in range(COPIES)
                ]
            )
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
    return Chances(difference, *(float(mean) for mean in means), error)


def _trial(
    fixed: Setting, life: Lived, copies: tuple[int, int], difference: float | None, rng: Generator
) -> Found:
    """One trial: the second sensor's errors scaled to the difference, sticks drawn, the rule applied."""
    one, two = life.lines[0][copies[0]], life.lines[1][copies[1]]
    factor = 1.0 if difference is None else _factor(fixed, life, (one, two), difference)
    pair = _Pair(fixed, life, (one, two), factor)
    chosen = _draw(fixed, rng)
    chosen = chosen[pair.eligible[chosen]]
    stick = life.noise.draw(life.blood[chosen], rng)
    stick = np.floor(stick + 0.5)
    errors = pair.reading[0][chosen] - stick, pair.reading[1][chosen] - stick
    cells = Cells.count(pair.label[pair.eligible], fixed.scene.day[pair.eligible])
    return _judged(fixed, (stick, *errors), (pair.label[chosen], chosen), cells)


class _Pair:
    """Two invented sensors at every usable minute: readings, whether a stick there would judge, and the label of the two
    wears that run."""

    def __init__(self, fixed: Setting, life: Lived, lines: tuple[Line, Line], factor: float, step: int = 1) -> None:
        one = lines[0].reading[::step], lines[0].slope[::step]
        scaled, slope = _thinned(lines[1], step).scaled(factor)
        self.reading: tuple[Floats, Floats] = (one[0], scaled)
        self.blood = life.blood[::step]
        present: Mask = np.isfinite(one[0]) & np.isfinite(scaled)
        self.eligible: Mask = present & still(mean_slope(one[1], slope)) if fixed.terms.steady else present
        self.label: Indices = lines[0].wear[::step] * 100 + lines[1].wear[::step]


def _thinned(line: Line, step: int) -> Line:
    if step == 1:
        return line
    return Line(*(getattr(line, name)[::step] for name in ("reading", "fluid", "slope", "fluid_slope", "wear")))


def _factor(fixed: Setting, life: Lived, lines: tuple[Line, Line], difference: float) -> float:
    """The factor on the second sensor's errors at which its expected MAD over eligible minutes is larger by `difference`:
    false position (Illinois) between 0.05 and 8, to 0.05 mg/dL."""
    noise = life.noise

    def missed(factor: float) -> float:
        pair = _Pair(fixed, life, lines, factor, COARSE_STEP)
        kept = pair.eligible
        if not kept.any():
            return -difference
        blood = pair.blood[kept]
        first, second = (noise.expected_abs_error(side[kept], blood).mean() for side in pair.reading)
        return float(second - first) - difference

    low, high = 0.05, 2.5
    at_low, at_high = missed(low), missed(high)
    while at_high < 0 and high < 8.0:
        high *= 1.8
        at_high = missed(high)
    if at_low > 0 or at_high < 0:
        return low if at_low > 0 else high
    for _ in range(20):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        found = missed(middle)
        if abs(found) < 0.05:
            return middle
        if found < 0:
            low, at_low, at_high = middle, found, at_high / 2
        else:
            high, at_high, at_low = middle, found, at_low / 2
    return (low + high) / 2


def _draw(fixed: Setting, rng: Generator) -> Instants:
    """Places among the usable minutes, drawn as `sticks.drawn` draws them, all days at once."""
    _, first, sizes = np.unique(fixed.scene.day, return_index=True, return_counts=True)
    many = np.minimum(np.floor(fixed.a_day * sizes / fixed.full + rng.random(sizes.size)), sizes).astype(np.int64)
    total = int(many.sum())
    slot = np.arange(total) - np.repeat(np.cumsum(many) - many, many)
    share = (slot + rng.random(total)) / np.repeat(np.maximum(many, 1), many)
    return np.unique(np.repeat(first, many) + np.floor(share * np.repeat(sizes, many)).astype(np.int64))


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


def sized(fixed: Setting, a_day: float) -> Setting:
    """The same with another number of sticks a day."""
    return replace(fixed, a_day=a_day)


def days_of(fixed: Setting) -> float:
    """Days with every usable minute, the sum of their parts."""
    return fixed.scene.at.size / fixed.full if fixed.full else 0.0


"""Invented lives: the same for a seed, and laid out as the rooms that judge lay a trial out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.plan.making import trial

from evenhand.clock import DAY, MINUTE
from evenhand.compare.common import Terms
from evenhand.compare.common import primary as common_pairs
from evenhand.compare.head_to_head import difference
from evenhand.compare.layout import lay_out
from evenhand.plan import tells
from evenhand.plan.draw import draw
from evenhand.plan.pool import COPIES, Line, Scene, _line, live, mean_slope, still, world
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import World
from evenhand.stats.cells import Cells
from evenhand.stats.decision import confidence
from evenhand.units import Unit


@pytest.fixture(name="fixed", scope="module")
def _fixed():
    made = trial(days=12)
    return tells.setting(made, draw(made, 0))


def test_a_life_is_the_same_for_a_seed(fixed):
    """And another for another."""
    one, again, other = (live(fixed.scene, seed) for seed in (3, 3, 4))
    assert np.array_equal(one.blood, again.blood)
    assert np.array_equal(one.lines[0][0].reading, again.lines[0][0].reading, equal_nan=True)
    assert not np.array_equal(one.blood, other.blood)


def test_the_wears_of_the_plan_are_those_invented(fixed):
    """As many wears of every copy, of the same length to the minute, begun at the same moment."""
    made = world(fixed.scene)
    assert len(made.sensors) == 2 * COPIES
    for place, wears in enumerate(fixed.scene.wears):
        for copy in range(COPIES):
            planned = made.planned()[place * COPIES + copy]
            assert [round(one.days * 1440) for one in planned] == [
                (end - begin) // MINUTE for begin, end, _ in wears
            ]
            assert [round(one.start * 1440) for one in planned] == [
                (begin - fixed.scene.start) // MINUTE for begin, _, _ in wears
            ]


def test_readings_follow_blood_and_are_missing_now_and_then(fixed):
    """Correlated with blood above 0.9, present at over 85 % of minutes, never at all of them."""
    life = live(fixed.scene, 5)
    for kind in life.lines:
        for line in kind:
            there = np.isfinite(line.reading)
            assert 0.85 < there.mean() < 1.0
            assert np.corrcoef(line.reading[there], life.blood[there])[0, 1] > 0.9


def test_errors_scale_and_slopes_with_them(fixed):
    """Twice the errors: twice as far from the fluid, rounding and limits aside; once: unchanged; nought: the fluid."""
    line = live(fixed.scene, 6).lines[1][0]
    there = np.isfinite(line.reading)
    same, slope = line.scaled(1.0)
    assert same is line.reading
    assert slope is line.slope
    twice, _ = line.scaled(2.0)
    inside = there & (line.reading > 60) & (line.reading < 250) & (twice > 40) & (twice < 400)
    apart = (twice - line.fluid) - 2 * (line.reading - line.fluid)
    assert np.abs(apart[inside]).max() <= 0.5 + 1e-9
    _, none = line.scaled(0.0)
    known = np.isfinite(none)
    assert np.allclose(none[known], line.fluid_slope[known])


def test_thinning_takes_every_so_manieth_minute(fixed):
    """All columns alike."""
    line = live(fixed.scene, 6).lines[0][0]
    thin = line.thinned(7)
    assert np.array_equal(thin.reading, line.reading[::7], equal_nan=True)
    assert thin.wear.size == thin.slope.size == thin.fluid.size == line.wear[::7].size


def test_a_slope_known_of_one_is_that_one():
    """Of both their mean, of neither unknown; unknown is not steady, and 1 mg/dL per minute is moving."""
    nan = np.nan
    mean = mean_slope(np.array([1.0, nan, 0.4, nan]), np.array([0.5, 0.2, nan, nan]))
    assert np.array_equal(mean, np.array([0.75, 0.2, 0.4, nan]), equal_nan=True)
    assert still(np.array([0.99, 1.0, -1.0, -0.5, nan])).tolist() == [True, False, False, True, False]


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_the_same_sticks_are_judged_as_the_rooms_that_judge_do(seed):
    """One invented trial, its own sticks (those beside a change of sensors or another stick left out): the pairs that count, the difference, its interval's half-width and the verdict
    agree with those of the rooms that measure real trials."""
    made = invent(World(days=14, wears=2, sticks=8, notes=False, zone="Europe/Berlin"), seed)
    edges = [wear.start.instant + away for wear in made.trial.wears for away in (0, 3600)]
    clear = tuple(
        one
        for before, one in zip((None, *made.trial.sticks), made.trial.sticks, strict=False)
        if min(abs(one.at.instant - edge) for edge in edges) > 1800
        and (before is None or one.at.instant - before.at.instant > 900)
    )
    shown = replace(made.trial, sticks=clear)
    layout = lay_out(shown)
    terms = Terms(True, 3.0, 20, 5.0, confidence(1))
    told = difference(common_pairs(layout, (0, 1), terms), terms)
    grid = made.truth.grid
    awake = np.flatnonzero(grid.within((420, 1380)))
    stretches = tuple(
        tuple(
            (
                wear.start.instant,
                (wear.removed.instant if wear.removed else int(grid.at[-1])),
                wear.start.instant + 3600,
            )
            for wear in made.trial.wears_of(one.id)
        )
        for one in made.trial.sensors
    )
    usable = grid.at[awake]
    scene = Scene(
        made.trial.sensors[:2], stretches, usable, grid.day[awake] + 700_000, "Europe/Berlin", Unit.MG_DL
    )
    lines = [_line(made, place, scene, (place, 300.0)) for place in (0, 1)]
    fixed = tells.Setting(scene, np.empty(0, int), np.empty(0, int), 8.0, 960, terms)
    pair = tells._Pair(fixed, (lines[0], lines[1]), 1.0)
    at = np.array([stick.at.instant for stick in clear])
    value = np.array([stick.glucose.mg_dl for stick in clear])
    place = np.searchsorted(usable, at)
    inside = (place < usable.size) & (usable[np.minimum(place, usable.size - 1)] == at)
    place, value = place[inside], value[inside]
    kept = pair.eligible[place]
    place, value = place[kept], value[kept]
    cells = Cells.count(pair.label[pair.eligible], scene.day[pair.eligible], scene.at[pair.eligible])
    errors = pair.reading[0][place] - value, pair.reading[1][place] - value
    found = tells._judged(fixed, (value, *errors), (pair.label[place], place), cells)
    assert found.pairs == told.found.n
    assert found.value == pytest.approx(told.found.value, abs=0.005)
    assert found.half == pytest.approx((told.wide.high - told.wide.low) / 2, rel=0.01)
    assert found.verdict == told.verdict


def test_a_scene_knows_its_length(fixed):
    """From the first start to the last removal, in whole days."""
    assert fixed.scene.days == 12 + (fixed.scene.wears[0][-1][1] - fixed.scene.start > 12 * DAY)
    assert isinstance(live(fixed.scene, 1).lines[0][0], Line)

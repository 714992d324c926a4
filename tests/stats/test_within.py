"""Psi, how finely days were pricked: slow twin, exact cases, laws, edges, and whether V is right with it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import nnls
from tests.stats.visits_twin import visits_of
from tests.stats.within_twin import slow_psi

from evenhand.stats.cells import Cells
from evenhand.stats.quantiles import t_quantile
from evenhand.stats.visits import group_visits, visit_mean
from evenhand.stats.within import HALFWAY, LEAST_PSI, MOST, nonnegative, within

DAY, WAKING = 86_400, (420, 1380)


def eligible(days, per_wear, step=5, hours=WAKING):
    """Every `step` minutes of waking hours of so many days."""
    at = (np.arange(days)[:, None] * DAY + np.arange(*hours, step)[None, :] * 60).ravel()
    day = at // DAY
    return Cells.count(day // per_wear, day, at)


def slots(days, per_day, rng):
    """One stick at a random minute of each of equal slots."""
    long = (WAKING[1] - WAKING[0]) / per_day
    minute = np.tile(np.arange(per_day), days) * long + rng.uniform(0, long, days * per_day)
    return np.repeat(np.arange(days), per_day), WAKING[0] + minute.astype(np.int64)


def random_moments(days, per_day, rng):
    return rng.integers(0, days, days * per_day), rng.integers(*WAKING, days * per_day)


def grouped(day, minute, cells, per_wear=10):
    return group_visits(day // per_wear, day, day * DAY + minute * 60, cells)


# ---------------------------------------------------------------- the slow twin


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([3, 7]), st.booleans(), st.sampled_from([0.0, 5.0]))
def test_slow_twin(seed, per_day, planned, trend):
    """Psi is that of a twin with loops, written from the method's words, with the general library's least squares."""
    rng = np.random.default_rng(seed)
    days, per_wear = 6, 3
    day, minute = (slots if planned else random_moments)(days, per_day, rng)
    y = rng.normal(0, 2, day.size) + trend * minute / 480
    at = day * DAY + minute * 60
    cells = eligible(days, per_wear, step=30)
    visits = group_visits(day // per_wear, day, at, cells)
    if visits.spread is None:
        assert per_day == 3
        return
    wanted, shares = [], []
    for label in (0, 1):
        mine = [(int(day[i]), int(at[i]), i) for i in range(day.size) if day[i] // per_wear == label]
        if label not in visits.wear:
            continue
        weight = visits.weight[visits.wear.tolist().index(label)]
        for date, of_day in visits_of([(*one, 1.0) for one in mine]):
            places = [[stick[2] for stick in visit] for visit in of_day]
            moments = (date * DAY + np.arange(*WAKING, 30) * 60).tolist()
            wanted.append((places, moments))
            shares.append(weight / len(mine))
    psi, pairs = slow_psi(y.tolist(), at.tolist(), wanted, shares)
    assert visits.spread.first.size == pairs
    (measured,) = visits.spread.measured(y[visits.order][:, np.newaxis])
    assert measured == pytest.approx(psi, rel=1e-6)
    pulled = 1 - pairs / (pairs + HALFWAY) * (1 - min(max(psi, LEAST_PSI), 1.0))
    assert visits.mean(y).psi == pytest.approx(max(pulled, min(visits.phi, 1.0)), rel=1e-6)


@given(st.integers(0, 10_000))
def test_nonnegative_is_the_librarys(seed):
    """Least squares without a coefficient below 0 is that of the general library (Lawson and Hanson)."""
    rng = np.random.default_rng(seed)
    design, halves = rng.random((12, 3)), rng.normal(0.3, 1, (12, 4))
    found = nonnegative(design.T @ design, design.T @ halves)
    for column in range(4):
        expected, _ = nnls(design, halves[:, column])
        assert found[:, column] == pytest.approx(expected, abs=1e-8)


# ---------------------------------------------------------------- exact cases


def test_where_nothing_is_alike_psi_is_one():
    """Single sticks whose differences do not grow with their distance: the nugget alone, told as it is, so real over
    told is exactly 1."""
    day = np.repeat(np.arange(20), 6)
    minute = np.tile(np.arange(6) * 150 + 450, 20) + np.random.default_rng(1).integers(-40, 40, 120)
    found = grouped(day, minute, eligible(20, 10))
    assert found.spread is not None
    nugget = np.array([1.0, 0.0, 0.0])
    assert found.spread.real @ nugget == pytest.approx(found.spread.told @ nugget)


def test_nugget_is_the_variance_of_single_sticks():
    """With one stick a visit the nugget's part in D is what D would be of plain noise: sum of W² n_d / n² per day."""
    day = np.repeat(np.arange(8), 4)
    at = day * DAY + np.tile([8, 11, 14, 17], 8) * 3600
    cells = eligible(8, 8)
    found = group_visits(day * 0, day, at, replace(cells, wear=cells.wear * 0))
    assert found.spread.told[0] == pytest.approx(8 * 4 / 32**2)
    assert found.spread.real[0] == pytest.approx(8 * 4 / 32**2)


def test_a_slot_each_beats_random_moments():
    """A smooth day pricked once a slot is known much better than Vd thinks, and at random moments less so. (There too some:
    sticks under 45 min apart are one visit, which leaves evener visits than chance.)"""
    rng = np.random.default_rng(4)
    even, chance = [], []
    for _ in range(12):
        for many, draw in ((even, slots), (chance, random_moments)):
            day, minute = draw(20, 7, rng)
            y = (6 * np.sin(minute / 150) + rng.normal(0, 1, minute.size))[:, np.newaxis]
            found = grouped(day, minute, eligible(20, 10))
            many.append(found.spread.psi(y[found.order])[0])
    assert np.mean(even) < 0.6
    assert np.mean(chance) > np.mean(even) + 0.05


@pytest.mark.parametrize(("style", "wave"), [(slots, 0.0), (slots, 5.0), (random_moments, 5.0)])
def test_variance_is_right_with_it(style, wave):
    """The same 20 days pricked anew 250 times: V within a fifth of the scatter where sticks are plain noise, between 0.8
    and 1.35 of it in a smooth day; and the 95 % interval holds in 92 to 99 of 100."""
    rng = np.random.default_rng(17)
    cells, minutes = eligible(20, 10), np.arange(*WAKING)
    day_of = 3 * np.sin(minutes / 200) * wave / 3
    truth, values, variances, inside = day_of.mean(), [], [], 0
    for _ in range(250):
        day, minute = style(20, 7, rng)
        y = day_of[minute - WAKING[0]] + rng.normal(0, 3, day.size)
        found = visit_mean(y, day // 10, day, day * DAY + minute * 60, cells)
        values.append(found.value)
        variances.append(found.variance)
        inside += abs(found.value - truth) <= t_quantile(0.975, found.df) * found.variance**0.5
    ratio = np.mean(variances) / np.var(values)
    assert 0.8 < ratio < 1.35, ratio
    assert 0.92 <= inside / 250 <= 0.995


# ---------------------------------------------------------------- laws


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 5000), st.floats(-50, 50), st.sampled_from([-3.0, 0.2, 7.0]), st.integers(-40, 40))
def test_invariances(seed, shift, scale, days):
    """Another zero, another unit, another date or another order of the sticks: the same psi, V times the unit squared."""
    rng = np.random.default_rng(seed)
    day, minute = slots(8, 5, rng)
    y, at, cells = rng.normal(0, 3, day.size) + minute / 200, day * DAY + minute * 60, eligible(8, 4)
    base = visit_mean(y, day // 4, day, at, cells)
    moved = visit_mean(shift + scale * y, day // 4, day, at, cells)
    assert moved.psi == pytest.approx(base.psi, rel=1e-6)
    assert moved.variance == pytest.approx(scale**2 * base.variance, rel=1e-6)
    later = replace(cells, day=cells.day + days, at=cells.at + days * DAY)
    assert visit_mean(y, day // 4, day + days, at + days * DAY, later).psi == pytest.approx(
        base.psi, rel=1e-9
    )
    order = rng.permutation(day.size)
    again = visit_mean(y[order], day[order] // 4, day[order], at[order], cells)
    assert (again.psi, again.df) == (pytest.approx(base.psi), pytest.approx(base.df))


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 5000))
def test_many_columns_are_many_means(seed):
    """Psi of a table of values is psi of each column, 0 or 1 as well as plain numbers."""
    rng = np.random.default_rng(seed)
    day, minute = random_moments(10, 6, rng)
    found = grouped(day, minute, eligible(10, 10))
    table = np.column_stack([rng.normal(0, 1, day.size), rng.random(day.size) < 0.9, minute / 60.0])
    together = found.means(table.astype(float))
    for column, one in enumerate(together):
        assert one.psi == pytest.approx(found.mean(table[:, column].astype(float)).psi, rel=1e-9)
        assert LEAST_PSI <= one.psi <= 1.0
        assert one.variance == pytest.approx(one.psi * one.within + one.phi * one.between)


def test_never_less_sure_of_its_degrees_than_days():
    """Degrees of freedom stay between G - k and S - k, and with many pairs come to about a third of those without psi."""
    day, minute = slots(20, 7, np.random.default_rng(8))
    y = np.random.default_rng(9).normal(0, 1, day.size)
    at, cells = day * DAY + minute * 60, eligible(20, 10)
    found = visit_mean(y, day // 10, day, at, cells)
    plain = visit_mean(y, day // 10, day, at, replace(cells, at=None, first=None))
    assert plain.psi == 1.0
    assert found.days - found.k <= found.df <= found.visits - found.k
    assert found.df == pytest.approx(plain.df / (1 + 2 * 420 / 470 * (1 - found.phi)), rel=0.1)


def test_lumpy_days_keep_the_plain_variance():
    """Where days were pricked as unequally as by chance, or more, psi is 1 and V as without it: half of the days."""
    rng = np.random.default_rng(11)
    day, minute = np.repeat(np.arange(0, 20, 2), 14), rng.integers(*WAKING, 140)
    y, at, cells = minute / 100 + rng.normal(0, 1, 140), day * DAY + minute * 60, eligible(20, 10)
    found = visit_mean(y, day // 10, day, at, cells)
    plain = visit_mean(y, day // 10, day, at, replace(cells, at=None, first=None))
    assert found.phi > 1
    assert (found.psi, found.variance, found.df) == (1.0, plain.variance, plain.df)


# ---------------------------------------------------------------- edges


def test_too_few_pairs():
    """With 29 pairs of a day in wear or fewer, psi is 1 and everything is as without moments."""
    day = np.repeat(np.arange(9), 3)
    at = day * DAY + np.tile([8, 12, 16], 9) * 3600
    cells = eligible(9, 9)
    found = group_visits(day * 0, day, at, cells)
    assert found.spread is None
    y = np.random.default_rng(0).normal(0, 1, 27)
    bare = group_visits(day * 0, day, at, replace(cells, at=None, first=None))
    assert found.mean(y) is not bare.mean(y)
    assert (found.mean(y).psi, found.mean(y).variance) == (1.0, bare.mean(y).variance)


def test_one_stick_a_day():
    """No two sticks share a day: nothing is measured."""
    day = np.arange(40)
    assert group_visits(day // 20, day, day * DAY + 40_000, eligible(40, 20)).spread is None


def test_no_spread_at_all():
    """All values alike: V is 0, psi 1, no warning."""
    day, minute = slots(10, 6, np.random.default_rng(2))
    found = visit_mean(np.full(day.size, 4.0), day // 5, day, day * DAY + minute * 60, eligible(10, 5))
    assert (found.value, found.variance, found.psi) == (4.0, 0.0, 1.0)


def test_sticks_where_no_moment_is_eligible():
    """A pricked day without eligible moments tells nothing of psi but stays in D; all such: psi is not measured."""
    day, minute = slots(10, 6, np.random.default_rng(3))
    at = day * DAY + minute * 60
    cells = eligible(10, 10)
    some = group_visits(day // 10, day, at, cells.pick(cells.day < 5))
    assert some.spread is not None
    assert some.spread.real[0] < group_visits(day // 10, day, at, cells).spread.real[0]
    assert within(iter([(np.arange(60), None)]), np.ones(60), at, np.arange(60)) is None


def test_sticks_at_the_very_same_moment():
    """Several sticks of one minute make pairs of no distance; psi stays within its limits."""
    day = np.repeat(np.arange(6), 6)
    at = day * DAY + np.tile([8, 8, 8, 15, 15, 20], 6) * 3600
    y = np.random.default_rng(5).normal(0, 1, 36)
    found = visit_mean(y, day // 6, day, at, eligible(6, 6))
    assert LEAST_PSI <= found.psi <= 1.0


def test_a_meter_that_writes_every_minute_costs_no_memory():
    """More than sixty sticks a day are thinned for their pairs: a file of another sensor taken for the meter's."""
    minute = np.concatenate([np.arange(420, 700), np.arange(760, 1380)])
    at = np.concatenate([date * DAY + minute * 60 for date in range(3)])
    found = group_visits(at * 0, at // DAY, at, eligible(3, 3, step=1))
    assert found.spread is not None
    assert found.spread.first.size <= 3 * MOST * (MOST - 1) // 2
    assert 0.5 <= found.mean(np.sin(at / 9000.0)).psi <= 1.0


def test_long_local_days():
    """A local date lived twice over a date line is up to 48 hours long: sums stay finite and right."""
    at = np.sort(np.random.default_rng(6).integers(0, 2 * DAY, 40))
    two = np.concatenate([at, at + 3 * DAY])
    day = np.repeat([0, 3], 40)
    minutes = np.concatenate([np.arange(0, 2 * DAY, 300), 3 * DAY + np.arange(0, 2 * DAY, 300)])
    cells = Cells.count(minutes * 0, np.repeat([0, 3], 576), minutes)
    found = group_visits(day * 0, day, two, cells)
    assert np.isfinite([*found.spread.real, *found.spread.told]).all()
    assert (found.spread.real > 0).all()

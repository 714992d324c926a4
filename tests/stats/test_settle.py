"""What would settle a difference: the nearer end, what binds, and when nothing would."""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.stats.settle import POWER, Needed, Standing, to_settle

BASE = Standing(
    difference=2.0, half_zero=3.0, half_equal=2.5, k=0.9, margin=3.0, pairs=80, days=20, within=2.0, between=0.2, counted=2
)  # fmt: skip


def test_sticks_bind_where_scatter_within_days_does():
    """Clearing zero at 2 in four of five trials, from a half-width of 3 and a standard error of √2.2, takes
    ((3 + 0.8416·1.4832)/2)² = 4.512 times the pairs: 281 more sticks."""
    assert (3 + 0.841621 * math.sqrt(2.2)) ** 2 / 4 == pytest.approx(4.512, abs=1e-3)
    assert to_settle(BASE) == Needed("sticks", 281)


def test_twice_what_would_settle_half():
    """From a plain 95 % interval, four of five take 2.04 times the pairs of one in two (1.96 + 0.84 over 1.96,
    squared: any textbook of sample sizes)."""
    plain = replace(BASE, half_zero=1.959964 * math.sqrt(2.2), difference=1.0, k=None)
    needed = to_settle(plain).about + 80
    assert needed / (80 * 1.959964**2 * 2.2) == pytest.approx(2.042, abs=0.005)


@pytest.mark.parametrize(("difference", "k"), [(2.0, None), (0.0, 0.9), (0.7, 0.9), (-1.2, 1.0)])
def test_so_many_settle_four_of_five(difference, k):
    """Drawn anew with as many pairs as told: about four of five trials are settled."""
    standing = replace(
        BASE, half_zero=1.96 * math.sqrt(2.2), half_equal=1.645 * math.sqrt(2.2), difference=difference, k=k
    )
    factor = (to_settle(standing).about + 80) / 80
    error = math.sqrt(2.2 / factor)
    draws = NormalDist(difference, error).samples(20_000, seed=5)
    clear = sum(abs(draw) > 1.96 * error for draw in draws)
    equal = sum(abs(draw) + 1.645 * error < (k or 0) * 3.0 for draw in draws)
    assert max(clear, equal) / 20_000 == pytest.approx(POWER, abs=0.015)


def test_sticks_are_told_as_sticks_not_as_pairs():
    """Where two sticks in five are moving or meet a gap, more sticks are needed than pairs."""
    assert to_settle(replace(BASE, yield_=0.6)) == Needed("sticks", 469)


def test_days_bind_where_days_differ():
    """The same in days, at the same sticks a day, where most variance lies between days."""
    assert to_settle(replace(BASE, within=0.2, between=2.0)) == Needed("days", 71)


def test_the_nearer_end_is_told():
    """A small difference is nearer to 'equal': there the half-width 2.5 and 0.84 of the standard error must fit into
    0.9·3 - 0.7 = 2 (a little more, for the far side); without k only zero is left."""
    near = replace(BASE, difference=0.7)
    assert to_settle(near) == Needed("sticks", 205)
    assert ((2.5 + 0.841621 * math.sqrt(2.2)) / 2) ** 2 * 80 - 80 == pytest.approx(201, abs=1)
    assert to_settle(replace(near, k=None)) == Needed("sticks", 2867)


def test_nothing_settles_a_difference_of_nothing_without_k():
    """No difference, and a meter too coarse for 'equal': no number of sticks would."""
    assert to_settle(replace(BASE, difference=0.0, k=None)) == Needed("no", None)


def test_no_where_days_of_rated_life_run_out():
    """The part between days cannot be brought down by sticks, and rated life has no more days: no."""
    stuck = replace(BASE, within=0.5, between=2.0, days_possible=22.0)
    assert to_settle(stuck) == Needed("no", None)
    assert to_settle(replace(stuck, days_possible=120.0)).kind == "days"
    assert to_settle(replace(stuck, days_possible=None)).kind == "days"


def test_no_wear_that_counts():
    """Where a sensor has no wear that counts, one is what is needed."""
    assert to_settle(replace(BASE, counted=0)) == Needed("wears", 1)


def test_short_of_the_least():
    """Too few days ask for days, too few pairs for sticks, whatever the width."""
    assert to_settle(replace(BASE, days=4, pairs=40, half_zero=1.0)) == Needed("days", 3)
    assert to_settle(replace(BASE, pairs=20, half_zero=0.5, days=10)) == Needed("sticks", 10)
    assert to_settle(replace(BASE, short_wears=2, half_zero=1.9)).kind == "days"


def test_no_interval_asks_for_days():
    """Without an interval at least one more day, up to the least, is told."""
    assert to_settle(replace(BASE, half_zero=None, half_equal=None, pairs=3, days=2)) == Needed("days", 5)
    assert to_settle(replace(BASE, half_zero=None, half_equal=None, pairs=0, days=0)) == Needed("days", 7)


@given(
    st.floats(-6, 6), st.floats(0.2, 8), st.floats(0.3, 1.0), st.integers(10, 400), st.integers(3, 90),
    st.floats(0, 4), st.floats(0, 4), st.one_of(st.none(), st.floats(1, 200)),
)  # fmt: skip
def test_always_an_amount_of_something(difference, half, k, pairs, days, within, between, possible):
    """Whatever stands there, the advice is 'no' without a number or at least one of something; and swapping
    the sensors changes nothing."""
    standing = Standing(difference, half, half * 0.83, k, 3.0, pairs, days, within, between, 2, 0, possible)
    needed = to_settle(standing)
    assert (needed.about is None) == (needed.kind == "no")
    assert needed.about is None or needed.about >= 1
    assert to_settle(replace(standing, difference=-difference)) == needed


@given(st.floats(0.1, 2.5), st.floats(0.5, 4), st.floats(1.0, 3.0))
def test_a_wider_interval_needs_more(difference, half, factor):
    """The wider the interval, the more sticks."""
    standing = replace(BASE, difference=difference, half_zero=half, half_equal=half * 0.83)
    wider = replace(standing, half_zero=half * factor, half_equal=half * 0.83 * factor)
    assert to_settle(wider).about >= to_settle(standing).about


def test_needed_is_plain():
    """The record holds a kind and a number, nothing else."""
    assert Needed("days", 3).kind == "days"
    with pytest.raises(AttributeError):
        Needed("days", 3).kind = "no"

"""Head to head: the difference, the correction for the meter, and the same asked otherwise."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stamp, stick, trial, usual, wear

from evenhand.clock import Stamp
from evenhand.compare.common import Terms, primary
from evenhand.compare.head_to_head import (
    agreement,
    all_pairs,
    before_calibrations,
    difference,
    k_factor,
    mean_square,
    settling,
    steady_pairs,
    with_marks_applied,
)
from evenhand.compare.layout import lay_out
from evenhand.records.diary import Mark, MarkKind, Reason
from evenhand.stats.decision import Confidence

TERMS = Terms(steady=True, margin=3.0, tolerance=20, scatter=5.0, levels=Confidence())


@pytest.fixture(scope="module")
def laid():
    """A trial of 20 days in which Slate scatters more, with its layout."""
    made = usual()
    return made, lay_out(made)


def test_difference_is_that_of_the_two_mads(laid):
    """The value is the eligible-time-weighted difference of each stretch's MADs (computed here by hand)."""
    _, layout = laid
    told = difference(primary(layout, (0, 1), TERMS), TERMS)
    pairs, minutes = layout.pairs, layout.minutes
    steady = (np.abs(pairs.slope) < 1 - 1e-9) & pairs.judging & pairs.scored.all(axis=1)
    eligible = (np.abs(minutes.slope) < 1 - 1e-9) & minutes.have.all(axis=1)
    total, weight = 0.0, 0.0
    for first, second in {tuple(row) for row in pairs.wear[steady]}:
        held = steady & (pairs.wear == (first, second)).all(axis=1)
        errors = np.abs(pairs.reading[held] - pairs.stick[held, np.newaxis]).mean(axis=0)
        time = (eligible & (minutes.wear == (first, second)).all(axis=1)).sum()
        total, weight = total + time * (errors[0] - errors[1]), weight + time
    assert told.wide.value == pytest.approx(total / weight)
    assert told.wide.low < told.tight.low < told.wide.value < told.tight.high < told.wide.high
    assert told.lacks is None


def test_levels_reach_both_intervals(laid):
    """The declared levels stand on the estimates."""
    _, layout = laid
    terms = replace(TERMS, levels=Confidence(0.983, 0.967))
    told = difference(primary(layout, (0, 1), terms), terms)
    assert (told.wide.level, told.tight.level) == (0.983, 0.967)


def test_k_is_the_square_root_law(laid):
    """k = sqrt(1 - s²/R²) with s 5 % of the mean stick and R the pooled root mean square difference."""
    _, layout = laid
    pairs = primary(layout, (0, 1), TERMS)
    spread = math.sqrt((np.mean(pairs.error_a**2) + np.mean(pairs.error_b**2)) / 2)
    scatter = 0.05 * pairs.stick.mean()
    assert k_factor(pairs, TERMS) == pytest.approx(math.sqrt(1 - (scatter / spread) ** 2))
    assert k_factor(pairs, replace(TERMS, scatter=50.0)) is None


def test_mean_squares_cancel_by_identity(laid):
    """mean[(A-M)² - (B-M)²] = mean[(A-B)(A+B-2M)] (standards 7.8, identity), stretch weights and all."""
    _, layout = laid
    pairs = primary(layout, (0, 1), TERMS)
    squares = pairs.visits.mean(pairs.error_a**2 - pairs.error_b**2)
    assert mean_square(pairs).value == pytest.approx(squares.value)


def test_agreement_is_in_percentage_points():
    """All of one within, none of the other: the difference in the share within tolerance is 100 points."""
    made = _constant(first=110.0, second=150.0)
    pairs = primary(lay_out(made), (0, 1), TERMS)
    assert agreement(pairs, 20).value == 100.0
    assert agreement(pairs, 20).high == 100.0


def test_all_and_steady_ask_otherwise(laid):
    """All pairs hold more than steady ones; steady asked directly is the primary itself."""
    _, layout = laid
    told = difference(primary(layout, (0, 1), TERMS), TERMS)
    assert all_pairs(layout, (0, 1), TERMS).found.n > told.found.n
    assert steady_pairs(layout, (0, 1), replace(TERMS, steady=False)).wide == told.wide


def test_marks_set_later_are_counted_both_ways():
    """A stick marked after the fact judges; beside stands the difference without it."""
    plain = _constant(first=110.0, second=104.0)
    late = Mark(MarkKind.UNWASHED, early=False)
    odd = stick(MIDNIGHT + 3 * DAY + 4 * HOUR, 200, marks=(late,), id="odd")
    marked = replace(plain, sticks=tuple(sorted((*plain.sticks, odd), key=lambda each: each.at.instant)))
    layout = lay_out(marked)
    told = difference(primary(layout, (0, 1), TERMS), TERMS)
    without = with_marks_applied(layout, (0, 1), TERMS)
    assert without is not None
    assert told.found.n == without.found.n + 1
    assert without.wide.value == pytest.approx(6.0)
    assert told.wide.value < 6.0
    assert with_marks_applied(lay_out(plain), (0, 1), TERMS) is None


def test_uncalibrated_stands_beside():
    """From the first calibration on a wear is another sensor: the rest alone stands beside; None without any."""
    plain = _constant(first=110.0, second=104.0)
    tuned = stick(MIDNIGHT + 10 * DAY + 60, 100, reason=Reason.CALIBRATION, into="slate", id="cal")
    calibrated = replace(plain, sticks=(*plain.sticks, tuned))
    beside = before_calibrations(lay_out(calibrated), (0, 1), TERMS)
    assert beside is not None
    assert beside.common.days == 10
    assert beside.common.at.max() < MIDNIGHT + 10 * DAY + 60
    assert before_calibrations(lay_out(plain), (0, 1), TERMS) is None


@pytest.mark.parametrize(("days", "lacks"), [(5, "fewer-than-30-pairs"), (20, None)])
def test_thin_trials_settle_nothing(days, lacks):
    """Below 30 pairs or 7 days the answer is not settled whatever the numbers say."""
    made = _constant(first=150.0, second=101.0, days=days)
    told = difference(primary(lay_out(made), (0, 1), TERMS), TERMS)
    assert told.lacks == lacks
    assert told.verdict.state == ("not settled" if lacks else "closer")


def test_what_would_settle_it_is_null_where_it_is(laid):
    """Null when settled; else an amount. Rated life sets how many days there can be."""
    made, layout = laid
    told = difference(primary(layout, (0, 1), TERMS), TERMS)
    assert told.verdict.state == "not settled"
    needed = settling(made, layout, told, TERMS)
    assert needed is not None
    assert needed.about >= 1
    clear = _constant(first=150.0, second=101.0)
    other = lay_out(clear)
    assert settling(clear, other, difference(primary(other, (0, 1), TERMS), TERMS), TERMS) is None
    lived = replace(made, sensors=tuple(replace(each, life=10 * DAY, grace=0) for each in made.sensors))
    assert settling(lived, layout, told, TERMS) is not None


def _constant(first, second, days=20):
    """Fern and Slate at constant readings beside sticks of 100 (a little scatter so that there is an interval)."""
    rng = np.random.default_rng(3)
    at = np.arange(0, days * DAY, 300)
    streams = {
        "fern": readings(MIDNIGHT + at, np.full(at.size, first)),
        "slate": readings(MIDNIGHT + at, np.full(at.size, second)),
    }
    worn = [wear(name, MIDNIGHT, MIDNIGHT + days * DAY) for name in streams]
    sticks = [
        stick(MIDNIGHT + when, 100 + int(rng.integers(-1, 2)), id=f"s{when}")
        for when in range(2 * HOUR, days * DAY, 6 * HOUR)
    ]
    return trial([sensor("Fern"), sensor("Slate", 1)], worn, sticks, streams)


def test_stamps_used_here_are_lisbons():
    """The made trials stand where they say they do."""
    assert Stamp.at(MIDNIGHT, "Europe/Lisbon").iso == "2026-03-01T00:00:00+00:00"


def test_a_short_stretch_of_long_wears_settles_nothing_less():
    """Staggered wears meet their second partner for two days: each wear has its three pricked days, so the answer
    may be settled; a wear that has only two of its own may not."""
    made = _constant(first=150.0, second=101.0)
    staggered = (
        wear("fern", MIDNIGHT, MIDNIGHT + 12 * DAY),
        wear("fern", MIDNIGHT + 12 * DAY, MIDNIGHT + 20 * DAY),
        wear("slate", MIDNIGHT, MIDNIGHT + 10 * DAY),
        wear("slate", MIDNIGHT + 10 * DAY, MIDNIGHT + 20 * DAY),
    )
    told = difference(primary(lay_out(replace(made, wears=staggered)), (0, 1), TERMS), TERMS)
    assert min(told.found.by_wear.days) == 2
    assert told.lacks is None
    short = (*staggered[:1], replace(staggered[1], removed=stamp(MIDNIGHT + 14 * DAY - 60)), *staggered[2:])
    told = difference(primary(lay_out(replace(made, wears=short)), (0, 1), TERMS), TERMS)
    assert told.lacks == "too-few-days-in-a-wear"
    assert sorted(told.common.pricked_days().values()) == [2, 4, 10, 12]

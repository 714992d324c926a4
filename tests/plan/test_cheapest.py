"""The cheapest plan that reaches a wished chance."""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest
from tests.plan.making import sensor, trial

from evenhand.plan import cheapest, tells
from evenhand.records.question import Question


def priced(**question):
    """Two ten-day sensors with prices, strips at forty cents."""
    return trial(
        sensor(0, price=60.0),
        sensor(1, price=70.0),
        question=Question("question", strip_price=0.4, **question),
    )


@pytest.fixture(name="few_lives", scope="module", autouse=True)
def _few_lives():
    """Fewer lives than a person gets, so that the suite stays short."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tells, "LIVES", (6, 14))
        patch.setattr(cheapest, "TRY_LIVES", 8)
        yield


@pytest.fixture(name="found", scope="module")
def _found(few_lives):
    told = []
    return cheapest.cheapest(priced(), 0, 0.8, 8.0, lambda done, what: told.append(done)), told


def test_it_reaches_the_chance_in_trials_of_its_own(found):
    """At least the wished share, with its error; nothing is promised from a formula alone."""
    made, _ = found
    assert made.found is not None
    assert made.found.chance >= 0.8
    assert 0 <= made.found.error < 0.1


def test_its_cost_is_that_of_its_wears_and_strips(found):
    """By hand."""
    option = found[0].found
    each = option.trial.plan.wanted.sensors[0].wears
    assert option.sensors == 2 * each
    assert option.money == pytest.approx(each * 130 + 0.4 * option.strips)
    assert option.strips == pytest.approx(len(option.drawn.minutes) + 10, rel=0.1)


def test_nothing_cheaper_should_do(found):
    """A large difference takes one wear of each and not the most sticks there are."""
    option = found[0].found
    assert option.sensors == 2
    assert option.trial.plan.wanted.sticks < max(cheapest.STICKS)


def test_progress_runs_to_the_end(found):
    """From 0 to 1, never back."""
    told = found[1]
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)


def test_money_that_does_not_reach_is_said():
    """With 150 in all only one wear of each can be paid; no plan in it names a difference of 2 with 90 %. The best is told,
    within the money."""
    made = cheapest.cheapest(priced(money=150.0), 0, 0.9, 2.0)
    assert made.found is None
    assert made.best.money <= 150
    assert made.best.chance < 0.9


def test_where_prices_are_missing_sensors_count_then_strips():
    """Fewest sensors first."""
    found = cheapest.cheapest(trial(), 0, 0.5, 8.0)
    assert found.found is not None
    assert found.found.money is None
    assert found.found.sensors == 2


def test_chances_as_worked_out_grow_with_pairs():
    """With the root of the pairs, as intervals shrink; below thirty pairs nothing is settled. At the pairs that were invented
    a difference one and a half half-widths away is named as the normal law has it (standard library)."""
    scale = cheapest._Scale(difference=6.0, margin=3.0, spread=2.0, half=4.0, pairs=100.0)
    assert scale.chance(100) == pytest.approx(NormalDist().cdf(1.0))
    assert scale.chance(400) == pytest.approx(NormalDist().cdf((6 - 2) / 1))
    chances = [scale.chance(pairs) for pairs in (29, 40, 80, 160, 640)]
    assert chances[0] == 0.0
    assert chances == sorted(chances)


def test_equal_needs_room_inside_the_margin():
    """For a difference of 0 the chance that the interval for 'equal' fits, none where it is wider than the margin."""
    scale = cheapest._Scale(difference=0.0, margin=3.0, spread=1.5, half=3.0, pairs=100.0)
    assert scale.chance(40) == 0.0
    assert 0 < scale.chance(200) < scale.chance(800) < 1


def test_a_correction_moves_chances_on_the_normal_scale():
    """None leaves them; and what was tried too high lowers the rest, never out of 0 to 1."""
    assert cheapest._moved(0.7, 0.0) == pytest.approx(0.7)
    assert cheapest._moved(0.7, -0.5) < 0.7 < cheapest._moved(0.7, 0.5)
    assert 0 < cheapest._moved(0.0, -3.0) < cheapest._moved(1.0, 3.0) < 1
    assert math.isclose(cheapest._below(cheapest._above(0.31)), 0.31)

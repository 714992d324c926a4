"""What chance decides: reproducible, fair, and alternating; and which box a wear comes from."""

from __future__ import annotations

from datetime import date

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from evenhand.plan import arms
from evenhand.records.plan import Held
from evenhand.records.sensors import Side


def test_the_same_seed_draws_the_same():
    """Anybody with the printed seed gets the same order, sides and stream."""
    assert arms.order(7, 3) == arms.order(7, 3)
    assert arms.sides(7, 3) == arms.sides(7, 3)
    assert arms.stream(7, "x").random(4).tolist() == arms.stream(7, "x").random(4).tolist()
    assert arms.stream(7, "x").random() != arms.stream(7, "y").random()


def test_a_known_seed_draws_what_it_always_drew():
    """Printed once and for ever: a changed draw would make a published seed worthless."""
    assert arms.stream(234239064, "order").random(2).round(6).tolist() == KNOWN
    assert arms.order(234239064, 2) == (1, 0)
    assert arms.sides(234239064, 2) == (Side.RIGHT, Side.LEFT)


KNOWN = [0.706619, 0.463908]


def test_every_order_comes_as_often_as_any_other():
    """Over 3,000 seeds each of two orders, each of six, within five standard errors."""
    for sensors, orders in ((2, 2), (3, 6)):
        drawn = [arms.order(seed, sensors) for seed in range(3000)]
        counts = [drawn.count(one) for one in set(drawn)]
        assert len(counts) == orders
        share = 1 / orders
        assert max(abs(count / 3000 - share) for count in counts) < 5 * np.sqrt(share * (1 - share) / 3000)


def test_the_first_sensor_sits_on_either_side_as_often():
    """Half and half over 3,000 seeds; the second is always opposite, the third on its own coin."""
    drawn = [arms.sides(seed, 3) for seed in range(3000)]
    assert all(first is arms.other(second) for first, second, _ in drawn)
    for place in (0, 2):
        assert abs(sum(sides[place] is Side.LEFT for sides in drawn) / 3000 - 0.5) < 0.046
    together = sum(sides[0] is sides[2] for sides in drawn) / 3000
    assert abs(together - 0.5) < 0.046


def test_the_box_that_expires_first_is_opened_first():
    """Of those still in date on the day of the insertion."""
    soon, late = Held(1, "A", date(2026, 3, 10)), Held(2, "B", date(2026, 9, 1))
    days = [date(2026, 3, 1), date(2026, 3, 11), date(2026, 3, 21), date(2026, 3, 31)]
    assert arms.boxes((late, soon), days) == [soon, late, late, None]


def test_a_box_past_its_date_stays_shut():
    """On its last day it may still be inserted, on the next not."""
    box = Held(2, "A", date(2026, 3, 10))
    assert arms.boxes((box,), [date(2026, 3, 10), date(2026, 3, 11)]) == [box, None]


def test_nothing_said_of_boxes_gives_none():
    """No stock named: no wear names a lot."""
    assert arms.boxes((), [date(2026, 3, 1)]) == [None]


@given(
    st.lists(st.builds(Held, st.integers(1, 4), st.none() | st.just("L"), st.none() | st.dates(date(2026, 1, 1), date(2026, 12, 31))), max_size=4),
    st.lists(st.dates(date(2026, 1, 1), date(2026, 12, 31)), max_size=9).map(sorted),
)  # fmt: skip
def test_no_box_is_opened_more_often_than_it_holds(held, days):
    """Whatever is held and whenever it is needed; and nothing is opened past its date."""
    taken = arms.boxes(held, days)
    assert len(taken) == len(days)
    for box in held:
        assert sum(one is box for one in taken) <= box.count * held.count(box)
    for one, day in zip(taken, days, strict=True):
        assert one is None or one.expires is None or day <= one.expires

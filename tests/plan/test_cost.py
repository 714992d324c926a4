"""What a plan costs."""

from __future__ import annotations

import pytest
from tests.plan.making import sensor, trial

from evenhand.plan.cost import cost_of, price
from evenhand.plan.draw import draw
from evenhand.records.plan import SensorPlan
from evenhand.records.question import Question


def test_sensors_spares_and_strips_add_up():
    """By hand: two wears and a spare of the one, two of the other, a strip for every prick and every repeat."""
    made = trial(
        sensor(0, price=60.0), sensor(1, price=72.5), question=Question("question", strip_price=0.4),
        sensors=(SensorPlan("s-0", spares=1),), repeats=10,
    )  # fmt: skip
    drawn = draw(made, 0)
    found = cost_of(made, drawn)
    assert found.sensors == {"Fern": 3, "Slate": 2}
    assert (found.spares, found.pricks, found.repeats) == (1, len(drawn.minutes), 10)
    assert found.strips == len(drawn.minutes) + 10
    assert found.money == pytest.approx(3 * 60 + 2 * 72.5 + 0.4 * found.strips)
    assert found.unpriced == ()


def test_a_price_not_known_leaves_the_sum_out_and_is_named():
    """No sum is guessed from half the prices."""
    made = trial(sensor(0, price=60.0), sensor(1))
    found = cost_of(made, draw(made, 0))
    assert found.money is None
    assert found.unpriced == ("Slate", "strips")


def test_without_sticks_no_price_of_a_strip_is_needed():
    """Sensors alone."""
    made = trial(sensor(0, price=60.0), sensor(1, price=70.0), sticks=0, repeats=0)
    found = cost_of(made, draw(made, 0))
    assert (found.strips, found.money) == (0, 260.0)


def test_a_sensor_that_is_not_opened_needs_no_price():
    """What costs nothing is not missing."""
    made = trial(sensor(0, price=60.0), sensor(1), question=Question("question", strip_price=1.0))
    assert price(made, {"Fern": 2, "Slate": 0}, 10) == (130.0, ())

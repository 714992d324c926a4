"""The plan as a record."""

from __future__ import annotations

from typing import Any

import pytest
from tests.files.make_v1 import DAY, T0
from tests.files.make_v2 import PLAN

from evenhand.errors import BadRecord
from evenhand.records.plan import Held, Plan, SensorPlan, Wanted


def test_a_trial_without_a_plan_has_wishes_by_default() -> None:
    """Seven sticks a day, ten repeats, nothing drawn, no overlap confirmed."""
    plan = Plan()
    assert (plan.wanted.sticks, plan.wanted.repeats, plan.wanted.overlap, plan.drawn) == (7, 10, False, None)
    assert plan.wanted.of("s-9") == SensorPlan("s-9")


@pytest.mark.parametrize(
    ("made", "fields"),
    [
        (Wanted, {"days": 0}), (Wanted, {"days": 367}), (Wanted, {"sticks": -1}), (Wanted, {"sticks": 49}),
        (Wanted, {"repeats": -1}), (SensorPlan, {"sensor": "s", "wears": 0}), (SensorPlan, {"sensor": "s", "early": -1}),
        (SensorPlan, {"sensor": "s", "spares": -1}), (Held, {"count": 0}),
    ],
)  # fmt: skip
def test_plans_that_nobody_can_keep_are_refused(made: Any, fields: dict[str, Any]) -> None:
    """Counts below zero, no day at all, a stock of nothing."""
    with pytest.raises(BadRecord):
        made(**fields)


def test_a_stick_near_a_drawn_minute_finds_it() -> None:
    """Within ten minutes the nearest drawn minute is found; further off, or with nothing drawn, none."""
    assert PLAN.planned_at(T0 + DAY + 600) == T0 + DAY
    assert PLAN.planned_at(T0 + DAY - 600) == T0 + DAY
    assert PLAN.planned_at(T0 + DAY + 601) is None
    assert Plan().planned_at(T0 + DAY) is None


def test_the_plan_ends_with_its_last_removal() -> None:
    """The end is the latest planned removal of any sensor."""
    assert PLAN.drawn is not None
    assert PLAN.drawn.end.instant == T0 + 10 * DAY


def test_a_wear_out_of_order_is_refused() -> None:
    """No reading before the start."""
    from dataclasses import replace

    assert PLAN.drawn is not None
    wear = PLAN.drawn.wears[0]
    with pytest.raises(BadRecord, match="out of order"):
        replace(wear, reads=wear.inserted)

"""Sticks at drawn minutes are planned ones, by their times alone."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.records.test_declaration import T0, making, stamp

from evenhand.clock import DAY, MINUTE
from evenhand.records.diary import Reason, Stick
from evenhand.records.plan import Plan
from evenhand.records.planned import with_reasons
from evenhand.units import Glucose, Unit

DRAWN = 2 * DAY


def stick(seconds, reason=Reason.UNKNOWN, *, stated=False, name="k"):
    return Stick(name, stamp(seconds), Glucose(6.1, Unit.MMOL_L, "6.1"), reason, T0, stated=stated)


def reasons(*sticks):
    made = replace(making(), sticks=sticks)
    return [one.reason for one in with_reasons(made).sticks]


@pytest.mark.parametrize(
    ("off", "reason"), [(0, Reason.PLAN), (600, Reason.PLAN), (-600, Reason.PLAN), (601, Reason.UNKNOWN)]
)
def test_within_ten_minutes_of_a_drawn_minute(off, reason):
    """Early or late alike; a second more and nobody knows why it was taken."""
    assert reasons(stick(DRAWN + off)) == [reason]


def test_a_stated_reason_stands():
    """Prompted at the drawn minute is prompted; 'not known', said by the wearer, is not known."""
    assert reasons(stick(DRAWN, Reason.PROMPTED, stated=True)) == [Reason.PROMPTED]
    assert reasons(stick(DRAWN, stated=True)) == [Reason.UNKNOWN]


def test_a_minute_has_one_stick():
    """The nearest of two; none where a stick was logged as planned for it already."""
    near, far = stick(DRAWN + MINUTE, name="a"), stick(DRAWN - 5 * MINUTE, name="b")
    assert reasons(far, near) == [Reason.UNKNOWN, Reason.PLAN]
    assert reasons(stick(DRAWN + 8 * MINUTE, Reason.PLAN, stated=True, name="c"), near) == [
        Reason.PLAN,
        Reason.UNKNOWN,
    ]


def test_without_a_plan_nothing_changes():
    """The very same trial."""
    made = replace(making(), sticks=(stick(DRAWN),), plan=Plan())
    assert with_reasons(made) is made


@given(st.lists(st.tuples(st.integers(0, 4 * DAY), st.sampled_from(list(Reason)), st.booleans()), max_size=8))
def test_never_more_planned_than_drawn(rows):
    """At most one unstated stick for each drawn minute, and no other stick is touched."""
    sticks = tuple(
        stick(at, reason, stated=stated, name=f"k{place}") for place, (at, reason, stated) in enumerate(rows)
    )
    after = with_reasons(replace(making(), sticks=sticks)).sticks
    turned = [new for old, new in zip(sticks, after, strict=True) if new != old]
    assert len(turned) <= 2
    assert all(one.reason is Reason.PLAN and not one.stated for one in turned)

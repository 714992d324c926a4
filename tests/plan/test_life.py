"""How long a sensor lasts: the facts of the trade as check values (common practice, no source)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.plan.making import sensor

from evenhand.clock import DAY, HOUR
from evenhand.errors import BadRecord
from evenhand.plan.life import Life
from evenhand.records.sensors import CountsFrom

TWELVE = {"life": 12 * DAY, "grace": 6 * HOUR}


def test_twelve_days_and_six_hours_are_twelve_and_a_quarter():
    """Common practice, no source: rated 12 days with 6 h of grace is 12.25 days in all."""
    made = Life.of(sensor(counts_from=CountsFrom.INSERTION, **TWELVE))
    assert made.most / DAY == 12.25
    assert made.worn / DAY == 12.0


def test_a_day_early_leaves_eleven_and_a_quarter_where_life_counts_from_insertion():
    """Common practice, no source: early insertion is paid in life there, and costs exactly its own length."""
    made = Life.of(sensor(counts_from=CountsFrom.INSERTION, **TWELVE), DAY)
    assert made.most / DAY == 11.25
    assert made.cost == DAY


def test_a_day_early_loses_nothing_where_life_counts_from_the_start():
    """Common practice, no source."""
    made = Life.of(sensor(counts_from=CountsFrom.START, **TWELVE), DAY)
    assert made.most / DAY == 12.25
    assert made.cost == 0


def test_a_warm_up_from_insertion_costs_no_reading_when_inserted_that_long_before():
    """Common practice, no source: the whole warm-up runs beside the old sensor; half of it leaves the other half."""
    ours = sensor(counts_from=CountsFrom.INSERTION, warm_up=2 * HOUR)
    assert Life.of(ours, 2 * HOUR).dark == 0
    assert Life.of(ours, HOUR).dark == HOUR
    assert Life.of(ours).dark == 2 * HOUR


def test_a_warm_up_from_the_start_is_dark_whenever_it_was_inserted():
    """Where it runs from the start, settling under the skin does not shorten it."""
    assert Life.of(sensor(counts_from=CountsFrom.START, warm_up=2 * HOUR), DAY).dark == 2 * HOUR


def test_what_is_not_known_promises_less():
    """No warm-up and no grace known count as none; life counts from insertion where nobody said."""
    made = Life.of(sensor(counts_from=None, warm_up=None, grace=None), HOUR)
    assert (made.warm_up, made.grace, made.from_insertion, made.cost) == (0, 0, True, HOUR)


def test_a_life_not_known_is_asked_for():
    """No wear can be laid without it; the cure names the sensor."""
    with pytest.raises(BadRecord, match=r"Fern may be worn.*Fern\.life=10d"):
        Life.of(sensor(life=None))


def test_an_insertion_that_eats_the_life_is_refused():
    """Four days early of a life of four days leaves nothing to read."""
    with pytest.raises(BadRecord, match="nothing is left"):
        Life.of(sensor(life=4 * DAY, counts_from=CountsFrom.INSERTION), 4 * DAY)


@given(
    st.sampled_from((CountsFrom.START, CountsFrom.INSERTION)),
    st.integers(0, 6 * HOUR),
    st.integers(2, 20),
    st.integers(0, DAY),
    st.integers(0, DAY),
)
def test_readings_and_darkness_and_cost_add_up(counts, warm_up, days, grace, early):
    """From insertion to the end of the grace: early hours, darkness and readings; where life counts from insertion they
    are exactly life and grace, else exactly that and the early hours."""
    made = Life.of(sensor(counts_from=counts, warm_up=warm_up, life=days * DAY + DAY, grace=grace), early)
    whole = early + made.dark + (made.most - made.dark)
    assert whole == days * DAY + DAY + grace + (0 if counts is CountsFrom.INSERTION else early)
    assert 0 <= made.dark <= warm_up
    assert made.worn <= made.most

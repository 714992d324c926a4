"""Numbers leave as they came."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.clock import Stamp
from evenhand.desk.exporting import _wear_numbers, number_as_recorded
from evenhand.desk.tables import cell_text
from evenhand.records.sensors import Ending, Sensor, Wear
from evenhand.records.trial import Trial

FERN = Sensor("f", "Fern", 0)


@given(st.integers(1, 600), st.integers(0, 9), st.sampled_from(".,"))
def test_a_recorded_number_is_written_as_it_was(whole, tenth, comma):
    """'6,0' leaves as 6.0 and '110' as 110: same digits, with a decimal point."""
    assert cell_text(number_as_recorded(whole + tenth / 10, f"{whole}{comma}{tenth}")) == f"{whole}.{tenth}"
    assert cell_text(number_as_recorded(float(whole), str(whole))) == str(whole)


def stamp(instant):
    return Stamp.at(instant, "Europe/Lisbon")


def wear(name, start, end, ending=None):
    return Wear(name, "f", stamp(start), removed=stamp(end) if end else None, ending=ending)


DUD = wear("dud", 22, None, Ending.NEVER_STARTED)


@pytest.mark.parametrize(
    ("wears", "instants", "numbers"),
    [
        ((), (5,), [None]),
        ((wear("a", 10, 20),), (9, 10, 20, 21), [None, 1, 1, None]),
        ((wear("a", 10, None),), (9, 10, 10**6), [None, 1, 1]),
        ((wear("a", 10, 20), wear("b", 20, 30)), (15, 20, 30, 31), [1, 2, 2, None]),
        ((wear("a", 10, 20), wear("b", 40, None)), (25, 39, 40), [None, None, 2]),
        ((wear("a", 10, 30), DUD, wear("b", 40, None)), (21, 25, 35, 40), [1, 1, None, 3]),
        ((DUD,), (22, 30), [None, None]),
    ],
)
def test_a_reading_belongs_to_the_wear_started_last_before_it(wears, instants, numbers):
    """By number from 1; to none before the first, to none once that one is removed, never to one that never started."""
    trial = Trial(header=None, sensors=(FERN,), wears=wears)
    assert _wear_numbers(trial, FERN, list(instants)) == numbers

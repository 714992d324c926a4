"""Laws of records, whatever they hold: what may overlap, what is found, what is named when records disagree."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compare.making import DAY, HOUR, MIDNIGHT, sensor, stamp, stick, trial, wear

from evenhand.clock import Zones
from evenhand.errors import BadRecord, ContradictingRecords, EvenhandError, UnknownName
from evenhand.records.diary import REPEAT_WITHIN, Event, EventKind, Reason, Shown
from evenhand.records.question import Question
from evenhand.records.sensors import Ending, Wear
from evenhand.units import Glucose, Unit

FERN, SLATE, MOSS = sensor("Fern"), sensor("Slate", 1), sensor("Moss", 2)
SPANS = st.lists(st.tuples(st.integers(0, 40), st.integers(1, 10)), min_size=1, max_size=6)


def problems(made):
    """What `check` finds, one by one."""
    try:
        made.check()
    except EvenhandError as error:
        return error.each()
    return ()


@given(SPANS)
def test_wears_contradict_exactly_where_they_run_at_once(spans):
    """Of one sensor: a later start before an earlier removal. Held against every pair of neighbours."""
    wears = [
        wear("fern", MIDNIGHT + start * HOUR, MIDNIGHT + (start + length) * HOUR, id=f"w{number}")
        for number, (start, length) in enumerate(spans)
    ]
    made = trial([FERN], wears)
    ordered = sorted(wears, key=lambda one: one.start.instant)
    clashes = sum(a.removed.instant > b.start.instant for a, b in itertools.pairwise(ordered))
    found = problems(replace(made, wears=tuple(ordered)))
    assert len(found) == clashes
    assert all(isinstance(one, ContradictingRecords) and "Fern" in one.found for one in found)


@given(SPANS)
def test_wears_of_two_sensors_never_contradict(spans):
    """Each its own sensor: side by side is what a trial is for."""
    sensors = [sensor(f"S{number}", number % 3) for number in range(len(spans))]
    wears = [
        wear(one.id, MIDNIGHT + start * HOUR, MIDNIGHT + (start + length) * HOUR)
        for one, (start, length) in zip(sensors, spans, strict=True)
    ]
    assert problems(trial(sensors, wears)) == ()


@given(st.permutations([0, HOUR, 2 * HOUR]))
def test_a_wear_runs_from_insertion_over_start_to_removal(times):
    """Any other order is refused, and all three times are named."""
    inserted, started, removed = (stamp(MIDNIGHT + one) for one in times)
    if times == sorted(times):
        made = Wear("w", "fern", inserted, started, removed)
        assert (made.first, made.start) == (inserted, started)
    else:
        with pytest.raises(BadRecord, match="out of order") as caught:
            Wear("w", "fern", inserted, started, removed)
        assert all(one.iso in caught.value.found for one in (inserted, started, removed))


@pytest.mark.parametrize("name", ["Fern", "fern", " FERN ", "fErN"])
def test_names_are_found_however_they_are_typed(name):
    """Case and blanks do not matter; what is not there is told with what is."""
    made = trial([FERN, SLATE, MOSS])
    assert made.sensor(name) is FERN
    with pytest.raises(UnknownName, match=r"Its sensors are: Fern, Slate, Moss\."):
        made.sensor("Ivy")


@given(st.sampled_from(["Fern", "FERN", "fern"]), st.sampled_from(["Fern", "FERN", "fern"]))
def test_two_sensors_of_one_name_are_one_too_many(one, other):
    """Whatever the case."""
    made = trial([replace(FERN, name=one), replace(SLATE, name=other)])
    assert len(problems(made)) == 1


def test_every_problem_between_records_is_told_at_once():
    """Names, references and overlaps together, none hiding another."""
    shown = Shown("ivy", Glucose(100.0, Unit.MG_DL, "100"), MIDNIGHT)
    made = trial(
        [FERN, replace(SLATE, name="fern")],
        [
            wear("fern", MIDNIGHT, MIDNIGHT + DAY),
            wear("fern", MIDNIGHT + HOUR, MIDNIGHT + DAY),
            wear("ivy", MIDNIGHT),
        ],
        [
            stick(MIDNIGHT, 100, Reason.CALIBRATION, into="ivy", id="a"),
            stick(MIDNIGHT + HOUR, 100, shown=(shown,), id="b"),
        ],
    )
    told = " ".join(one.found for one in problems(made))
    assert len(problems(made)) == 5
    for words in ("are called fern", "belongs to a sensor", "ran at once", "names a sensor"):
        assert words in told


@pytest.mark.parametrize("ending", [*Ending, None])
def test_an_ending_needs_no_removal(ending):
    """How a wear ended may be known before when."""
    made = wear("fern", MIDNIGHT, ending=ending)
    assert (made.removed, made.ending) == (None, ending)


@given(st.floats(-5, 5), st.integers(0, 60), st.integers(0, 5))
def test_a_question_is_refused_exactly_where_it_cannot_be_asked(margin, tolerance, looks):
    """A margin above zero, one of four tolerances, one to three looks."""
    fine = margin > 0 and tolerance in (15, 20, 30, 40) and looks in (1, 2, 3)
    if fine:
        assert Question("q", margin=margin, tolerance=tolerance, looks=looks).margin == margin
    else:
        with pytest.raises(BadRecord):
            Question("q", margin=margin, tolerance=tolerance, looks=looks)


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(1, 5)), max_size=4), st.integers(-5, 40))
def test_the_zone_is_that_of_the_trip_begun_last(trips, day):
    """By the diary's trips alone; at home where none is going on."""
    zones = ("Asia/Tokyo", "America/Lima", "Europe/Oslo", "Australia/Perth")
    events = [
        Event(
            f"t{place}",
            EventKind.TRIP,
            stamp(MIDNIGHT + start * DAY),
            MIDNIGHT,
            stamp(MIDNIGHT + (start + days) * DAY),
            zone,
        )
        for place, ((start, days), zone) in enumerate(zip(trips, zones, strict=False))
    ]
    made = trial([FERN], events=events)
    at = MIDNIGHT + day * DAY
    on = [event for event in events if event.start.instant <= at < event.end.instant]
    wanted = max(on, key=lambda event: event.start.instant).text if on else made.header.zone
    starts = [event.start.instant for event in on]
    if len(starts) == len(set(starts)):
        assert made.zones.at(at) == wanted
    assert isinstance(made.zones, Zones)


def test_a_repeat_is_within_five_minutes():
    """The one place that says so; the desk, the meter and the events all read it here."""
    assert REPEAT_WITHIN == 300

"""Noting things down."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.desk.frozen import LISBON, Frozen

from evenhand.clock import DAY
from evenhand.desk.making import TrialSaid, make_trial
from evenhand.desk.notes import NoteSaid, log_note
from evenhand.errors import BadRecord, BadTime, ContradictingRecords, UnknownName, WrongUse
from evenhand.records.diary import EventKind
from evenhand.store import file as store

ZONES = ("Asia/Tokyo", "America/Lima", "Africa/Nairobi")


@pytest.fixture
def path(tmp_path):
    """A new trial of Fern in Lisbon."""
    make_trial(tmp_path / "x.trial", TrialSaid(("Fern",)), Frozen())
    return tmp_path / "x.trial"


def trip(zone, start, end=None):
    return NoteSaid(EventKind.TRIP, zone, start=start, end=end)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.sampled_from((*ZONES, LISBON)), min_size=1, max_size=5))
def test_at_every_moment_one_zone_holds(tmp_path_factory, zones):
    """Travelling on from day to day, home included: each day has the zone of the last trip begun."""
    path = tmp_path_factory.mktemp("notes") / "x.trial"
    now = Frozen("2026-02-01 08:00")
    make_trial(path, TrialSaid(("Fern",)), now)
    begun = []
    for zone in zones:
        now.tick(DAY)
        away = begun and begun[-1][1] != LISBON
        if zone == LISBON and not away:
            with pytest.raises(WrongUse):
                log_note(path, trip(zone, None), now)
            continue
        log_note(path, trip(zone, None), now)
        begun.append((now.now, zone))
    found = store.read(path).zones
    for at, zone in begun:
        assert found.at(at) == zone
        assert found.at(at + DAY - 1) == zone
    assert found.at(now.now - 10 * DAY) == LISBON


def test_a_note_is_a_change_with_its_kind(path):
    """History says what was noted, and undo takes it back."""
    logged = log_note(path, NoteSaid(EventKind.SKIN, "red", of="FERN"), Frozen())
    assert store.history(path)[-1].what == "noted skin from 2026-03-01T08:00:00+00:00"
    assert store.read(path).events == (logged.event,)
    store.undo(path, None, 0)
    assert store.read(path).events == ()


def test_ending_a_trip_is_one_change_with_the_next(path):
    """Undoing the second trip opens the first again."""
    log_note(path, trip("Asia/Tokyo", "2026-02-10 12:00"), Frozen())
    log_note(path, trip("America/Lima", "2026-02-12 12:00"), Frozen())
    store.undo(path, None, 0)
    (first,) = store.read(path).events
    assert (first.text, first.end) == ("Asia/Tokyo", None)


@pytest.mark.parametrize(
    ("said", "error"),
    [
        (NoteSaid(EventKind.TRIP), BadRecord),
        (trip("Tokyo", None), BadTime),
        (trip(LISBON, None), WrongUse),
        (NoteSaid(EventKind.MEAL, of="Moss"), UnknownName),
        (NoteSaid(EventKind.MEAL, start="noonish"), BadTime),
        (NoteSaid(EventKind.ILL, start="today 07:00", end="yesterday 07:00"), BadRecord),
    ],
)
def test_what_is_wrong_writes_nothing(path, said, error):
    """Each with its own class of failure."""
    with pytest.raises(error):
        log_note(path, said, Frozen())
    assert store.read(path).change == 1


def test_nobody_is_in_two_zones(path):
    """A trip within a finished one is refused; one after it is not."""
    log_note(path, trip("Asia/Tokyo", "2026-02-10 12:00", "2026-02-14 12:00"), Frozen())
    with pytest.raises(ContradictingRecords, match="to Asia/Tokyo"):
        log_note(path, trip("America/Lima", "2026-02-12 12:00", "2026-02-13 12:00"), Frozen())
    log_note(path, trip("America/Lima", "2026-02-15 12:00"), Frozen())
    assert [event.text for event in store.read(path).events] == ["Asia/Tokyo", "America/Lima"]

"""Dates and hours where the wearer was, against single stamps."""

import time
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.clock import Trip, Zones
from evenhand.compare.local import between, local

SPRING = int(datetime(2026, 3, 29, tzinfo=UTC).timestamp())
AUTUMN = int(datetime(2026, 10, 25, tzinfo=UTC).timestamp())


def one_by_one(zones, instants):
    """Days and minutes by a stamp for every instant."""
    walls = [zones.stamp(int(instant)).wall for instant in instants]
    return [wall.toordinal() for wall in walls], [wall.hour * 60 + wall.minute for wall in walls]


@pytest.mark.parametrize("start", [SPRING, AUTUMN])
@pytest.mark.parametrize(
    "zone", ["Europe/Berlin", "America/New_York", "Asia/Kathmandu", "Australia/Lord_Howe"]
)
def test_clock_change_to_the_second(zone, start):
    """Around both clock changes every second of interest has the date and minute of its stamp."""
    instants = np.concatenate([np.arange(start - 86400, start + 86400, 601), start + 3600 + np.arange(-3, 4)])
    found = local(Zones(zone), instants)
    assert (found.day.tolist(), found.minute.tolist()) == one_by_one(Zones(zone), instants)


def test_spring_day_has_23_hours_and_autumn_25():
    """The day of the change is shorter or longer, and no minute gets lost or doubled."""
    zones = Zones("Europe/Berlin")
    for start, hours in ((SPRING, 23), (AUTUMN, 25)):
        instants = np.arange(start - 86400, start + 2 * 86400, 60)
        found = local(zones, instants)
        of_day = found.day == datetime.fromtimestamp(start, UTC).toordinal()
        assert of_day.sum() == hours * 60


def test_trips():
    """A trip's zone holds from its start to its end, over the date line too, and the date can come twice."""
    zones = Zones("Asia/Tokyo", (Trip(SPRING + 5 * 3600, SPRING + 40 * 3600, "Pacific/Honolulu"),))
    instants = np.arange(SPRING - 40 * 3600, SPRING + 90 * 3600, 1800)
    found = local(zones, instants)
    assert (found.day.tolist(), found.minute.tolist()) == one_by_one(zones, instants)
    assert (np.diff(found.day) < 0).any()


def test_open_trip_during_a_clock_change():
    """A trip that lasts, in a zone that changes its clock."""
    zones = Zones("Asia/Tokyo", (Trip(SPRING - 7200, None, "Europe/Lisbon"),))
    instants = np.arange(SPRING - 20000, SPRING + 20000, 300)
    assert (local(zones, instants).minute.tolist()) == one_by_one(zones, instants)[1]


@given(
    st.sampled_from(["Europe/Lisbon", "America/St_Johns", "Africa/Casablanca", "Pacific/Apia"]),
    st.lists(st.integers(1_500_000_000, 1_900_000_000), min_size=1, max_size=20),
)
def test_any_instants(zone, instants):
    """Any instants in any order agree with their stamps."""
    found = local(Zones(zone), np.array(instants))
    assert (found.day.tolist(), found.minute.tolist()) == one_by_one(Zones(zone), instants)


@pytest.mark.parametrize("machine", ["UTC", "America/Los_Angeles", "Asia/Kolkata"])
def test_machine_zone_does_not_leak(machine, monkeypatch):
    """The machine's own zone changes nothing."""
    monkeypatch.setenv("TZ", machine)
    time.tzset()
    found = local(Zones("Europe/Berlin"), np.array([SPRING + 3600 - 60, SPRING + 3600]))
    monkeypatch.undo()
    time.tzset()
    assert found.minute.tolist() == [119, 180]


def test_nothing():
    """No instants, no days."""
    assert local(Zones("Europe/Berlin"), np.empty(0, np.int64)).day.size == 0


@given(st.integers(0, 1439), st.integers(0, 1439), st.integers(0, 1439))
def test_between_and_its_complement(minute, start, end):
    """A minute lies in exactly one of [from, to) and [to, from), unless they are empty."""
    one, other = (bool(between(np.array([minute]), hours)[0]) for hours in ((start, end), (end, start)))
    assert one != other or start == end

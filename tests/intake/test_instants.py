"""Wall times to instants: against the standard library's zones, over clock changes and trips."""

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenhand.clock import Trip, Zones
from evenhand.errors import BadTime
from evenhand.intake.instants import LEFT_OUT, OK, offsets, place, where
from evenhand.intake.times import NO_OFFSET

BERLIN = where(None, Zones("Europe/Berlin"))


def wall(*texts: str) -> np.ndarray:
    """Wall times in seconds."""
    return np.array(
        [int((dt.datetime.fromisoformat(text) - dt.datetime(1970, 1, 1)).total_seconds()) for text in texts],
        np.int64,
    )


def placed(walls, there=BERLIN, group=None):
    """Everything stated as local and good."""
    n = walls.size
    flags = np.zeros(n, np.bool_)
    return place(
        walls,
        ~flags,
        np.full(n, NO_OFFSET, np.int32),
        flags,
        there,
        np.zeros(n, np.int32) if group is None else group,
    )


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.datetimes(dt.datetime(2019, 1, 1), dt.datetime(2031, 1, 1)), min_size=1, max_size=8),
    st.sampled_from(
        ["Europe/Berlin", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kathmandu", "Pacific/Apia"]
    ),
)
def test_against_the_standard_library(moments, zone):
    """Every wall time that exists once is the instant zoneinfo gives; one that does not exist is left out."""
    moments = [moment.replace(microsecond=0) for moment in moments]
    found = placed(wall(*(moment.isoformat() for moment in moments)), where(None, Zones(zone)))
    for at, moment in enumerate(moments):
        both = {int(moment.replace(tzinfo=ZoneInfo(zone), fold=fold).timestamp()) for fold in (0, 1)}
        real = {
            instant
            for instant in both
            if dt.datetime.fromtimestamp(instant, ZoneInfo(zone)).replace(tzinfo=None) == moment
        }
        if not real:
            assert found.state[at] == LEFT_OUT
            continue
        assert found.state[at] == OK
        assert int(found.instant[at]) in real
        assert int(found.instant[at]) + int(found.offset[at]) == int(
            (moment - dt.datetime(1970, 1, 1)).total_seconds()
        )


def test_the_repeated_hour_of_two_devices_in_one_file():
    """Each device's rows resolve along themselves, however they are mixed."""
    walls = wall(
        "2025-10-26T02:10",
        "2025-10-26T02:12",
        "2025-10-26T02:40",
        "2025-10-26T02:42",
        "2025-10-26T02:10",
        "2025-10-26T02:12",
    )
    found = placed(walls, group=np.array([0, 1, 0, 1, 0, 1], np.int32))
    assert (found.offset / 3600).tolist() == [2, 2, 2, 2, 1, 1]
    assert found.notes


def test_one_pass_that_runs_on_from_before():
    """Readings every five minutes up to the repeated hour belong to its first pass, and it is said."""
    before = [f"2025-10-26T01:{minute}" for minute in (45, 50, 55)]
    found = placed(wall(*before, "2025-10-26T02:00", "2025-10-26T02:05", "2025-10-26T04:00"))
    assert set((found.offset[:5] / 3600).tolist()) == {2}
    assert "order and spacing" in found.notes[0]


def test_one_pass_that_runs_on_to_after():
    """Readings that begin in the repeated hour after a gap and run on belong to the second pass."""
    after = [f"2025-10-26T03:{minute:02d}" for minute in (0, 5, 10, 15)]
    found = placed(wall("2025-10-25T20:00", "2025-10-26T02:50", "2025-10-26T02:55", *after))
    assert (found.offset / 3600).tolist() == [2, 1, 1, 1, 1, 1, 1]


def test_a_lonely_stick_in_the_repeated_hour_is_read_as_the_first_and_said():
    """Nothing shows which pass: the first, said."""
    found = placed(wall("2025-10-26T02:30"))
    assert found.offset.tolist() == [7200]
    assert "nothing shows" in found.notes[0]


def test_stated_offsets_and_instants_pass_through():
    """An offset in the text, or a count since 1970, needs no zone."""
    walls = wall("2026-03-29T02:30", "2026-03-29T02:30")
    found = place(
        walls,
        np.ones(2, bool),
        np.array([3600, NO_OFFSET], np.int32),
        np.array([False, True]),
        BERLIN,
        np.zeros(2, np.int32),
    )
    assert found.instant.tolist() == [int(walls[0]) - 3600, int(walls[1])]
    assert found.state.tolist() == [OK, OK]


def test_trips_change_the_zone_row_by_row():
    """Rows before, during and after a trip."""
    start = int(dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC).timestamp())
    zones = Zones("Europe/Berlin", (Trip(start, start + 3 * 86400, "Asia/Tokyo"),))
    found = placed(wall("2026-03-01T10:00", "2026-03-04T10:00", "2026-03-10T10:00"), where(None, zones))
    assert (found.offset / 3600).tolist() == [1, 9, 1]


@pytest.mark.parametrize(
    ("said", "seconds"), [("+01:00", 3600), ("UTC", 0), ("UTC-3", -10800), ("GMT+5:30", 19800)]
)
def test_a_fixed_offset_can_be_said(said, seconds):
    """`zone=` takes an offset, under which no hour is left out."""
    found = placed(wall("2026-03-29T02:30"), where(said, Zones("Europe/Berlin")))
    assert found.offset.tolist() == [seconds]
    assert found.state.tolist() == [OK]


@pytest.mark.parametrize("said", ["+19:00", "Mars/Base", ""])
def test_what_is_no_zone_is_refused(said):
    """Neither a zone nor an offset."""
    with pytest.raises(BadTime):
        where(said, Zones("Europe/Berlin"))


def test_offsets_of_many_instants_are_those_of_each(monkeypatch):
    """The fast way for long files gives what the slow one gives, over two clock changes and a trip."""
    from evenhand.clock import offset_at

    start = int(dt.datetime(2025, 1, 1, tzinfo=dt.UTC).timestamp())
    zones = Zones("Europe/Berlin", (Trip(start + 1_000_020, start + 2_000_040, "America/Bogota"),))
    instants = np.arange(start, start + 366 * 86400, 900, dtype=np.int64)
    assert np.unique(instants // 900).size > 20_000
    found = offsets(instants, zones)
    for at in range(0, instants.size, 7):
        moment = int(instants[at])
        assert found[at] == offset_at(moment, zones.at(moment))

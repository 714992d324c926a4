"""Times: zones with whole and broken hours, both clock changes, trips, times as typed; and never the machine's zone.

Every test here runs under three settings of the machine's zone. Offsets and dates of clock changes are those of the
IANA zone database.
"""

import os
import time
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.clock import (
    DAY,
    HOUR,
    MINUTE,
    Stamp,
    Trip,
    Zones,
    iso_of,
    offset_at,
    possible_instants,
    understand_time,
    wall_of,
    zone_info,
)
from evenhand.errors import BadTime

MACHINES = ["UTC", "America/St_Johns", "Pacific/Auckland"]
ZONES = [
    "UTC",
    "Europe/Lisbon",
    "Europe/Berlin",
    "America/New_York",
    "America/St_Johns",
    "Asia/Kolkata",
    "Asia/Kathmandu",
    "Australia/Lord_Howe",
    "Pacific/Apia",
    "Pacific/Chatham",
]


@pytest.fixture(params=MACHINES, autouse=True)
def machine(request):
    """The machine's own zone, set for one test and put back."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = request.param
    time.tzset()
    yield request.param
    if before is None:
        del os.environ["TZ"]
    else:
        os.environ["TZ"] = before
    time.tzset()


def instant(text, zone="UTC", fold=0):
    """The instant of a wall time in a zone, by zoneinfo."""
    return int(datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone), fold=fold).timestamp())


def test_the_machine_is_really_set(machine):
    """The fixture works: this process lives in that zone now."""
    assert datetime(2026, 1, 1).astimezone().utcoffset() == ZoneInfo(machine).utcoffset(datetime(2026, 1, 1))


# The hypothesis tests take the machine's zone from the fixture once per test, which is what is wanted.
instants = st.integers(946_684_800, 2_000_000_000)


class TestLaws:
    """What holds for every instant in every zone."""

    def test_stamps_come_back(self):
        """Instant to wall and back: among the possible instants of that wall; the ISO text is the instant."""

        @given(instants, st.sampled_from(ZONES))
        def law(at, zone):
            stamp = Stamp.at(at, zone)
            assert at in possible_instants(stamp.wall, zone)
            assert datetime.fromisoformat(stamp.iso).timestamp() == at
            assert stamp.wall == datetime.fromtimestamp(at, ZoneInfo(zone)).replace(tzinfo=None)
            assert stamp.text == stamp.iso
            assert stamp.day == stamp.wall.date()

        law()

    def test_a_typed_iso_time_comes_back(self):
        """What `iso` writes, `understand_time` reads: the same instant and offset, in any trial."""

        @given(instants, st.sampled_from(ZONES), st.sampled_from(ZONES))
        def law(at, zone, home):
            stamp = Stamp.at(at, zone)
            found = understand_time(stamp.iso, 1_900_000_000, Zones(home)).stamp
            assert (found.instant, found.offset, found.zone) == (at, stamp.offset, home)

        law()

    def test_possible_instants_against_every_minute(self):
        """Walking two days of every zone minute by minute finds the same instants for each wall time."""
        for zone, day in (
            ("Europe/Berlin", "2026-10-25"),
            ("Australia/Lord_Howe", "2026-04-05"),
            ("Asia/Kathmandu", "2026-03-01"),
        ):
            start = instant(day) - DAY
            walked = {}
            for at in range(start, start + 3 * DAY, MINUTE):
                walked.setdefault(Stamp.at(at, zone).wall, []).append(at)
            middle = datetime.fromisoformat(day)
            for minute in range(0, 1440, 10):
                wall = middle + timedelta(minutes=minute)
                assert list(possible_instants(wall, zone)) == walked.get(wall, [])

    def test_a_bare_time_is_the_last_one(self):
        """A clock time typed alone is never later than now, was on the wall then, and came not since."""

        @given(instants, st.sampled_from(ZONES), st.integers(0, 23), st.integers(0, 59))
        def law(now, zone, hour, minute):
            typed, here = f"{hour:02d}:{minute:02d}", Stamp.at(now, zone).wall
            today = here.replace(hour=hour, minute=minute, second=0)
            meant = today if today <= here else today - timedelta(days=1)
            if not possible_instants(meant, zone) and not any(
                t <= now for t in possible_instants(today, zone)
            ):
                with pytest.raises(BadTime, match="put forward"):
                    understand_time(typed, now, Zones(zone))
                return
            found = understand_time(typed, now, Zones(zone)).stamp
            assert found.instant <= now
            assert (found.wall.hour, found.wall.minute) == (hour, minute)
            for days in (0, 1, 2):
                for at in possible_instants(found.wall + timedelta(days=days), zone):
                    assert at <= found.instant or at > now

        law()


@pytest.mark.parametrize(
    ("zone", "text", "offset"),
    [
        ("Asia/Kolkata", "2026-03-01T00:00:00+05:30", 19_800),
        ("Asia/Kathmandu", "2026-03-01T00:00:00+05:45", 20_700),
        ("America/St_Johns", "2026-03-01T00:00:00-03:30", -12_600),
        ("Pacific/Chatham", "2026-03-01T00:00:00+13:45", 49_500),
        ("UTC", "2026-03-01T00:00:00+00:00", 0),
    ],
)
def test_broken_hours(zone, text, offset):
    """Zones off by half and quarter hours, east and west."""
    at = instant("2026-03-01T00:00", zone)
    assert offset_at(at, zone) == offset
    assert Stamp.at(at, zone).iso == text
    assert iso_of(at, offset) == text
    assert wall_of(at, offset) == datetime(2026, 3, 1)


@pytest.mark.parametrize(
    ("zone", "gone", "twice", "step"),
    [
        ("Europe/Lisbon", "2026-03-29T01:30", "2026-10-25T01:30", HOUR),
        ("Europe/Berlin", "2026-03-29T02:30", "2026-10-25T02:30", HOUR),
        ("America/New_York", "2026-03-08T02:30", "2026-11-01T01:30", HOUR),
        ("Australia/Lord_Howe", "2026-10-04T02:15", "2026-04-05T01:45", HOUR // 2),
    ],
)
def test_both_clock_changes(zone, gone, twice, step):
    """The hour that is left out has no instant, the one that comes twice has two, an hour (or half) apart."""
    assert possible_instants(datetime.fromisoformat(gone), zone) == ()
    first, second = possible_instants(datetime.fromisoformat(twice), zone)
    assert second - first == step
    zones = Zones(zone)
    now = second + DAY
    with pytest.raises(BadTime, match="put forward"):
        understand_time(gone, instant("2027-01-01T00:00"), zones)
    found = understand_time(twice, now, zones)
    assert found.stamp.instant == first
    assert Stamp.at(second, zone).iso in found.said
    assert understand_time(Stamp.at(second, zone).iso, now, zones).stamp.instant == second


def test_a_day_that_never_was():
    """Apia went from 29 to 31 December 2011: no clock there showed the 30th."""
    assert possible_instants(datetime(2011, 12, 30, 12), "Pacific/Apia") == ()
    assert len(possible_instants(datetime(2011, 12, 31, 12), "Pacific/Apia")) == 1


class TestRepeatedHour:
    """A bare time typed in, or after, the hour that comes twice."""

    zones = Zones("Europe/Berlin")

    def said(self, text, now):
        """Understood at that instant: ISO time, and what is said back."""
        found = understand_time(text, now, self.zones)
        return found.stamp.iso, found.said

    def test_before_the_clock_is_put_back(self):
        """At 02:30 for the first time, 02:10 is twenty minutes ago, and there is nothing to say."""
        now = instant("2026-10-25T02:30", "Europe/Berlin", fold=0)
        assert self.said("02:10", now) == ("2026-10-25T02:10:00+02:00", "")
        assert self.said("2026-10-25 02:10", now) == ("2026-10-25T02:10:00+02:00", "")

    def test_after_the_clock_is_put_back(self):
        """At 02:30 for the second time, 02:10 is the second, said; 02:45 is that of three quarters of an hour ago."""
        now = instant("2026-10-25T02:30", "Europe/Berlin", fold=1)
        iso, said = self.said("02:10", now)
        assert iso == "2026-10-25T02:10:00+01:00"
        assert "understood as the second" in said
        assert "2026-10-25T02:10:00+02:00" in said
        assert self.said("02:45", now) == ("2026-10-25T02:45:00+02:00", "")

    def test_the_hour_left_out(self):
        """On the morning the clock was put forward, 02:30 did not happen; nor can it be yesterday's; later it is that day's."""
        with pytest.raises(BadTime, match="put forward"):
            self.said("02:30", instant("2026-03-29T10:00", "Europe/Berlin"))
        assert (
            self.said("02:30", instant("2026-03-30T10:00", "Europe/Berlin"))[0] == "2026-03-30T02:30:00+02:00"
        )


class TestTrips:
    """Where the wearer was decides what a time means."""

    left = instant("2026-03-10T12:00", "Europe/Lisbon")
    back = instant("2026-03-20T12:00", "Europe/Lisbon")
    zones = Zones("Europe/Lisbon", (Trip(left, back, "Asia/Tokyo"),))

    def test_zone_by_instant(self):
        """The trip holds from its start up to, not including, its end."""
        assert self.zones.at(self.left - 1) == "Europe/Lisbon"
        assert self.zones.at(self.left) == self.zones.at(self.back - 1) == "Asia/Tokyo"
        assert self.zones.at(self.back) == "Europe/Lisbon"
        assert self.zones.names() == ("Europe/Lisbon", "Asia/Tokyo")

    def test_typed_during_the_trip(self):
        """07:42 typed in Tokyo is Tokyo's, and so is a dated time in the trip."""
        now = instant("2026-03-15T09:00", "Asia/Tokyo")
        for text in ("07:42", "2026-03-15 07:42"):
            stamp = understand_time(text, now, self.zones).stamp
            assert stamp.iso == "2026-03-15T07:42:00+09:00"
            assert (stamp.zone, stamp.text) == ("Asia/Tokyo", text)

    def test_typed_after_it(self):
        """Back home a date in the trip is still the trip's, one after it home's."""
        now = instant("2026-03-25T09:00", "Europe/Lisbon")
        assert understand_time("2026-03-15 07:42", now, self.zones).stamp.offset == 9 * HOUR
        assert understand_time("2026-03-24 07:42", now, self.zones).stamp.offset == 0

    def test_hours_lost_and_won(self):
        """Going east 12:00 to 21:00 never was; coming back, nine hours were twice."""
        assert self.zones.possible(datetime(2026, 3, 10, 15)) == ()
        assert len(self.zones.possible(datetime(2026, 3, 20, 15))) == 2
        found = understand_time("2026-03-20 15:00", self.back + DAY, self.zones)
        assert found.stamp.zone == "Asia/Tokyo"
        assert "2026-03-20T15:00:00+00:00" in found.said

    def test_a_bare_time_just_after_landing_west(self):
        """An hour after the clock was put back nine, a time of two hours ago on the old clock is that moment."""
        now = self.back + HOUR
        stamp = understand_time("20:00", now, self.zones).stamp
        assert stamp.iso == "2026-03-20T20:00:00+09:00"
        assert now - stamp.instant == 2 * HOUR

    def test_a_trip_across_the_date_line(self):
        """From Tokyo to Honolulu the date goes back a day; half past seven was on the old clock, a little while ago."""
        went = instant("2026-03-03T08:00", "Asia/Tokyo")
        zones = Zones("Asia/Tokyo", (Trip(went, None, "Pacific/Honolulu"),))
        stamp = understand_time("07:30", went + HOUR, zones).stamp
        assert stamp.iso == "2026-03-03T07:30:00+09:00"

    def test_the_trip_begun_last_holds(self):
        """An open trip gives way to the next one, and takes over again when that ends."""
        zones = Zones("UTC", (Trip(100, None, "Asia/Tokyo"), Trip(200, 300, "Asia/Kolkata")))
        assert [zones.at(t) for t in (50, 150, 250, 300)] == [
            "UTC",
            "Asia/Tokyo",
            "Asia/Kolkata",
            "Asia/Tokyo",
        ]

    def test_stamps_of_the_trip(self):
        """A stamp made by instant carries the zone it fell in."""
        assert self.zones.stamp(self.left, "noon").text == "noon"
        assert self.zones.stamp(self.left).iso == "2026-03-10T21:00:00+09:00"


NOW = instant("2026-03-03T10:00", "Europe/Berlin")
"""A Tuesday, 10:00."""


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("now", "2026-03-03T10:00:00+01:00"),
        ("07:42", "2026-03-03T07:42:00+01:00"),
        ("10:00", "2026-03-03T10:00:00+01:00"),
        ("10:01", "2026-03-02T10:01:00+01:00"),
        ("7.42", "2026-03-03T07:42:00+01:00"),
        ("7h42", "2026-03-03T07:42:00+01:00"),
        ("7:42 pm", "2026-03-02T19:42:00+01:00"),
        ("12am", "2026-03-03T00:00:00+01:00"),
        ("12:30 p.m.", "2026-03-02T12:30:00+01:00"),
        ("07:42:13", "2026-03-03T07:42:13+01:00"),
        ("today 07:42", "2026-03-03T07:42:00+01:00"),
        ("Yesterday  22:10", "2026-03-02T22:10:00+01:00"),
        ("Tue 07:42", "2026-03-03T07:42:00+01:00"),
        ("Tue 23:00", "2026-02-24T23:00:00+01:00"),
        ("Mon 8:00", "2026-03-02T08:00:00+01:00"),
        ("wednesday 08:00", "2026-02-25T08:00:00+01:00"),
        ("Sat, 08:00", "2026-02-28T08:00:00+01:00"),
        ("1.3. 07:42", "2026-03-01T07:42:00+01:00"),
        ("1.3.2025 07:42", "2025-03-01T07:42:00+01:00"),
        ("1 Mar 07:42", "2026-03-01T07:42:00+01:00"),
        ("31 December 08:00", "2025-12-31T08:00:00+01:00"),
        ("1 March 2026 7:00 am", "2026-03-01T07:00:00+01:00"),
        ("2026-03-01 02:10", "2026-03-01T02:10:00+01:00"),
        ("2026-03-01T02:10", "2026-03-01T02:10:00+01:00"),
        ("2026-3-1 2:10", "2026-03-01T02:10:00+01:00"),
        ("2026-03-01T02:10Z", "2026-03-01T02:10:00+00:00"),
        ("2026-03-01T02:10:15-03:30", "2026-03-01T02:10:15-03:30"),
        ("2026-03-01 02:10 +0530", "2026-03-01T02:10:00+05:30"),
    ],
)
def test_times_as_people_write_them(text, iso):
    """Understood on a Tuesday at 10:00, the text kept as it was typed."""
    found = understand_time(text, NOW, Zones("Europe/Berlin"))
    assert (found.stamp.iso, found.stamp.text, found.said) == (iso, text, "")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "not a time Evenhand understands"),
        ("7", "not a time Evenhand understands"),
        ("0742", "not a time Evenhand understands"),
        ("today", "not a time Evenhand understands"),
        ("tomorrow 08:00", "not a time Evenhand understands"),
        ("٠٧:٤٢", "not a time Evenhand understands"),
        ("24:00", "not a time of day"),
        ("7:60", "not a time of day"),
        ("13pm", "not a time of day"),
        ("0am", "not a time of day"),
        ("31.2. 08:00", "not a date"),
        ("29 Feb 08:00", "not a date"),
        ("2026-13-01 08:00", "not a date"),
        ("3/4 07:42", "can be read two ways. Write the date as 2026-03-04 or 4 March"),
        ("3/4/25 07:42", "can be read two ways. Write the date as 2025-03-04"),
        ("3/14 07:42", "date with slashes. Write the date as 2026-03-14 or 14 March"),
        ("14/3/2025 07:42", "date with slashes. Write the date as 2025-03-14"),
        ("13/14 07:42", "not a date"),
        ("0/3 07:42", "not a date"),
        ("2026-03-01 02:10+99:99", "an offset that no zone has"),
        ("0001-01-01 00:00", "in the year 1"),
        ("9999-12-31 23:59", "in the year 9999"),
        ("07:42Z", "not a time Evenhand understands"),
    ],
)
def test_times_that_cannot_be_understood(text, why):
    """Refused, saying what is wrong and what to write instead."""
    with pytest.raises(BadTime) as refused:
        understand_time(text, NOW, Zones("Europe/Berlin"))
    assert why in str(refused.value)
    assert refused.value.cure


def test_the_last_of_february():
    """On 10 January 2028 there was no 29 February within a year: refused, not a crash; in March there was."""
    zones = Zones("Europe/Berlin")
    with pytest.raises(BadTime, match="not a date"):
        understand_time("29 Feb 07:42", instant("2028-01-10T10:00"), zones)
    assert understand_time("29 Feb 07:42", instant("2028-03-01T10:00"), zones).stamp.day.month == 2


@pytest.mark.parametrize(
    "name", ["", "Europe", "Mars/Base", "../etc/passwd", "localtime", "posixrules", "Factory", "right/UTC"]
)
def test_names_that_are_no_zones(name):
    """No such zone, or one that means whatever this computer is set to: refused with an example."""
    with pytest.raises(BadTime, match="is not a time zone"):
        zone_info(name)


def test_epoch():
    """Instants count from 1970-01-01T00:00Z, before it too."""
    assert wall_of(0, 0) == datetime(1970, 1, 1)
    assert iso_of(-1, 0) == "1969-12-31T23:59:59+00:00"
    assert datetime.fromtimestamp(0, UTC).isoformat() == iso_of(0, 0)

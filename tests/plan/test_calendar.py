"""The calendar file, read back by a small reader of its own that knows nothing of the library that wrote it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from dateutil.tz import tzical
from hypothesis import given, settings
from tests.plan.making import at, open_hours, sensor, trial, trials, wall

from evenhand.clock import DAY, HOUR, Stamp
from evenhand.plan.calendar import CHANGE, END, TITLE, TWICE, calendar
from evenhand.plan.draw import draw
from evenhand.records.diary import Event, EventKind
from evenhand.records.sensors import Ending, Wear


def unfolded(data: bytes) -> list[str]:
    """Content lines (RFC 5545, 3.1): CRLF ends a line, a leading space goes on with the one before."""
    text = data.decode("utf-8")
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert all(len(line.encode("utf-8")) <= 75 for line in text.split("\r\n"))
    return text.replace("\r\n ", "").replace("\r\n\t", "").split("\r\n")[:-1]


def components(data: bytes) -> list[dict]:
    """Every VEVENT: its properties with their parameters, and its alarms. Slow and strict."""
    found: list[dict] = []
    stack: list[str] = []
    for line in unfolded(data):
        name, _, value = line.partition(":")
        key, *parameters = name.split(";")
        if key == "BEGIN":
            stack.append(value)
            if value == "VEVENT":
                found.append({"alarms": []})
            elif value == "VALARM":
                found[-1]["alarms"].append({})
        elif key == "END":
            assert stack.pop() == value
        elif stack[-1] == "VEVENT":
            assert key not in found[-1], f"{key} twice"
            found[-1][key] = (value, dict(one.split("=", 1) for one in parameters))
        elif stack[-1] == "VALARM":
            found[-1]["alarms"][-1][key] = value
    assert not stack
    return found


def begins(event: dict) -> int:
    """The instant of an event, by the standard library's zones."""
    value, parameters = event["DTSTART"]
    if value.endswith("Z"):
        return int(datetime.strptime(value, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC).timestamp())
    local = datetime.strptime(value, "%Y%m%dT%H%M%S")
    return int(local.replace(tzinfo=ZoneInfo(parameters["TZID"])).timestamp())


def rings(event: dict) -> list[int]:
    """The instants its alarms ring: triggers before or at the start, as hours and minutes alone."""
    found = []
    for alarm in event["alarms"]:
        trigger = alarm["TRIGGER"]
        assert alarm["ACTION"] == "DISPLAY"
        hours = {"P0D": 0, "PT0S": 0, "-PT1H": 1}[trigger]
        found.append(begins(event) - hours * HOUR)
    return found


def test_every_stick_and_change_is_in_it_once():
    """At its drawn minute, ten minutes long, with neutral words; ids are unique."""
    made = trial(days=28)
    drawn = draw(made, 0)
    events = components(calendar(made, drawn))
    sticks = [one for one in events if one["SUMMARY"][0] in (TITLE, TWICE)]
    assert sorted(map(begins, sticks)) == list(drawn.minutes)
    assert {begins(one) for one in sticks if one["SUMMARY"][0] == TWICE} == set(drawn.repeats)
    changes = [one for one in events if one["SUMMARY"][0] == CHANGE]
    assert sorted(map(begins, changes)) == sorted(wear.inserted.instant for wear in drawn.wears)
    assert [begins(one) for one in events if one["SUMMARY"][0] == END] == [drawn.end.instant]
    assert len({one["UID"][0] for one in events}) == len(events)
    assert {one["DURATION"][0] for one in events} == {"PT10M"}


@settings(max_examples=25, deadline=None)
@given(trials())
def test_no_alarm_rings_at_night_or_in_quiet_hours(made):
    """In every zone, over both clock changes, for sticks and changes alike."""
    drawn = draw(made, 0)
    for event in components(calendar(made, drawn)):
        for ring in rings(event):
            assert open_hours(made, ring)


@settings(max_examples=15, deadline=None)
@given(trials())
def test_the_zone_written_in_it_gives_the_same_instants(made):
    """A general library (dateutil) reads the VTIMEZONE that the file carries; with it every start is the instant planned,
    so that a calendar that knows no zone names shows the right time too."""
    from io import StringIO

    drawn = draw(made, 0)
    data = calendar(made, drawn)
    if made.header.zone == "UTC" or not drawn.minutes:
        return
    text = "\r\n".join(unfolded(data)).replace("\r\n", "\n")
    zones = tzical(StringIO(text))
    for event in components(data)[:60]:
        value, parameters = event["DTSTART"]
        local = datetime.strptime(value, "%Y%m%dT%H%M%S").replace(tzinfo=zones.get(parameters["TZID"]))
        assert int(local.timestamp()) == begins(event)


def test_nobody_who_looks_over_a_shoulder_learns_anything():
    """Titles and texts name no sensor, no sugar, no sticks; events are private and leave the wearer free."""
    made = trial(days=20)
    text = "\n".join(unfolded(calendar(made, draw(made, 0)))).lower()
    for word in (
        "fern",
        "slate",
        "glucose",
        "sugar",
        "stick",
        "sensor",
        "finger",
        "diabet",
        "insulin",
        "spring",
        "meter",
    ):
        assert word not in text
    events = components(calendar(made, draw(made, 0)))
    assert {one["CLASS"][0] for one in events} == {"PRIVATE"}
    assert {one["TRANSP"][0] for one in events} == {"TRANSPARENT"}


def test_the_same_plan_gives_the_same_bytes():
    """Whenever it is exported."""
    made = trial()
    drawn = draw(made, 0)
    assert calendar(made, drawn) == calendar(made, drawn)


def torn():
    """A plan, and the trial a week later with a sensor torn off and a new drawing that is shorter."""
    made = trial(days=24)
    before = draw(made, 0)
    when = before.wears[0].started.instant + 7 * DAY
    wears = [
        Wear(f"w-{number}", wear.sensor, wear.inserted, wear.started, side=wear.side)
        for number, wear in enumerate(before.wears)
        if wear.started.instant < when
    ]
    wears[0] = replace(wears[0], removed=Stamp.at(when, "Europe/Berlin"), ending=Ending.ACCIDENT)
    later = replace(made, wears=tuple(wears), plan=replace(made.plan, drawn=before))
    return made, before, later, draw(later, when + HOUR)


def test_a_new_export_replaces_the_old():
    """Read into one calendar by id, the later of two exports wins whole: nothing of the old plan is left but what the new
    one says, and its SEQUENCE is higher."""
    made, before, later, after = torn()
    old, new = components(calendar(made, before)), components(calendar(later, after))
    assert {one["UID"][0] for one in old} <= {one["UID"][0] for one in new}
    assert min(int(one["SEQUENCE"][0]) for one in new) > max(int(one["SEQUENCE"][0]) for one in old)
    merged = {one["UID"][0]: one for one in (*old, *new)}
    kept = [one for one in merged.values() if one["STATUS"][0] == "CONFIRMED"]
    sticks = [begins(one) for one in kept if one["SUMMARY"][0] in (TITLE, TWICE)]
    assert sorted(sticks) == list(after.minutes)
    gone = [one for one in merged.values() if one["STATUS"][0] == "CANCELLED"]
    assert all(not one["alarms"] for one in gone)


def test_fewer_sticks_than_before_take_the_rest_back():
    """A plan of six a day after one of seven: the ids left over are cancelled."""
    made = trial(days=20)
    before = draw(made, 0)
    fewer = trial(days=20, sticks=5)
    after = draw(replace(fewer, plan=replace(fewer.plan, drawn=before)), 0)
    events = components(calendar(fewer, after))
    cancelled = [one for one in events if one["STATUS"][0] == "CANCELLED"]
    assert len(cancelled) == len(before.minutes) - len(after.minutes)


def test_no_reminder_on_a_day_noted_ill():
    """Sticks of the sick day are taken back; the day after goes on."""
    made = trial(days=20)
    drawn = draw(made, 0)
    begin = at("2026-03-06T08:00")
    ill = Event("e", EventKind.ILL, Stamp.at(begin, "Europe/Berlin"), begin)
    events = components(calendar(replace(made, events=(ill,)), drawn))
    for one in events:
        if one["SUMMARY"][0] in (TITLE, TWICE):
            day = wall(begins(one), "Europe/Berlin").date().isoformat()
            assert (one["STATUS"][0] == "CANCELLED") == (day == "2026-03-06")


def test_two_trials_in_one_calendar_do_not_meet():
    """Another trial's ids are all different."""
    one, other = trial(), trial()
    other = replace(other, header=replace(other.header, id="t-2"))
    ids = [{event["UID"][0] for event in components(calendar(made, draw(made, 0)))} for made in (one, other)]
    assert not ids[0] & ids[1]


def test_the_head_is_what_the_standard_asks():
    """VERSION and PRODID once (RFC 5545, 3.7), METHOD for publishing (RFC 5546, 3.2.1: PUBLISH); every event has UID,
    DTSTAMP in UTC and SEQUENCE."""
    made = trial(sensor(0), days=10)
    lines = unfolded(calendar(made, draw(made, 0)))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1
    assert lines.count("METHOD:PUBLISH") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    for one in components(calendar(made, draw(made, 0))):
        assert one["DTSTAMP"][0].endswith("Z")
        assert one["SEQUENCE"][0].isdigit()


def test_no_event_recurs():
    """Every moment is drawn by itself: a rule would put sticks where none were drawn."""
    made = trial()
    assert not any(one.keys() & {"RRULE", "RDATE"} for one in components(calendar(made, draw(made, 0))))

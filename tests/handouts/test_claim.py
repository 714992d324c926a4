"""The claim sheet: what was recorded of one wear, and nothing beyond it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from tests.support.fake_trial import make_trial

from evenhand.clock import HOUR, Stamp
from evenhand.handouts.claim import claim_page
from evenhand.records.diary import Event, EventKind, Mark, MarkKind, Reason, Stick
from evenhand.records.sensors import Ending
from evenhand.units import Glucose, Unit


@pytest.fixture(scope="module")
def trial():
    return make_trial()


def failed(trial, **more):
    """A wear of the second sensor that failed, with its lot and serial."""
    wear = trial.wears_of(trial.sensors[1].id)[0]
    return replace(wear, ending=Ending.FAILED, lot="K7", serial="SN-4471", expires=date(2027, 1, 31), **more)


def words(trial, wear):
    """What the page says, without its style."""
    html = claim_page(trial, wear, "22 March 2026")
    body = html[html.index("<body") :]
    return " ".join(re.sub(r"<[^>]*>", " ", body).split())


def test_it_says_what_was_recorded(trial):
    """Lot, serial, expiry, insertion, removal, how long it ran of its rated life, how many readings."""
    text = words(trial, failed(trial))
    for told in (
        "failed",
        "lot K7",
        "serial number SN-4471",
        "expiry date 2027-01-31",
        "rated",
        "readings",
        "made on 22 March 2026",
    ):
        assert told in text, told
    assert "Slate: failed" in text


def test_what_was_not_noted_is_said_to_be(trial):
    """Nothing is made up."""
    bare = replace(failed(trial), lot=None, serial=None, expires=None, site=None, side=None)
    assert words(trial, bare).count("not noted") == 4


def test_the_last_readings_stand_beside_the_last_sticks(trial):
    """Eight sticks and twelve readings at most, in time order, in the unit recorded."""
    html = claim_page(trial, failed(trial), "22 March 2026")
    beside, last = re.findall(r"<tbody>(.*?)</tbody>", html, re.S)
    assert beside.count("<tr>") == 8
    assert last.count("<tr>") == 12
    times = re.findall(r'scope="row">([^<]*)<', last)
    assert times == sorted(times, key=lambda text: (int(text.split()[0]), text.split(", ")[1]))


def test_a_stick_without_a_reading_near_it_says_so(trial):
    """More than five minutes away is no reading at that moment; control solution is no blood and is left out."""
    wear = failed(trial)
    own = trial.readings[wear.sensor]
    last = int(own.instant[own.instant <= wear.removed.instant][-1])
    at = Stamp.at(last + HOUR, trial.header.zone)
    late = Stick("late", at, Glucose(99, Unit.MG_DL, "99"), Reason.PLAN, last)
    control = replace(
        late, id="control", glucose=Glucose(123, Unit.MG_DL, "123"), marks=(Mark(MarkKind.CONTROL),)
    )
    text = words(
        replace(trial, sticks=(*trial.sticks, late, control)),
        replace(wear, removed=Stamp.at(last + 2 * HOUR, trial.header.zone)),
    )
    assert re.search(r"99 mg/dL (no reading|\d)", text)
    assert "123 mg/dL" not in text


def test_what_the_diary_says_of_the_sensor_is_there(trial):
    """Alarms, pressure, skin of this sensor in its time; nothing of the other one."""
    wear = failed(trial)
    inside = Stamp.at(wear.start.instant + HOUR, trial.header.zone)
    notes = (
        Event("a", EventKind.ALARM, inside, 0, text="low, wrong", sensor=wear.sensor),
        Event("b", EventKind.SKIN, inside, 0, text="itches", sensor=trial.sensors[0].id),
    )
    text = words(replace(trial, events=notes), wear)
    assert "alarm, low, wrong" in text
    assert "itches" not in text


def test_a_sensor_that_never_read_has_a_sheet_too(trial):
    """No reading at all: the facts, and no empty table."""
    wear = replace(failed(trial), ending=Ending.NEVER_STARTED)
    html = claim_page(replace(trial, readings={}), wear, "22 March 2026")
    assert "<tbody>" not in html
    assert "never started" in html
    assert "last reading" in html


def test_it_needs_no_network_and_carries_the_caution(trial):
    """One file; the foot says that it sets no dose."""
    html = claim_page(trial, failed(trial), "22 March 2026")
    assert not re.search(r"(?:src|href)=\"http", html)
    assert "Sets no dose" in html
    assert "closer" not in words(trial, failed(trial))


def test_what_a_wearer_wrote_cannot_break_the_page(trial):
    """Text is text."""
    html = claim_page(trial, replace(failed(trial), lot="<script>x</script>"), "22 March 2026")
    assert "<script>" not in html

"""A trial of three weeks, played from the evening of the idea to the opened answer: what its wearer reads, and what is kept."""

from __future__ import annotations

import hashlib
import json
import re

import pytest
from tests.end_to_end.three_weeks import AWAY, INVENTED, START, play

from evenhand.clock import DAY
from evenhand.records.diary import EventKind, MarkKind, Reason
from evenhand.records.question import Driver, Driving, Policy
from evenhand.records.sensors import Ending
from evenhand.store import file as store
from evenhand.units import FACTOR


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    """The whole play, once."""
    return play(tmp_path_factory.mktemp("play"))


@pytest.fixture(scope="module")
def held(played):
    """The trial as it is in the end."""
    return store.read(played.trial)


@pytest.fixture(scope="module")
def judged(played):
    """The opened judgement."""
    return json.loads(next(said.out for said in reversed(played.of("judge")) if "--json" in said.words))


def test_nothing_was_refused(played):
    """Every command of three weeks did what it was asked, and none needed the file repaired."""
    assert all(said.code == 0 for said in played.said)
    assert store.check(played.trial).sound


def test_the_question_is_as_it_was_answered(held):
    """At the keyboard, on the evening of the idea."""
    question = held.question
    assert question.margin == pytest.approx(0.3 * FACTOR)
    assert question.driver == Driver(Driving.PUMP, held.sensor("Fern").id)
    assert (question.policy, question.strips, question.money) == (Policy.NONE, 200, 300.0)
    assert question.quiet_hours == ((490, 520), (1050, 1080))
    assert len(question.must_haves) == 3


def test_it_was_declared_before_the_first_insertion(held, played):
    """The text beside the trial gives the fingerprint, and the check says so."""
    declared = held.question.declared
    assert declared.at.instant < START
    assert (declared.day, declared.sticks_before) == (1, 0)
    text = (played.folder / "spring.declaration.txt").read_bytes()
    assert hashlib.sha256(text).hexdigest() == declared.fingerprint
    assert any("is that of this trial's declaration" in said.flat for said in played.of("declare"))


def test_every_sensor_opened_is_there(held):
    """Two of Fern worn to their end; of Slate one torn off and replaced, one worn, one failed and replaced, one worn."""
    endings = [(wear.ending, wear.replaces is not None) for wear in held.wears_of(held.sensor("Slate").id)]
    assert endings == [
        (Ending.ACCIDENT, False),
        (Ending.END, True),
        (Ending.FAILED, False),
        (Ending.END, True),
    ]
    assert [wear.ending for wear in held.wears_of(held.sensor("Fern").id)] == [Ending.END, Ending.END]
    assert all(wear.drives for wear in held.wears_of(held.sensor("Fern").id))


def test_the_torn_off_and_the_failed_have_claim_sheets(played):
    """With lot, serial, hours and the last readings beside sticks; no other page carries a serial."""
    sheets = sorted(played.folder.glob("claim-*.html"))
    assert len(sheets) == 2
    for sheet in sheets:
        text = sheet.read_text(encoding="utf-8")
        assert re.search(r"SN-00\d7", text)
        assert "The last fingersticks, and what it read then" in text
        assert "of 10 days rated" in text
    for page in ("sealed.html", "spring.html"):
        assert "SN-00" not in (played.folder / page).read_text(encoding="utf-8")


def test_readings_are_those_that_were_invented(held):
    """Seven files and more, overlapping, one of them in local time through a journey and the clock change: in the end the
    trial holds every reading once, at its instant."""
    for sensor in INVENTED.trial.sensors:
        truth, kept = INVENTED.trial.readings[sensor.id], held.readings[held.sensor(sensor.name).id]
        assert kept.instant.tolist() == truth.instant.tolist()
        assert kept.mg_dl.tolist() == pytest.approx(truth.mg_dl.tolist())


def test_the_journey_lies_over_the_clock_change(held):
    """Its start in winter time, its end in summer time; Slate's clock alone changed by itself."""
    (trip,) = [event for event in held.events if event.kind is EventKind.TRIP]
    assert (trip.text, trip.start.offset, trip.end.offset) == (AWAY, 0, 3 * 3600)
    assert trip.clocks == (held.sensor("Slate").id,)
    away = [stick for stick in held.sticks if trip.start.instant < stick.at.instant < trip.end.instant]
    assert {stick.at.offset for stick in away} == {2 * 3600, 3 * 3600}


def test_nothing_was_asked_on_the_sick_day(held):
    """From the note to its end no stick stands there, and none is missed."""
    (ill,) = [event for event in held.events if event.kind is EventKind.ILL]
    assert ill.end.instant - ill.start.instant == DAY
    assert not [stick for stick in held.sticks if ill.start.instant <= stick.at.instant < ill.end.instant]


def test_typed_and_from_the_meters_file_is_one_stick(held):
    """The first week was typed and stands in the meter's file again; the second came from the file alone."""
    minutes = [
        (stick.at.instant // 60, stick.glucose.value)
        for stick in held.sticks
        if not stick.marked(MarkKind.CONTROL)
    ]
    assert len(minutes) == len(set(minutes))
    from_file = [stick for stick in held.sticks if stick.source is not None]
    assert len(from_file) > 15
    assert {stick.reason for stick in from_file} == {Reason.PLAN}


def test_a_low_had_its_line_and_nothing_after_it(played):
    """Whenever a value below 3.9 was typed as a stick, the safety line was the last on the screen."""
    lows = [
        said
        for said in played.of("stick")
        if len(said.words) > 1 and said.words[1][0].isdigit() and float(said.words[1]) < 3.9
    ]
    assert lows
    for said in lows:
        assert said.out.splitlines()[1:] in (
            ["Treat first. This can wait."],
            ["Serious low. Treat now; get help if you need it."],
        )


def test_the_morning_round_kept_alarms_and_pressure(held):
    """Four mornings: what sounded, whether it was right, what was slept on."""
    assert len([event for event in held.events if event.kind is EventKind.ALARM]) == 4
    assert len([event for event in held.events if event.kind is EventKind.PRESSURE]) == 4
    assert len([stick for stick in held.sticks if stick.reason is Reason.PROMPTED]) == 4


def test_somebody_who_cannot_wait_learns_nothing(played):
    """Halfway: coverage, cautions and safety; neither the terminal nor the page says who is ahead, nor a tally, and the
    look at a sealed page is no look."""
    sealed = played.of("judge")[0].flat
    page = re.sub(r"<[^>]*>", " ", (played.folder / "sealed.html").read_text(encoding="utf-8"))
    for text in (sealed, page):
        assert "stays sealed until" in text
        for word in (
            "closer to your meter than",
            "MAD",
            "average error",
            "(bias)",
            "towards Fern",
            "towards Slate",
            "Slate 1",
        ):
            assert word not in text.replace("Slate 1,", "")
    assert not store.read(played.trial, readings=False).openings


def test_the_answer_opens_by_itself_on_the_declared_day(judged):
    """Declared, one look declared and one taken, nothing broken; departures stand with date and reason."""
    primary = judged["primary"]
    assert judged["sealed"] is False
    assert primary["standing"] == "declared"
    assert primary["looks"] == {"declared": 1, "taken": 1}
    assert primary["opened"] == []
    assert primary["margin"] == pytest.approx(0.3 * FACTOR)
    assert [one["why"] for one in primary["deviations"] if "replaced before" in one["what"]] == [
        "caught on a door frame",
        "it stopped reading",
    ]
    (head,) = judged["head_to_head"]
    assert head["pairs"] >= 50
    assert head["difference"]["value"] < 0


def test_the_answer_holds_the_truth(judged):
    """The errors told are near the true ones of these wears; the closer sensor is the one that truly was."""
    from evenhand.desk.rehearsing import truth_of

    truth = truth_of(INVENTED)["sensors"]
    for sensor in judged["sensors"]:
        mad = sensor["accuracy"]["all"]["mad"]
        assert mad["low"] < truth[sensor["name"]]["expected_mad"] < mad["high"]
    assert truth["Fern"]["expected_mad"] < truth["Slate"]["expected_mad"]
    assert judged["head_to_head"][0]["answer"]["who"] in ("Fern", None)


def test_the_whole_of_it_fits_a_terminal(played):
    """Nothing that a wearer reads in three weeks is wider than 80 columns, but a stick said back in its one line."""
    for said in played.said:
        if "--json" in said.words or said.words[0] == "stick":
            continue
        wide = [line for line in said.out.splitlines() if len(line) > 80 and str(played.folder) not in line]
        assert not wide, (said.words, wide[0])


def test_the_same_play_gives_the_same_trial(played, tmp_path):
    """Ids, instants, draws and files come from the seed: played again for four days, the same words at the same moments, the
    same fingerprint and the same plan."""
    again = play(tmp_path / "again", until=START + 4 * DAY)
    assert len(again.said) > 30
    assert [(said.at, said.words[0], said.words[2:]) for said in again.said if said.words[0] == "stick"] == [
        (said.at, said.words[0], said.words[2:])
        for said in played.said[: len(again.said)]
        if said.words[0] == "stick"
    ]
    one, other = (store.read(made.trial, readings=False) for made in (again, played))
    assert one.question == other.question
    assert one.sticks == other.sticks[: len(one.sticks)]

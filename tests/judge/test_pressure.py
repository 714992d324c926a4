"""Pressure lows: found by the room's rule, confirmed or rejected by the wearer's notes, masked unless rejected."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.compare.making import DAY, HOUR, stamp

from evenhand.judge import pressure
from evenhand.judge.judge import judge
from evenhand.reconstruct.pressure import PressureLow
from evenhand.reconstruct.reconstruct import Refused, prepared
from evenhand.records.diary import Event, EventKind
from evenhand.records.trial import Trial
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain
from evenhand.rehearse.world import Script, Trouble


@pytest.fixture(scope="module")
def pressed() -> Trial:
    """Six days with Fern lain on in the third night, and nothing else of the kind drawn."""
    world = plain(6, 1, 7)
    calm = tuple(replace(model, kind=replace(model.kind, pressure=0.0)) for model in world.sensors)
    script = (Script(0, Trouble.PRESSURE, 3, 150, 70, -60.0),)
    return invent(replace(world, sensors=calm, script=script), 4).trial


def first(trial: Trial) -> PressureLow:
    """The stretch found in the scripted night."""
    (low,) = [
        low
        for low in pressure.found(trial)
        if low.sensor == trial.sensors[0].id
        and (wall := trial.zones.stamp(round((low.start + low.end) / 2)).wall).day == 5
        and 2 <= wall.hour <= 4
    ]
    return low


def told(trial: Trial) -> bool | None:
    """Whether that stretch stands confirmed in what the contract shows."""
    start = trial.zones.stamp(round(first(trial).start)).iso
    (one,) = [low for low in pressure.pressure_lows(trial, trial.sensors[0].id) if low.start == start]
    return one.confirmed


def noted(trial: Trial, text: str, *, of: str | None = "", later: int = 0) -> Trial:
    low = first(trial)
    sensor = trial.sensors[0].id if of == "" else of
    event = Event(
        f"n{text}{later}",
        EventKind.PRESSURE,
        stamp(int(low.start) + 60),
        int(low.end) + later,
        stamp(int(low.end) - 60),
        text,
        sensor,
    )
    return replace(trial, events=(*trial.events, event))


def test_the_night_lain_on_is_found(pressed: Trial) -> None:
    """The scripted stretch is found, for Fern, at its minutes, open until the wearer says."""
    low = first(pressed)
    assert low.depth < -0.15
    assert low.end - low.start < 3 * HOUR
    assert told(pressed) is None


def test_a_note_confirms(pressed: Trial) -> None:
    """A pressure note that overlaps it, of the sensor or of none, confirms; one elsewhere or of the other does not."""
    assert told(noted(pressed, "slept on it")) is True
    assert told(noted(pressed, "slept on it", of=None)) is True
    elsewhere = Event(
        "x", EventKind.PRESSURE, stamp(int(first(pressed).start) - DAY), 0, None, "", pressed.sensors[0].id
    )
    assert told(replace(pressed, events=(elsewhere,))) is None
    assert told(noted(pressed, "slept on it", of=pressed.sensors[1].id)) is None


@pytest.mark.parametrize("text", ["no", "No, I was up", "not this time", "none."])
def test_a_note_rejects(pressed: Trial, text: str) -> None:
    """A note that begins with 'no' rejects; it is then no longer masked in the fit."""
    said = noted(pressed, text)
    assert told(said) is False
    assert first(said) in pressure.rejected(said)
    assert pressure.rejected(pressed) == ()


def test_the_later_note_counts(pressed: Trial) -> None:
    """Who changes their mind is heard."""
    assert told(noted(noted(pressed, "no"), "yes it was", later=500)) is True


def test_a_word_that_only_begins_like_no_confirms(pressed: Trial) -> None:
    """'Nocturnal' is no 'no'."""
    assert told(noted(pressed, "nocturnal")) is True


def test_rejected_ones_are_not_masked(pressed: Trial) -> None:
    """What the wearer rejects stays in the fit's readings; what is open is masked; both stay in every judgement."""
    low = first(pressed)
    open_, said = prepared(pressed), prepared(pressed, rejected=(low,))
    assert not isinstance(open_, Refused)
    assert not isinstance(said, Refused)
    assert low in open_[1]
    assert low not in said[1]
    inside = [int(((one[0][0].at >= low.start) & (one[0][0].at <= low.end)).sum()) for one in (open_, said)]
    assert inside[0] == 0
    assert inside[1] > 5
    found, rejected = judge(pressed, sticks_only=True), judge(noted(pressed, "no"), sticks_only=True)
    assert found.sensors[0].accuracy == rejected.sensors[0].accuracy
    assert found.head_to_head == rejected.head_to_head


def test_open_ones_are_a_caution(pressed: Trial) -> None:
    """How many are open is said, one fewer for each that is answered."""

    def still_open(trial: Trial) -> int:
        found = judge(trial, sticks_only=True)
        (text,) = [
            each.text
            for each in found.cautions
            if (each.code, each.subject) == ("pressure-lows-open", "Fern")
        ]
        return int(text.split()[0])

    assert still_open(noted(pressed, "slept on it")) == still_open(pressed) - 1

"""The demo's scenario has its story."""

import numpy as np
import pytest

from evenhand.records.diary import EventKind, Reason
from evenhand.records.sensors import Ending
from evenhand.rehearse.demo import DEMO_SEED, demo_world
from evenhand.rehearse.eligible import beside, eligible
from evenhand.rehearse.invent import invent


@pytest.fixture(scope="module")
def demo():
    return invent(demo_world(), DEMO_SEED)


def test_three_weeks_two_sensors_five_wears(demo):
    """Fern and Slate, two and three wears; one failed and was replaced, all others ran to their end."""
    trial = demo.trial
    trial.check()
    assert [sensor.name for sensor in trial.sensors] == ["Fern", "Slate"]
    fern, slate = (trial.wears_of(sensor.id) for sensor in trial.sensors)
    assert [wear.ending for wear in fern] == [Ending.END, Ending.END]
    assert [wear.ending for wear in slate] == [Ending.END, Ending.FAILED, Ending.END]
    assert slate[2].replaces == slate[1].id
    assert trial.question.declared is None


def test_the_clock_change_lies_inside(demo):
    """Readings on both sides of the change to summer time."""
    assert set(demo.trial.readings[demo.trial.sensors[1].id].offset.tolist()) == {0, 3600}


def test_the_first_night_of_slate_is_bad(demo):
    """Between midnight and 5:00 of the first night Slate is far from blood and Fern is not."""
    truth = demo.truth
    night = (truth.grid.day == 1) & (truth.grid.of_day < 300)
    fern, slate = (np.abs(sensor.series - truth.blood)[night].mean() for sensor in truth.sensors)
    assert slate > 25
    assert fern < 15


def test_a_night_slept_on_and_a_phone_left_behind(demo):
    """A pressure low of Fern in the truth, a gap of Slate by the phone with its note."""
    pressed = [span for wear in demo.truth.sensors[0].wears for span in wear.pressure]
    assert any(demo.truth.grid.day[a] == 7 and demo.truth.grid.of_day[a] == 135 for a, _ in pressed)
    away = [event for event in demo.trial.events if event.kind is EventKind.AWAY]
    assert any(event.sensor == demo.trial.sensors[1].id and event.start.wall.hour == 9 for event in away)


def test_sticks_of_every_sort(demo):
    """Planned, habit, prompted, ten repeats; enough of them to judge."""
    sticks = demo.trial.sticks
    count = {reason: sum(stick.reason is reason for stick in sticks) for reason in Reason}
    assert count[Reason.PLAN] > 100
    assert count[Reason.HABIT] > 10
    assert 10 < count[Reason.PROMPTED] < 30
    assert sum(stick.repeat for stick in sticks) == 10


def test_the_answer_is_worth_reading(demo):
    """In truth Fern is closer by more than the usual margin of 3 mg/dL, but not absurdly: both are sensors one
    could buy."""
    truth, trial = demo.truth, demo.trial
    sides = tuple(
        beside(truth.at, trial.readings[s.id].instant, trial.readings[s.id].mg_dl, 5, 300.0)
        for s in trial.sensors
    )
    where = eligible(sides, np.ones(len(truth.grid), bool), steady=True)
    fern, slate = (truth.expected_abs_error(truth.at[where], side.reading[where]).mean() for side in sides)
    assert 4 < slate - fern < 10
    assert 6 < fern < 13
    assert 12 < slate < 20

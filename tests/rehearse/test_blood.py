"""An invented life: plausible, and not of the form that is estimated."""

import numpy as np
import pytest

from evenhand.rehearse.blood import LEAD, live
from evenhand.rehearse.grid import Grid, instant_of
from evenhand.rehearse.streams import Streams
from evenhand.rehearse.world import Body

GRID = Grid.over(instant_of("2026-02-01T08:00", "Europe/Lisbon"), LEAD + 20 * 1440, "Europe/Lisbon")


@pytest.fixture(scope="module")
def lives():
    return [live(Body(), GRID, Streams(seed).of("blood")) for seed in range(25)]


def test_blood_stays_within_a_bodys_bounds(lives):
    """Between 40 and 400 mg/dL, always."""
    assert all(life.blood.min() >= 40 and life.blood.max() <= 400 for life in lives)


def test_mean_and_cv_are_those_of_insulin_treated_diabetes(lives):
    """Mean 120 to 190 mg/dL, CV 25 to 45 % in every life (common practice, no source: stable is up to 36 %)."""
    for life in lives:
        assert 120 < life.blood.mean() < 190
        assert 0.25 < life.blood.std() / life.blood.mean() < 0.45


def test_lows_and_highs_happen_but_do_not_rule(lives):
    """Over all lives 0.5 to 6 % of the time below 70 mg/dL, under 1.5 % below 54, 12 to 40 % above 180."""
    every = np.concatenate([life.blood for life in lives])
    assert 0.005 < (every < 70).mean() < 0.06
    assert (every < 54).mean() < 0.015
    assert 0.12 < (every > 180).mean() < 0.40


def test_most_minutes_are_steady_and_some_are_not(lives):
    """70 to 95 % of minutes change by less than 1 mg/dL; hardly any by more than 6."""
    speed = np.abs(np.concatenate([np.diff(life.blood) for life in lives]))
    assert 0.70 < (speed < 1).mean() < 0.95
    assert (speed > 6).mean() < 0.002


def test_meals_raise_glucose(lives):
    """An hour and a half after a meal glucose is higher than at it, on average by 20 to 110 mg/dL."""
    rises = [
        life.blood[at + 75] - life.blood[at]
        for life in lives
        for at in life.meals
        if at + 75 < life.blood.size
    ]
    assert len(rises) > 1000
    assert 20 < np.mean(rises) < 110


def test_rescues_follow_lows_and_lift(lives):
    """Blood was below 80 in the two hours before a rescue, and is higher an hour after."""
    before, lift = [], []
    for life in lives:
        for at in life.rescues:
            if 120 < at < life.blood.size - 60:
                before.append(life.blood[at - 120 : at + 1].min())
                lift.append(life.blood[at + 60] - life.blood[at])
    assert np.quantile(before, 0.9) < 85
    assert np.mean(lift) > 10


def test_exercise_lowers(lives):
    """From its start to half an hour after its end glucose falls, on average."""
    falls = [
        life.blood[end + 30] - life.blood[start]
        for life in lives
        for start, end in life.exercise
        if end + 30 < life.blood.size and start > 0
    ]
    assert np.mean(falls) < -8


def test_days_differ_in_level(lives):
    """The SD of daily means lies between 6 and 40 mg/dL."""
    spread = [life.blood[: 20 * 1440].reshape(20, 1440).mean(axis=1).std() for life in lives]
    assert 6 < np.mean(spread) < 40


def test_a_pull_moves_blood_its_way():
    """What doses on a wrong sensor do: a pull of -30 lowers blood, less than 30 where the body resists."""
    plain = live(Body(), GRID, Streams(1).of("blood")).blood
    pulled = live(Body(), GRID, Streams(1).of("blood"), np.full(len(GRID), -30.0)).blood
    assert -32 < np.mean(pulled - plain) < -3


def test_settings_of_the_body_are_heard():
    """A lower level lowers the mean; doses that miss more widen the spread."""

    def over(body):
        return np.concatenate([live(body, GRID, Streams(seed).of("blood")).blood for seed in range(8)])

    usual = over(Body())
    assert over(Body(level=110.0)).mean() < usual.mean() - 5
    assert over(Body(mismatch=0.05)).std() < usual.std() - 2

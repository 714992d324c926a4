"""One sensor for the contract."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.compare.making import DAY, MIDNIGHT, stick
from tests.judge.making import by_sticks as judge
from tests.judge.making import sound, twenty_days
from tests.judge.test_pairs import calibrated

from evenhand.clock import HOUR
from evenhand.records.diary import Reason
from evenhand.records.question import Policy


@pytest.fixture(scope="module")
def sensors():
    """Both sensors of 20 whole days as JSON."""
    return sound(judge(twenty_days()))["sensors"]


def test_counts(sensors):
    """Name, wears, readings, those expected, and the time from stick to reading."""
    fern, slate = sensors
    assert (fern["name"], fern["wears"], slate["wears"]) == ("Fern", 2, 2)
    assert fern["readings"] == len(twenty_days().readings["fern"])
    assert fern["readings"] <= fern["expected_readings"] + 4
    assert abs(fern["time_difference_s"]) < 60
    assert fern["censored"] == int(np.count_nonzero(twenty_days().readings["fern"].flag))


def test_splits_and_tables(sensors):
    """Every split has its accuracy; day and night hold all of 'all'; zones count the judging pairs."""
    fern, _ = sensors
    splits = fern["accuracy"]
    assert splits["steady"]["pairs"] + splits["moving"]["pairs"] <= splits["all"]["pairs"]
    assert splits["rising"]["pairs"] + splits["falling"]["pairs"] == splits["moving"]["pairs"]
    assert splits["day"]["pairs"] + splits["night"]["pairs"] == splits["all"]["pairs"]
    assert sum(fern["zones"].values()) == splits["all"]["pairs"]
    assert sum(each["accuracy"]["pairs"] for each in fern["days"]) == splits["all"]["pairs"]
    assert sum(each["accuracy"]["pairs"] for each in fern["wear_by_wear"]) == splits["all"]["pairs"]
    by_stick = fern["levels"]["by_stick"]
    assert sum(by_stick[key]["pairs"] for key in by_stick) == splits["all"]["pairs"]
    assert set(splits["all"]["within"]) == {"15/15", "20/20", "30/30", "40/40"}


def test_the_sensor_that_scatters_more_is_farther_off(sensors):
    """Slate was made with half as much noise again: its MAD is larger."""
    fern, slate = sensors
    assert fern["accuracy"]["all"]["mad"]["value"] < slate["accuracy"]["all"]["mad"]["value"]


def test_what_needs_no_reconstruction_is_told_without_it(sensors):
    """Lags, pressure lows, alarms by sticks and calibrations are there by sticks alone; what rests on the reconstruction is
    null, or says that there is none."""
    for each in sensors:
        assert each["against_reconstruction"] is None
        assert set(each["lag_minutes"]["to_sensor"]) == {"Fern", "Slate"} - {each["name"]}
        assert each["pressure_lows"] is not None
        rehearsed = each["alarms"]["rehearsed"]
        assert rehearsed["sounded"] == len(rehearsed["each"])
        assert rehearsed["false_per_night"]["why"] == "no-reconstruction"
        assert all(one["chance"] is None for one in rehearsed["each"])
        assert each["alarms"]["real"] is None
        assert (each["alarms"]["level"], each["alarms"]["delay"], each["alarms"]["silence"]) == (
            70.0,
            0.0,
            30.0,
        )
        assert each["calibrations"] == []


def test_calibrations_split_a_wear():
    """A calibration is listed with its wear, and accuracy before and after."""
    fern, slate = judge(calibrated(Policy.FREE)).sensors
    (only,) = fern.calibrations
    assert only.wear == 1
    assert only.at == "2026-03-06T04:00:11+00:00"
    assert only.before.pairs > 0
    assert only.after.pairs > 0
    assert slate.calibrations == ()


def test_strays_come_from_sticks():
    """Sticks in a row far below Fern's readings make a stray of it, named as from sticks."""
    made = twenty_days()
    begin = MIDNIGHT + 3 * DAY
    kept = [each for each in made.sticks if not begin <= each.at.instant < begin + DAY]
    odd = [stick(begin + hour * HOUR, 45, Reason.HABIT, id=f"odd{hour}") for hour in (3, 5, 7)]
    found = judge(replace(made, sticks=tuple(sorted((*kept, *odd), key=lambda each: each.at.instant))))
    stray = next(each for each in found.sensors[0].strays if each.start.startswith("2026-03-04T03"))
    assert stray.source == "sticks"
    assert stray.chance is None
    assert stray.size > 20
    assert abs(stray.largest) >= abs(stray.size)

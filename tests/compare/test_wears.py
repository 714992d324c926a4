"""Wears as worn, and which reading belongs to which."""

import numpy as np
import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stick, trial, wear

from evenhand.compare.layout import lay_out
from evenhand.compare.wears import interval_of, last_known, running, worn_of
from evenhand.records.diary import Reason
from evenhand.records.sensors import Ending

FERN = sensor("Fern")


def every(start_hour, end_hour, value=100, step=300):
    at = np.arange(start_hour * HOUR, end_hour * HOUR + 1, step)
    return readings(MIDNIGHT + at, np.full(at.size, value))


def spans(made):
    worn, _ = worn_of(made)
    return [((one.start - MIDNIGHT) / HOUR, (one.usable - MIDNIGHT) / HOUR, (one.end - MIDNIGHT) / HOUR, one.ended) for one in worn]  # fmt: skip


def test_removed():
    """A removed wear is usable after its warm-up and ends at its removal."""
    made = trial([FERN], [wear("fern", MIDNIGHT, MIDNIGHT + 10 * DAY)], (), {"fern": every(1, 30)})
    assert spans(made) == [(0, 1, 240, True)]


def test_insertion_before_start():
    """Age counts from the start; a wear inserted early takes no reading from the one before it."""
    first = wear("fern", MIDNIGHT, MIDNIGHT + 20 * HOUR)
    early = wear("fern", MIDNIGHT + 20 * HOUR, id="second", inserted=stick(MIDNIGHT + 15 * HOUR, 1).at)
    made = lay_out(trial([FERN], [first, early], (), {"fern": every(1, 30)}))
    hours = (made.used[0].instant - MIDNIGHT) / HOUR
    assert (made.used[0].wear == (hours >= 20)).all()
    assert (made.used[0].counts == ((hours < 20) | (hours >= 21))).all()
    assert [one.number for one in made.worn] == [1, 2]


def test_still_worn():
    """Without removal the last wear is still worn, up to the last thing the trial knows."""
    made = trial([FERN], [wear("fern", MIDNIGHT)], [stick(MIDNIGHT + 50 * HOUR, 100)], {"fern": every(1, 30)})
    assert spans(made) == [(0, 1, 50, False)]
    assert last_known(made) == MIDNIGHT + 50 * HOUR


def test_removal_not_logged():
    """A wear that another followed, or whose ending was noted, ended with its last reading."""
    first, second = wear("fern", MIDNIGHT), wear("fern", MIDNIGHT + 30 * HOUR, ending=Ending.FAILED)
    stream = readings(MIDNIGHT + np.array([2, 3, 20, 31.5, 33]) * HOUR, [100] * 5)
    made = trial([FERN], [first, second], [stick(MIDNIGHT + 90 * HOUR, 100)], {"fern": stream})
    assert spans(made) == [(0, 1, 20, True), (30, 31, 33, True)]


def test_never_started():
    """A sensor that never started keeps its number and takes no reading from the one that runs."""
    dud = wear("fern", MIDNIGHT + 5 * HOUR, id="dud", ending=Ending.NEVER_STARTED)
    made = lay_out(trial([FERN], [wear("fern", MIDNIGHT), dud], (), {"fern": every(1, 30)}))
    assert (made.used[0].wear == 0).all()
    assert [one.number for one in made.worn] == [1, 2]
    assert made.worn[1].end == made.worn[1].start
    assert made.uncovered == (0,)


def test_removed_during_warm_up():
    """A wear torn off in its warm-up has readings that belong to it and none that count."""
    made = lay_out(trial([FERN], [wear("fern", MIDNIGHT, MIDNIGHT + 1800)], (), {"fern": every(0, 2)}))
    assert not made.used[0].counts.any()
    assert made.uncovered == (int((made.used[0].instant > MIDNIGHT + 1800).sum()),)
    assert made.minutes.at.size == 0


def test_uncovered_readings_are_counted():
    """Before the first start and after the removal no wear covers a reading."""
    made = lay_out(
        trial([FERN], [wear("fern", MIDNIGHT + 5 * HOUR, MIDNIGHT + 9 * HOUR)], (), {"fern": every(0, 12)})
    )
    assert made.uncovered == (5 * 12 + 3 * 12,)


@pytest.mark.parametrize(("gap", "runs"), [(12, 1), (12.1, 2)])
def test_wears_inferred_from_runs(gap, runs):
    """Where no wear was logged, a gap over 12 h parts two; the first reading is past warm-up, and it is said."""
    at = np.concatenate([np.arange(0, 12) * 300, 11 * 300 + gap * HOUR + np.arange(0, 12) * 300])
    made = lay_out(
        trial([FERN], (), [stick(MIDNIGHT + 40 * HOUR, 90)], {"fern": readings(MIDNIGHT + at, [100] * 24)})
    )
    assert len(made.worn) == runs
    assert made.inferred == (0,)
    assert made.used[0].counts.all()
    assert all(one.ended for one in made.worn)


def test_inferred_wear_at_the_end_of_the_trial():
    """Nobody knows whether a run up to the trial's last record has ended: it counts as worn on."""
    made = lay_out(trial([FERN], (), (), {"fern": every(0, 30)}))
    assert [one.ended for one in made.worn] == [False]
    assert np.isinf(made.minutes.left).all()


def test_calibrations_belong_to_the_wear_that_ran():
    """A calibration typed into this sensor splits the wear that was started last before it."""
    wears = [wear("fern", MIDNIGHT, MIDNIGHT + 20 * HOUR), wear("fern", MIDNIGHT + 20 * HOUR)]
    sticks = [
        stick(MIDNIGHT + hour * HOUR, 100, Reason.CALIBRATION, into=into)
        for hour, into in ((5, "fern"), (8, "slate"), (20, "fern"), (25, None))
    ]
    made = lay_out(trial([FERN, sensor("Slate", 1)], wears, sticks, {"fern": every(1, 30)}))
    assert [[(at - MIDNIGHT) // HOUR for at in one.calibrated] for one in made.worn] == [[5], [20]]
    assert made.unplaced == 1


def test_interval():
    """As given; else the median spacing; else unknown."""
    assert interval_of(FERN, np.array([0, 60, 120])) == 300
    assert interval_of(sensor("Fern", interval=None), np.array([0, 299, 600, 900, 90_000])) == 300
    assert interval_of(sensor("Fern", interval=None), np.array([0])) is None


def test_running_without_wears():
    """Nothing runs where nothing was worn."""
    wear_at, usable = running((), 0).at(np.array([1, 2]))
    assert wear_at.tolist() == [-1, -1]
    assert not usable.any()

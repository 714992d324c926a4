"""True differences that are asked for."""

import numpy as np
import pytest

from evenhand.rehearse.eligible import beside, eligible
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import Kind, Model, World


def difference(invented):
    """The true difference over steady eligible minutes, from the trial's records and the truth alone."""
    truth, trial = invented.truth, invented.trial
    sides = []
    for sensor in trial.sensors[:2]:
        readings = trial.readings[sensor.id]
        sides.append(beside(truth.at, readings.instant, readings.mg_dl, sensor.interval // 60, 300.0))
    where = eligible(tuple(sides), truth.grid.within((420, 1380)), steady=True)
    first, second = (truth.expected_abs_error(truth.at[where], side.reading[where]).mean() for side in sides)
    return second - first


@pytest.mark.parametrize("wanted", [0.0, 3.0, -3.0])
def test_the_difference_is_the_one_asked_for(wanted):
    """Recomputed from the records: within 0.03 mg/dL, by a factor on the second sensor's errors."""
    for seed in range(4):
        invented = invent(World(true_difference=wanted), seed)
        assert difference(invented) == pytest.approx(wanted, abs=0.03)
        assert invented.truth.sensors[1].errors_times != 1.0
        assert invented.truth.sensors[0].errors_times == 1.0


def test_only_the_second_sensor_is_touched():
    """Blood, the first sensor's readings and the moments of the second's stay."""
    plain, matched = invent(World(), 3), invent(World(true_difference=3.0), 3)
    first, second = plain.trial.sensors
    assert np.array_equal(plain.truth.blood, matched.truth.blood)
    assert np.array_equal(plain.trial.readings[first.id].value, matched.trial.readings[first.id].value)
    assert np.array_equal(plain.trial.readings[second.id].instant, matched.trial.readings[second.id].instant)
    assert not np.array_equal(plain.trial.readings[second.id].value, matched.trial.readings[second.id].value)


def test_a_difference_out_of_reach_is_left_and_shows():
    """Against a nearly faultless first sensor no second one can be 15 mg/dL closer: the truth does not claim it."""
    still = Kind((0, 0), (0, 0), 0.1, 0.1, 0, 0, 1, 0, 1, 0)
    invented = invent(World(sensors=(Model("Fern", still), Model("Slate")), true_difference=-15.0), 1)
    assert invented.truth.sensors[1].errors_times == pytest.approx(0.05)
    assert difference(invented) > -14.0

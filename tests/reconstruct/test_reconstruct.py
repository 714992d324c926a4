"""The way in: what comes out, what is refused, what must not change the numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.reconstruct.shared import invented, reconstructed

from evenhand.clock import DAY, Stamp
from evenhand.reconstruct.reconstruct import Reconstruction, Refused, reconstruct
from evenhand.records.readings import Readings
from evenhand.records.trial import Trial
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain
from evenhand.rehearse.world import Model, World
from evenhand.units import FACTOR, Glucose, Unit


def again(trial: Trial, **more: object) -> Reconstruction:
    found = reconstruct(trial, **more)  # type: ignore[arg-type]
    assert isinstance(found, Reconstruction)
    return found


def test_closer_to_blood_than_either_sensor() -> None:
    """On an invented trial the line lies nearer to true blood than each sensor and their mean."""
    made, found = invented(), reconstructed()
    sensors, both = [], []
    for sensor in made.trial.sensors:
        readings = made.trial.readings[sensor.id]
        both.append(np.interp(found.path.at, readings.instant, readings.mg_dl))
        sensors.append(np.abs(both[-1] - made.truth.blood_at(found.path.at)).mean())
    truth = made.truth.blood_at(found.path.at)
    distance = np.abs(found.path.mg_dl - truth).mean()
    assert distance < np.abs(np.mean(both, axis=0) - truth).mean()
    assert distance < min(sensors)
    low, high = found.path.band()
    assert 0.75 < ((truth >= low) & (truth <= high)).mean() < 0.99


def test_says_what_it_used() -> None:
    """Lag with its interval, meter, sticks, masked stretches, held-out days, and a verdict that fits its reasons."""
    found = reconstructed()
    assert found.lag.low < found.lag.value < found.lag.high
    assert 2.0 < found.lag.value < 25.0
    assert 0.02 < found.meter.value < 0.12
    assert found.sticks + len(found.dropped) == sum(len(ids) for ids in found.pricks.ids)
    assert found.trusted == (not found.why_not)
    assert found.held_out.sticks == len(found.pricks)
    assert sum(found.delays) == pytest.approx(0.0, abs=1e-9)
    assert found.limitation == "shared-offset-and-meter-unseen"


def test_the_same_trial_gives_the_same_numbers() -> None:
    """Deterministic to the last digit; another seed draws other paths around the same line."""
    trial = invented().trial
    first, second = reconstructed(), again(trial)
    np.testing.assert_array_equal(first.path.draws, second.path.draws)
    other = again(replace(trial, header=replace(trial.header, seed=99)))
    np.testing.assert_array_equal(first.path.mean, other.path.mean)
    assert (first.path.draws != other.path.draws).any()


def test_units_change_nothing() -> None:
    """Readings and sticks recorded in mmol/L without rounding give the same line."""
    trial = invented().trial
    readings = {
        name: replace(one, value=one.value / FACTOR, mmol=np.ones(len(one), np.bool_))
        for name, one in trial.readings.items()
    }
    sticks = tuple(
        replace(one, glucose=Glucose(one.glucose.value / FACTOR, Unit.MMOL_L, "x")) for one in trial.sticks
    )
    found = again(replace(trial, readings=readings, sticks=sticks))
    np.testing.assert_allclose(found.path.mg_dl, reconstructed().path.mg_dl, rtol=1e-6)


def test_a_shift_in_time_moves_everything_with_it() -> None:
    """Whole days later: the same line, days later."""
    trial = invented().trial
    by = 21 * DAY

    def later(stamp: Stamp) -> Stamp:
        return Stamp(stamp.text, stamp.instant + by, stamp.zone, stamp.offset)

    moved = replace(
        trial,
        readings={name: replace(one, instant=one.instant + by) for name, one in trial.readings.items()},
        sticks=tuple(replace(one, at=later(one.at)) for one in trial.sticks),
        wears=tuple(
            replace(
                one,
                inserted=one.inserted and later(one.inserted),
                started=one.started and later(one.started),
                removed=one.removed and later(one.removed),
            )
            for one in trial.wears
        ),
    )
    found = again(moved)
    np.testing.assert_allclose(found.path.at, reconstructed().path.at + by)
    np.testing.assert_allclose(found.path.mg_dl, reconstructed().path.mg_dl, rtol=1e-7)


def test_order_of_sensors_does_not_matter() -> None:
    """Sensors told the other way round give the same line, as far as the climb stops at the same top."""
    trial = invented().trial
    found = again(replace(trial, sensors=trial.sensors[::-1]))
    assert found.sensors == reconstructed().sensors[::-1]
    apart = np.abs(found.path.mg_dl - reconstructed().path.mg_dl)
    assert apart.mean() < 0.2
    assert found.fit.solved.log_posterior == pytest.approx(reconstructed().fit.solved.log_posterior, abs=0.3)


def test_a_sensor_left_out() -> None:
    """The fit without one sensor uses the other alone, starts from the joint one, and draws from its own stream."""
    trial, both = invented().trial, reconstructed()
    out = trial.sensors[0].id
    found = again(trial, without=out, start=both.start)
    assert found.sensors == (trial.sensors[1].id,)
    assert found.path.sd.mean() > both.path.sd.mean()
    assert found.fit.steps < 60


def test_progress_runs_from_nothing_to_done() -> None:
    """Shares never fall, begin at 0 and end at 1, each with words."""
    heard: list[tuple[float, str]] = []
    reconstruct(invented(days=4, wears=1).trial, progress=lambda share, what: heard.append((share, what)))
    shares = [share for share, _ in heard]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert all(what for _, what in heard)


def test_too_little_is_refused_with_the_reason() -> None:
    """No readings, few sticks, few days, few sticks a day: a code and the numbers, nothing drawn."""
    trial = invented().trial
    none = reconstruct(replace(trial, readings={}))
    assert none == Refused("no-readings", 0, 0, 1)
    few = reconstruct(replace(trial, sticks=trial.sticks[:20]))
    assert isinstance(few, Refused)
    assert (few.code, few.needed) == ("few-sticks", 25)
    short = reconstruct(invent(plain(1, 1, 40.0), 1).trial)
    assert isinstance(short, Refused)
    assert short.code == "few-days"
    thin = reconstruct(replace(invented(days=20).trial, sticks=invented(days=20).trial.sticks[:30]))
    assert isinstance(thin, Refused)
    assert thin.code == "few-sticks-a-day"


def test_sticks_far_from_every_reading_are_of_no_use() -> None:
    """A meter's history from long before makes no grid."""
    trial = invented().trial
    old = tuple(
        replace(one, id=f"old{n}", at=Stamp.at(one.at.instant - 100 * DAY, one.at.zone))
        for n, one in enumerate(trial.sticks)
    )
    found = again(replace(trial, sticks=(*old, *trial.sticks)))
    np.testing.assert_array_equal(found.path.mean, reconstructed().path.mean)


@pytest.mark.parametrize("sensors", [1, 3])
def test_one_and_three_sensors(sensors: int) -> None:
    """One sensor: no pressure lows are sought; three: a narrower band than one."""
    models = tuple(Model(name) for name in ("Fern", "Slate", "Moss")[:sensors])
    found = again(invent(replace(World(), days=5, wears=1, sensors=models), 2).trial)
    assert len(found.delays) == sensors
    if sensors == 1:
        assert found.pressure == ()
        assert found.delays == (0.0,)


def test_a_sensor_without_readings_is_passed_over() -> None:
    """It takes no part and breaks nothing."""
    trial = invented().trial
    gone = trial.sensors[1].id
    found = again(replace(trial, readings={**trial.readings, gone: Readings.none()}))
    assert found.sensors == (trial.sensors[0].id,)

"""What the model is given."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.reconstruct.shared import invented

from evenhand.clock import HOUR, MINUTE, Stamp
from evenhand.reconstruct.data import pricks_of, series_of
from evenhand.reconstruct.scale import even
from evenhand.records.diary import Mark, MarkKind, Reason, Stick
from evenhand.records.readings import BEYOND_LOW
from evenhand.records.sensors import Ending, Wear
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import interval
from evenhand.units import Beyond, Glucose, Unit

START = 1_772_438_400


def stick(minute: float, mg_dl: float = 120.0, **more: object) -> Stick:
    at = Stamp.at(START + round(minute * MINUTE), "Europe/Lisbon")
    glucose = Glucose(mg_dl, Unit.MG_DL, f"{mg_dl:.0f}")
    return Stick(
        **{"id": f"s{minute}", "at": at, "glucose": glucose, "reason": Reason.PLAN, "logged": 0, **more}
    )  # type: ignore[arg-type]


def used(*sticks: Stick) -> tuple[tuple[str, ...], ...]:
    return pricks_of(sticks, START - HOUR, START + 10 * HOUR).ids


def test_every_reason_helps_but_no_control_and_no_early_mark() -> None:
    """Prompted and calibration sticks measure blood too; control solution, LOW and marks set in time do not count;
    a mark set later is no reason, as in judging."""
    kept = [
        stick(0, reason=Reason.PROMPTED),
        stick(20, reason=Reason.CALIBRATION),
        stick(40, marks=(Mark(MarkKind.UNWASHED, early=False),)),
    ]
    gone = [
        stick(60, marks=(Mark(MarkKind.CONTROL, early=False),)),
        stick(80, marks=(Mark(MarkKind.STRIP_ERROR),)),
        stick(100, marks=(Mark(MarkKind.UNWASHED),)),
        stick(120, glucose=Glucose(20.0, Unit.MG_DL, "LO", Beyond.LOW)),
    ]
    assert used(*kept, *gone) == (("s0",), ("s20",), ("s40",))


def test_sticks_within_five_minutes_are_one() -> None:
    """The mean on the even scale, counted twice; a third six minutes after the first stands alone."""
    found = pricks_of([stick(6, 90), stick(0, 100), stick(5, 110)], START - HOUR, START + HOUR)
    assert found.ids == (("s0", "s5"), ("s6",))
    assert found.many.tolist() == [2.0, 1.0]
    assert found.value[0] == pytest.approx(even([100.0, 110.0]).mean())


def test_outside_the_span_a_stick_is_not_asked() -> None:
    """Sticks before and after are left alone."""
    assert used(stick(-70), stick(0), stick(601)) == (("s0",),)


def test_warm_up_wears_and_what_never_started() -> None:
    """Readings count from the end of warm-up to removal, in the wear started last before; a wear that never started
    holds none."""
    trial = invented().trial
    sensor = trial.sensors[0]
    own = trial.wears_of(sensor.id)
    found = series_of(trial)[0]
    assert sensor.warm_up is not None
    for number, wear in enumerate(own):
        mine = found.at[found.wear == number]
        assert mine.min() >= wear.start.instant + sensor.warm_up
        assert wear.removed is not None
        assert mine.max() <= wear.removed.instant
        assert found.age[found.wear == number].min() >= sensor.warm_up / 60
    middle = Stamp.at(own[0].start.instant + 24 * HOUR, "Europe/Lisbon")
    never = Wear("never", sensor.id, inserted=middle, ending=Ending.NEVER_STARTED)
    with_it = series_of(replace(trial, wears=(*trial.wears, never)))[0]
    np.testing.assert_array_equal(with_it.at, found.at)


def test_without_wears_runs_of_readings_are_wears() -> None:
    """A gap over 12 h parts two; no warm-up is taken off."""
    trial = invented().trial
    readings = trial.readings[trial.sensors[0].id]
    found = series_of(replace(trial, wears=()))[0]
    assert len(found) == len(readings)
    late = replace(
        readings, instant=readings.instant + np.where(np.arange(len(readings)) > 500, 13 * HOUR, 0)
    )
    parted = series_of(replace(trial, wears=(), readings={trial.sensors[0].id: late}))[0]
    assert parted.wear[-1] == found.wear[-1] + 1


def test_calibrations_start_a_stretch_anew() -> None:
    """`fresh` counts wears and calibrations typed into that sensor, not into the other."""
    trial = invented().trial
    at = trial.wears_of(trial.sensors[0].id)[0].start.instant + 20 * HOUR
    typed = Stick(
        "c",
        Stamp.at(at, "Europe/Lisbon"),
        Glucose(100.0, Unit.MG_DL, "100"),
        Reason.CALIBRATION,
        0,
        into=trial.sensors[0].id,
    )
    one, other = series_of(replace(trial, sticks=(*trial.sticks, typed)))
    assert one.fresh[-1] == series_of(trial)[0].fresh[-1] + 1
    assert other.fresh[-1] == series_of(trial)[1].fresh[-1]
    turn = int(np.flatnonzero(np.diff(one.fresh))[0])
    assert one.at[turn] < at <= one.at[turn + 1]


def test_one_minute_readings_become_means_of_five() -> None:
    """As many steps of five minutes, the mean kept; a LOW is never averaged with a number."""
    trial = invent(replace(interval(1), days=2, wears=1), 4).trial
    sensor = trial.sensors[0].id
    readings = trial.readings[sensor]
    found = series_of(trial)[0]
    assert len(found) == pytest.approx(len(readings) / 5, rel=0.05)
    plain = readings.flag == 0
    assert np.mean(found.value[found.plain]) == pytest.approx(np.mean(even(readings.mg_dl[plain])), abs=0.01)
    flag = readings.flag.copy()
    flag[1000] = BEYOND_LOW
    marked = series_of(replace(trial, readings={sensor: replace(readings, flag=flag)}))[0]
    assert (~marked.plain).sum() == (~found.plain).sum() + 1


def test_night_is_where_the_wearer_was() -> None:
    """Outside 07:00 to 23:00 on the local clock, from each reading's own offset."""
    trial = invented().trial
    bare = replace(trial, question=replace(trial.question, waking=None))
    found = series_of(bare)[0]
    offset = int(trial.readings[trial.sensors[0].id].offset[0])
    hour = (found.at + offset) % 86_400 / 3_600
    np.testing.assert_array_equal(found.night, (hour < 7) | (hour >= 23))

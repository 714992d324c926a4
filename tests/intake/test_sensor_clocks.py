"""A sensor's clock against the other sensors and the meter: found where it is off, never where it is right."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from evenhand.intake import sensor_clocks
from evenhand.records.readings import Batch
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain

CHANGE = 1_774_746_000
"""2026-03-29T01:00Z: clocks in Lisbon are put forward."""
SPRING = "2026-03-24T08:00"


def suggested(
    seed: int,
    minutes: float = 0,
    *,
    alone: bool = False,
    start: str = "2026-02-02T08:00",
    kept: int | None = None,
):
    """What is proposed for the second sensor of an invented trial of ten days, its clock `minutes` ahead, or from the
    instant `kept` on an hour behind."""
    trial = invent(dataclasses.replace(plain(10, 1, 7.0), start=start), seed).trial
    first, second = trial.sensors
    held = trial.readings[second.id]
    ahead = (
        np.full(len(held), round(minutes * 60)) if kept is None else np.where(held.instant >= kept, -3600, 0)
    )
    held = dataclasses.replace(held, instant=held.instant + ahead)
    beside = {} if alone else {first.id: trial.readings[first.id]}
    found = sensor_clocks.suggest(
        [Batch("b", "f", None, second.id, held)], dataclasses.replace(trial, readings=beside)
    )
    return list(found)


@pytest.mark.parametrize("seed", range(8))
def test_a_right_clock_is_never_spoken_of(seed):
    """Beside another sensor and beside sticks alone."""
    assert suggested(seed) == []
    assert suggested(seed, alone=True) == []


@pytest.mark.parametrize("minutes", [-10, 10])
@pytest.mark.parametrize("seed", range(3))
def test_some_minutes_are_no_fault(seed, minutes):
    """Lag and spacing can look like them."""
    assert suggested(seed, minutes) == []


@pytest.mark.parametrize("minutes", [-720, -90, -60, 60, 90, 720])
@pytest.mark.parametrize("seed", range(3))
def test_an_hour_or_half_a_day_is_found_beside_another_sensor(seed, minutes):
    """With the setting that undoes it, to five minutes, and the evidence in numbers."""
    (found,) = suggested(seed, minutes)
    assert found.code == "clock-off"
    shift = int(found.set.removeprefix("shift=").removesuffix("min"))
    assert abs(shift + minutes) <= 5
    assert "correlation" in found.evidence
    assert ("ahead of" if minutes > 0 else "behind") in found.text


@pytest.mark.parametrize("minutes", [-720, 720])
@pytest.mark.parametrize("seed", range(3))
def test_half_a_day_is_found_beside_sticks_alone(seed, minutes):
    """Less sharply: to a quarter of an hour."""
    (found,) = suggested(seed, minutes, alone=True)
    shift = int(found.set.removeprefix("shift=").removesuffix("min"))
    assert abs(shift + minutes) <= 15
    assert "fingersticks" in found.text


@pytest.mark.parametrize("seed", range(4))
def test_a_clock_that_was_not_changed_is_told_as_that(seed):
    """Right before the change and an hour behind after it: the whole file was written in winter time."""
    (found,) = suggested(seed, start=SPRING, kept=CHANGE)
    assert (found.code, found.set) == ("clock-not-changed", "zone=+00:00")


@pytest.mark.parametrize("seed", range(4))
def test_a_clock_that_was_changed_is_not_spoken_of(seed):
    """The change itself is no fault."""
    assert suggested(seed, start=SPRING) == []


def test_nothing_is_said_from_less_than_a_day():
    """Too little to tell."""
    trial = invent(plain(2, 1, 7.0), 1).trial
    first, second = trial.sensors
    held = trial.readings[second.id]
    few = dataclasses.replace(
        held, **{name: getattr(held, name)[:100] for name in ("offset", "value", "mmol", "flag", "line", "text")},
        instant=held.instant[:100] + 3600,
    )  # fmt: skip
    beside = dataclasses.replace(trial, readings={first.id: trial.readings[first.id]}, sticks=())
    assert list(sensor_clocks.suggest([Batch("b", "f", None, second.id, few)], beside)) == []

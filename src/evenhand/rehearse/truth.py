"""What is known about an invented trial, because it was invented."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE
from evenhand.records.trial import Trial
from evenhand.rehearse.grid import Floats, Grid, Ints
from evenhand.rehearse.meter import MeterNoise
from evenhand.rehearse.readings import Gap
from evenhand.rehearse.wears import Stretch, WearTruth
from evenhand.rehearse.world import World


@dataclass(frozen=True, slots=True)
class SensorTruth:
    """One sensor. `series` is what it would read at every minute in mg/dL, unrounded, calibrations and pressure
    in, gaps and limits not; NaN where none is worn; shape (M,). `strays` are stretches out of 20/20 against
    blood as the meter shows it. `errors_times` is the factor on its errors that made `true_difference`
    (1 where none was asked for)."""

    name: str
    wears: tuple[WearTruth, ...]
    series: Floats
    gaps: tuple[Gap, ...]
    strays: tuple[Stretch, ...]
    calibrations: tuple[int, ...]
    errors_times: float = 1.0


@dataclass(frozen=True, slots=True)
class Truth:
    """Blood minute by minute (shape (M,), mg/dL): `blood` as this meter would show it without its random error,
    `unbiased` as it is, `fluid` under the skin; all minutes of `sensors` are grid minutes. Minute k is the
    instant `grid.start` + 60 k."""

    grid: Grid
    blood: Floats
    unbiased: Floats
    fluid: Floats
    meter: MeterNoise
    lag: float
    sensors: tuple[SensorTruth, ...]
    exercise: tuple[Stretch, ...]
    meals: tuple[int, ...]
    rescues: tuple[int, ...]

    @property
    def at(self) -> Ints:
        """The instants of the minutes, shape (M,)."""
        return self.grid.at

    def blood_at(self, instants: Ints) -> Floats:
        """Blood as the meter shows it at these instants, between minutes in a straight line."""
        where = (np.asarray(instants) - self.grid.start) / MINUTE
        return np.interp(where, np.arange(self.blood.size), self.blood)

    def expected_abs_error(self, instants: Ints, reading: Floats) -> Floats:
        """E|reading - stick| in mg/dL, if a stick were taken at these instants; NaN where `reading` is."""
        return self.meter.expected_abs_error(reading, self.blood_at(instants))

    def expected_error(self, instants: Ints, reading: Floats) -> Floats:
        """E[reading - stick] in mg/dL at these instants."""
        return self.meter.expected_error(reading, self.blood_at(instants))


@dataclass(frozen=True, slots=True)
class Invented:
    """An invented trial, as its wearer would have it, and the truth about it."""

    world: World
    seed: int
    trial: Trial
    truth: Truth

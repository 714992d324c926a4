"""Invented lives with the plan's wears in them: what each sensor would show at every usable minute."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.clock import DAY, MINUTE, Stamp
from evenhand.compare.shapes import Floats, Indices, Instants, Mask
from evenhand.records.sensors import Sensor
from evenhand.rehearse.eligible import beside
from evenhand.rehearse.invent import invent
from evenhand.rehearse.meter import MeterNoise
from evenhand.rehearse.truth import Invented
from evenhand.rehearse.world import Kind, Meter, Model, Planned, World
from evenhand.units import Unit

COPIES = 3
"""So many wears of each kind are invented beside one another in one life; every one is held against every other."""


@dataclass(frozen=True, slots=True)
class Scene:
    """What is invented: two sensors' wears as stretches (instants, start to removal, first reading), the usable minutes
    `at` with the ordinals `day` of their dates, and the zone."""

    sensors: tuple[Sensor, Sensor]
    wears: tuple[tuple[tuple[int, int, int], ...], tuple[tuple[int, int, int], ...]]
    at: Instants
    day: Indices
    zone: str
    unit: Unit

    @property
    def start(self) -> int:
        """The minute the invented life begins."""
        return min(wear[0] for wears in self.wears for wear in wears) // MINUTE * MINUTE

    @property
    def days(self) -> int:
        """Whole days that the invented life lasts."""
        end = max(wear[1] for wears in self.wears for wear in wears)
        return -(-(end - self.start) // DAY)


@dataclass(frozen=True, slots=True)
class Line:
    """One invented sensor at every usable minute, shape (M,): the reading that would pair there (NaN: none), the fluid
    under it, the slopes of readings and fluid in mg/dL per minute (NaN: unknown), and which wear."""

    reading: Floats
    fluid: Floats
    slope: Floats
    fluid_slope: Floats
    wear: Indices

    def scaled(self, factor: float) -> tuple[Floats, Floats]:
        """Reading and slope with every error of the sensor `factor` times as large."""
        if factor == 1.0:
            return self.reading, self.slope
        reading = np.clip(np.floor(self.fluid + factor * (self.reading - self.fluid) + 0.5), 40.0, 400.0)
        return reading, self.fluid_slope + factor * (self.slope - self.fluid_slope)

    def thinned(self, step: int) -> Line:
        """The same at every so many minutes."""
        return Line(
            self.reading[::step],
            self.fluid[::step],
            self.slope[::step],
            self.fluid_slope[::step],
            self.wear[::step],
        )


@dataclass(frozen=True, slots=True)
class Lived:
    """One invented life: blood as the meter shows it at every usable minute, the meter's noise, and the lines of both
    kinds of sensor."""

    blood: Floats
    noise: MeterNoise
    lines: tuple[tuple[Line, ...], tuple[Line, ...]]


def world(laid: Scene) -> World:
    """The world these lives are drawn from: two sensors of one kind, a usual meter, a usual body."""
    models, plan = [], []
    for sensor, wears in zip(laid.sensors, laid.wears, strict=True):
        interval = max(1, round((sensor.interval or 300) / 60))
        for copy in range(COPIES):
            dark = max((wear[2] - wear[0] for wear in wears), default=0)
            models.append(Model(f"{sensor.name} {copy}", Kind(), interval=interval, warm_up=dark // MINUTE))
            plan.append(
                tuple(Planned((begin - laid.start) / DAY, (end - begin) / DAY) for begin, end, _ in wears)
            )
    start = Stamp.at(laid.start, laid.zone).wall.isoformat()
    return World(
        name="plan", days=laid.days, sensors=tuple(models), meter=Meter(unit=laid.unit), sticks=0.0, plan=tuple(plan),
        notes=False, zone=laid.zone, start=start,
    )  # fmt: skip


def live(laid: Scene, seed: int) -> Lived:
    """One life, always the same for a seed."""
    invented = invent(world(laid), seed)
    limit = 450.0 if any((sensor.interval or 300) > 600 for sensor in laid.sensors) else 300.0
    lines = [
        _line(invented, place, laid, (place // COPIES, limit)) for place in range(len(laid.sensors) * COPIES)
    ]
    truth = invented.truth
    return Lived(truth.blood_at(laid.at), truth.meter, (tuple(lines[:COPIES]), tuple(lines[COPIES:])))


def _line(invented: Invented, place: int, laid: Scene, how: tuple[int, float]) -> Line:
    (kind, limit), truth = how, invented.truth
    readings = invented.trial.readings[invented.trial.sensors[place].id]
    minute = np.clip((readings.instant - truth.grid.start) // MINUTE, 0, truth.fluid.size - 1)
    interval = max(1, round((laid.sensors[kind].interval or 300) / 60))
    shown = beside(laid.at, readings.instant, readings.mg_dl, interval, limit)
    under = beside(laid.at, readings.instant, truth.fluid[minute], interval, limit)
    starts = np.array([wear[0] for wear in laid.wears[kind]], np.int64)
    wear = np.searchsorted(starts, laid.at, side="right") - 1
    return Line(shown.reading, under.reading, shown.slope, under.slope, wear)


def mean_slope(one: Floats, two: Floats) -> Floats:
    """The mean of the slopes that are known, NaN where neither is."""
    mean = (one + two) / 2
    lacking = np.isnan(mean)
    mean[lacking] = np.where(np.isnan(one[lacking]), two[lacking], one[lacking])
    return mean


def still(slope: Floats) -> Mask:
    """Whether glucose is steady: below 1 mg/dL per minute, known."""
    with np.errstate(invalid="ignore"):
        steady: Mask = np.abs(slope) < 1.0 - 1e-9
    return steady

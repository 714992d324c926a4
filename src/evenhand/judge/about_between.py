"""Cautions about what is said between the sticks: the reconstruction, lag and clocks, pressure lows, alarms."""

from __future__ import annotations

from collections.abc import Iterator

from evenhand.compare.lag import CLOCK
from evenhand.findings.cautions import REASONS, caution
from evenhand.findings.findings import Caution, Reconstruction
from evenhand.findings.parts import SensorFindings
from evenhand.judge.bundle import Judged
from evenhand.units import rounded

USUAL_LAG = (5.0, 12.0)
"""Minutes: lags between which the reconstruction was tried and kept its promises."""


def about_between(judged: Judged) -> Iterator[Caution]:
    """Whether there is a reconstruction and what it cannot see; clocks; pressure lows; how alarms were rehearsed."""
    told = judged.between.told
    if told is not None:
        yield from _reconstruction(told, judged)
    yield from _clocks(judged.sensors)
    for sensor in judged.sensors:
        still_open = sum(low.confirmed is None for low in sensor.pressure_lows or ())
        if still_open:
            yield caution("pressure-lows-open", sensor.name, count=still_open)
    if any(
        sensor.alarms and sensor.alarms.rehearsed and sensor.alarms.rehearsed.sounded
        for sensor in judged.sensors
    ):
        yield caution("alarms-rehearsed", "trial")


def _reconstruction(told: Reconstruction, judged: Judged) -> Iterator[Caution]:
    if not told.trusted:
        yield caution("reconstruction-withheld", "trial", why=REASONS[told.why or "not-defined"])
        return
    yield caution("reconstruction-limits", "trial")
    if "lag-from-prior" in judged.between.codes:
        yield caution("lag-from-prior", "trial")
    lag = told.lag_minutes.value
    if lag is not None and not USUAL_LAG[0] <= lag <= USUAL_LAG[1]:
        yield caution("lag-extreme", "trial", minutes=rounded(lag))
    if told.sticks_dropped:
        yield caution("sticks-out-of-fit", "meter", count=told.sticks_dropped)
    for sensor in judged.sensors:
        yield from _circular(sensor)


def _circular(sensor: SensorFindings) -> Iterator[Caution]:
    """Where the number without the sensor lies outside the interval of that with it, and the other way round."""
    if sensor.against_reconstruction is None:
        return
    joint, without = sensor.against_reconstruction.all.mad, sensor.against_reconstruction.without_it.mad
    if joint.value is None or without.value is None:
        return
    if _outside(without.value, joint.low, joint.high) and _outside(joint.value, without.low, without.high):
        yield caution(
            "reconstruction-without",
            sensor.name,
            without=rounded(without.value, 1),
            with_it=rounded(joint.value, 1),
        )


def _outside(value: float, low: float | None, high: float | None) -> bool:
    return low is not None and high is not None and not low <= value <= high


def _clocks(sensors: tuple[SensorFindings, ...]) -> Iterator[Caution]:
    """Each pair of sensors whose traces lie further apart in time than two lags can."""
    for sensor in sensors:
        for other, lag in (sensor.lag_minutes.to_sensor if sensor.lag_minutes else {}).items():
            if lag.value is not None and lag.value >= CLOCK:
                yield caution("clock-apart", sensor.name, other=other, minutes=rounded(lag.value))

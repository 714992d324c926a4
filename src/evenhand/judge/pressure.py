"""Pressure lows for the contract: found by the reconstruction's rule, confirmed or rejected by the wearer's notes."""

from __future__ import annotations

from evenhand.findings.parts import PressureLow
from evenhand.reconstruct import pressure
from evenhand.reconstruct.data import series_of
from evenhand.records.diary import Event, EventKind
from evenhand.records.trial import Trial

NO = ("no", "not", "none")
"""A pressure note whose words begin with one of these says that there was no pressure."""


def found(trial: Trial) -> tuple[pressure.PressureLow, ...]:
    """Every stretch that looks like pressure on a sensor."""
    return pressure.pressure_lows(series_of(trial))


def rejected(trial: Trial) -> tuple[pressure.PressureLow, ...]:
    """Those that a note of the wearer says were none: they are not masked in the fit."""
    return tuple(low for low in found(trial) if confirmed(trial, low) is False)


def confirmed(trial: Trial, low: pressure.PressureLow) -> bool | None:
    """What the wearer's notes that overlap the stretch say: pressure, none, or nothing. The later note counts."""
    said = [
        event
        for event in trial.events
        if event.kind is EventKind.PRESSURE and event.sensor in (None, low.sensor) and _overlaps(event, low)
    ]
    if not said:
        return None
    words = max(said, key=lambda event: event.logged).text.split()
    return not (words and words[0].strip(".,:;").casefold() in NO)


def _overlaps(event: Event, low: pressure.PressureLow) -> bool:
    end = event.start.instant if event.end is None else event.end.instant
    return event.start.instant <= low.end and end >= low.start


def pressure_lows(trial: Trial, sensor: str) -> tuple[PressureLow, ...]:
    """The stretches of the sensor with that id, for the contract."""
    return tuple(
        PressureLow(
            trial.zones.stamp(round(low.start)).iso,
            trial.zones.stamp(round(low.end)).iso,
            confirmed(trial, low),
        )
        for low in found(trial)
        if low.sensor == sensor
    )

"""Blood between the sticks for the contract: fitted once, checked without each sensor, told only where it is trusted."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from evenhand.compare.against import Held, against, against_without, held, nothing
from evenhand.compare.alarms_between import covered
from evenhand.compare.hours import night
from evenhand.compare.local import local
from evenhand.compare.parted import partings
from evenhand.compare.path_ranges import path_ranges
from evenhand.compare.shapes import Floats, Instants, Layout, Mask
from evenhand.compare.strayed import Strayed, strayed
from evenhand.findings import findings as told
from evenhand.findings.parts import (
    AgainstReconstruction,
    ReconstructionAccuracy,
    ReconstructionPhases,
    Stretch,
)
from evenhand.judge.pressure import rejected
from evenhand.reconstruct.path import BloodPath
from evenhand.reconstruct.reconstruct import Interval, Reconstruction, Refused, Start, reconstruct
from evenhand.reconstruct.scale import mg_dl
from evenhand.records.trial import Trial
from evenhand.stats.estimate import Est

FIT = "reconstruction-fit"
STEP_S = 300
Progress = Callable[[float, str], None]


@dataclass(frozen=True, slots=True)
class SensorBetween:
    """One sensor against a trusted reconstruction."""

    own: Held
    accuracy: ReconstructionAccuracy
    strays: tuple[Strayed, ...]


@dataclass(frozen=True, slots=True)
class Between:
    """What is known between the sticks. `told` is None where it was not asked for; `path` and `sensors` (in the trial's
    order) are None where the reconstruction is not trusted. `codes` are the reconstruction's own cautions."""

    told: told.Reconstruction | None
    path: BloodPath | None
    sensors: tuple[SensorBetween, ...] | None
    codes: tuple[str, ...] = ()


NOTHING = Between(None, None, None)


def nights(trial: Trial) -> Callable[[Instants], Mask]:
    """Which instants lie outside the waking hours, where the wearer was."""
    return lambda at: night(trial.question, local(trial.zones, at))


def look_between(
    trial: Trial, layout: Layout, tolerance: float, pool: Executor | None, progress: Progress
) -> Between:
    """Reconstruct, and hold every sensor against it. The fits without each sensor run in `pool`, here where None."""
    found = reconstruct(
        trial,
        lambda share, what: progress(0.6 * share, f"blood between sticks: {what}"),
        rejected=rejected(trial),
    )
    if isinstance(found, Refused):
        return Between(_refused(found), None, None)
    why_not = (*(("one-sensor",) if len(found.sensors) < 2 else ()), *found.why_not)
    if why_not:
        return Between(_fitted(trial, found, why_not[0]), None, None, found.cautions)
    waiting = [
        _submit(pool, trial, layout, (place, tolerance, found.start)) for place in range(len(trial.sensors))
    ]
    progress(0.6, "holding the sensors against blood")
    at_night = nights(trial)
    every = tuple(held(layout, place, found.path, at_night) for place in range(len(trial.sensors)))
    sensors = []
    for place, own in enumerate(every):
        progress(0.65 + 0.35 * place / len(every), f"the check without {trial.sensors[place].name}")
        sensors.append(_sensor(trial, layout, own, found.path, (tolerance, waiting[place]())))
    return Between(_whole(trial, found, every, tolerance), found.path, tuple(sensors), found.cautions)


def _sensor(
    trial: Trial, layout: Layout, own: Held, path: BloodPath, rest: tuple[float, AgainstReconstruction]
) -> SensorBetween:
    tolerance, without = rest
    parts = own.parts()
    if not len(own):
        none = nothing("no-data")
        return SensorBetween(
            own, ReconstructionAccuracy(none, none, ReconstructionPhases(none, none, none), without, ()), ()
        )
    numbers = dict(zip(parts, against(own, path, tolerance, list(parts.values())), strict=True))
    strays, line = strayed(layout, own, path, tolerance)
    accuracy = ReconstructionAccuracy(
        all=numbers["all"],
        night=numbers["night"],
        phases=ReconstructionPhases(numbers["first_24h"], numbers["middle"], numbers["last_24h"]),
        without_it=without,
        time_line=tuple(
            Stretch(one.wear.number, _iso(trial, one.start), _iso(trial, one.end), one.state) for one in line
        ),
    )
    return SensorBetween(own, accuracy, strays)


def without_one(trial: Trial, layout: Layout, asked: tuple[int, float, Start]) -> AgainstReconstruction:
    """The sensor with that place against blood reconstructed without it: the check against circularity. With one sensor
    missing, why 'one-sensor'; where the rest is too thin, the code of the refusal."""
    place, tolerance, start = asked
    if len(trial.sensors) < 2:
        return nothing("one-sensor")
    found = reconstruct(trial, without=trial.sensors[place].id, rejected=rejected(trial), start=start)
    if isinstance(found, Refused):
        return nothing(found.code)
    return against_without(held(layout, place, found.path, nights(trial)), found.path, tolerance)


def _submit(
    pool: Executor | None, trial: Trial, layout: Layout, asked: tuple[int, float, Start]
) -> Callable[[], AgainstReconstruction]:
    """Begin a check in the pool; what is returned gives its result, worked out here where the pool cannot."""
    future: Future[AgainstReconstruction] | None = None
    if pool is not None and len(trial.sensors) > 1:
        with suppress(BrokenProcessPool, OSError):
            future = pool.submit(without_one, trial, layout, asked)

    def result() -> AgainstReconstruction:
        if future is not None:
            with suppress(BrokenProcessPool, OSError):
                return future.result()
        return without_one(trial, layout, asked)

    return result


def _whole(
    trial: Trial, found: Reconstruction, every: tuple[Held, ...], tolerance: float
) -> told.Reconstruction:
    path = found.path
    near = np.zeros(path.at.size, np.bool_)
    for own in every:
        near |= covered(own, path)
    ranges, shares = path_ranges(path, near)
    parted = tuple(
        told.Parted(
            _iso(trial, one.start),
            _iso(trial, one.end),
            None if one.right is None else trial.sensors[one.right].name,
            one.chance,
        )
        for one in partings(every, path, tolerance)
    )
    fitted = _fitted(trial, found, None)
    return told.Reconstruction(
        trusted=True,
        why=None,
        lag_minutes=fitted.lag_minutes,
        mad_per_minute_of_lag=_per_minute(found, every),
        meter_sd_percent=fitted.meter_sd_percent,
        sticks_used=fitted.sticks_used,
        sticks_dropped=fitted.sticks_dropped,
        masked=fitted.masked,
        held_out=fitted.held_out,
        ranges=ranges,
        shares=told.TimeShares(*shares),
        parted=parted,
        line=_line(trial, path, near),
    )


def _fitted(trial: Trial, found: Reconstruction, why: str | None) -> told.Reconstruction:
    """What is said of a fit that is not trusted: how it was made, and nothing that rests on it."""
    checked = found.held_out
    return told.Reconstruction(
        trusted=False,
        why=why,
        lag_minutes=_est(found.lag, found.sticks),
        mad_per_minute_of_lag=None,
        meter_sd_percent=_est(found.meter, found.sticks, 100.0),
        sticks_used=found.sticks,
        sticks_dropped=len(found.dropped),
        masked=tuple((_iso(trial, low.start), _iso(trial, low.end)) for low in found.pressure),
        held_out=told.HeldOut(checked.sticks, 100.0 * checked.share[0], 100.0 * checked.share[1]),
        ranges=None,
        shares=None,
        parted=(),
        line=None,
    )


def _refused(found: Refused) -> told.Reconstruction:
    none = Est.missing(found.code, n=found.sticks, method=FIT)
    return told.Reconstruction(False, found.code, none, None, none, 0, 0, (), None, None, None, (), None)


def _est(found: Interval, n: int, times: float = 1.0) -> Est:
    return Est(times * found.value, times * found.low, times * found.high, 0.95, n, FIT)


def _iso(trial: Trial, instant: float) -> str:
    return trial.zones.stamp(round(instant)).iso


def _per_minute(found: Reconstruction, every: tuple[Held, ...]) -> float | None:
    """By how many mg/dL the mean size of all readings' errors would change with one minute more of lag, at the path's
    points."""
    path = found.path
    moved = found.with_lag(1.0)
    change = [_size(own, path, moved) - _size(own, path, (path.mean, path.sd)) for own in every if len(own)]
    return float(np.mean(change)) if change else None


def _size(own: Held, path: BloodPath, blood: tuple[Floats, Floats]) -> float:
    """The expected mean size of error with blood's mean and SD on the path as given."""
    node, weight = np.polynomial.hermite_e.hermegauss(12)
    at = own.at.astype(np.float64)
    mean, sd = (np.interp(at, path.at, part) for part in blood)
    sizes = [np.abs(own.mg_dl - mg_dl(mean + sd * x)).mean() for x in node]
    return float(np.dot(weight / weight.sum(), sizes))


def _line(trial: Trial, path: BloodPath, near: Mask) -> told.BloodLine:
    low, high = path.band(0.9)

    def shown(values: Floats) -> tuple[float | None, ...]:
        return tuple(
            value if there else None for value, there in zip(np.round(values, 1).tolist(), near, strict=True)
        )

    return told.BloodLine(_iso(trial, float(path.at[0])), STEP_S, shown(path.mg_dl), shown(low), shown(high))

"""The public way in: a trial's blood glucose between its sticks, or why it cannot be told."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from evenhand.clock import DAY, MINUTE
from evenhand.findings import METHOD
from evenhand.reconstruct.data import Mask, Pricks, Series, pricks_of, series_of
from evenhand.reconstruct.fit import Fit, fit
from evenhand.reconstruct.held_out import HeldOut, held_out
from evenhand.reconstruct.laplace import SADDLE, Curvature, settled
from evenhand.reconstruct.model import solve
from evenhand.reconstruct.path import BloodPath, path_of
from evenhand.reconstruct.pressure import PressureLow, masked, pressure_lows
from evenhand.reconstruct.priors import DELAY, METER, OWN_MANY, TAU
from evenhand.reconstruct.problem import problem_of
from evenhand.reconstruct.scale import CENTRE, Floats
from evenhand.reconstruct.sticks import blood_at, left_out_z
from evenhand.records.trial import Trial
from evenhand.stats.banded import NotPositive

LEAST_STICKS, LEAST_A_DAY, LEAST_DAYS = 25, 2.0, 3
"""With fewer usable sticks in all, a day with sticks between first and last, or days, nothing is reconstructed."""
NEAR = 30 * MINUTE
"""Sticks further from every reading than this are of no use."""
LOOSE_LAG, Z_SPREAD, MOST_DROPPED, WORST_METER = 0.8, (0.8, 1.25), 0.05, 0.09

Progress = Callable[[float, str], None]


@dataclass(frozen=True, slots=True)
class Refused:
    """No reconstruction: `code` (no-readings, few-sticks, few-sticks-a-day, few-days) and the numbers behind it."""

    code: str
    sticks: int
    days: int
    needed: float


@dataclass(frozen=True, slots=True)
class Interval:
    """A parameter at the top of the posterior, with its 95 % interval from the curvature there."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Start:
    """Where a fit with fewer sensors begins, in prior units: what all share, and by sensor id its own and its wears'."""

    shared: Floats
    own: dict[str, Floats]
    gains: dict[str, Floats]


@dataclass(frozen=True, slots=True)
class Reconstruction:
    """Blood glucose of a trial between its sticks.

    `trusted` only where nothing stands in `why_not` (held-out-days, spread, dropped, meter, curvature,
    not-converged). `cautions`: lag-from-prior. `lag` minutes (with the mean of the sensors' delays), `delays` minutes
    each sensor is slower than that; `meter` SD on the even scale. `sticks` went in, `dropped` are the ids of those
    that the fit left out as gross (they still judge), `pressure` the stretches that the fit left out. `z` (m,)
    leave-one-out distances of the sticks `pricks`. `fit` is for starting the fits without a sensor.
    """

    path: BloodPath
    held_out: HeldOut
    trusted: bool
    why_not: tuple[str, ...]
    cautions: tuple[str, ...]
    sensors: tuple[str, ...]
    lag: Interval
    delays: tuple[float, ...]
    meter: Interval
    sticks: int
    dropped: tuple[str, ...]
    pressure: tuple[PressureLow, ...]
    pricks: Pricks
    z: Floats
    fit: Fit
    curvature: Curvature

    @property
    def start(self) -> Start:
        """What the fits without a sensor begin with."""
        top = self.fit.solved
        u, priors, read = top.u, top.problem.priors, top.problem.read
        own, gains = {}, {}
        for number, name in enumerate(self.sensors):
            own[name] = u[5 + OWN_MANY * number : 5 + OWN_MANY * (number + 1)]
            gains[name] = u[priors.gains][np.unique(read.wear[read.sensor == number])]
        return Start(u[:5], own, gains)

    def with_lag(self, minutes: float) -> tuple[Floats, Floats]:
        """Mean and SD of blood on the path (even scale) with so many minutes added to the lag and all else kept."""
        top = self.fit.solved
        u = top.u.copy()
        u[TAU] += np.log1p(minutes / top.value[TAU]) / top.problem.priors.spread[TAU]
        moved = solve(top.problem, u)
        mean, variance = blood_at(moved, top.problem.grid.minutes(self.path.at))
        return mean + CENTRE, np.sqrt(variance)

    @property
    def limitation(self) -> str:
        """The code of what no reconstruction can see: an offset all sensors share between sticks, a wrong meter."""
        return "shared-offset-and-meter-unseen"


def reconstruct(
    trial: Trial,
    progress: Progress | None = None,
    without: str | None = None,
    rejected: Sequence[PressureLow] = (),
    start: Start | None = None,
) -> Reconstruction | Refused:
    """Reconstruct a trial with its readings loaded; the same trial gives the same numbers, drawn by its seed.

    `progress` hears the share done and what is being done. `without` is the id of a sensor whose readings are left
    out (the check against circularity), `rejected` are pressure lows the wearer rejected: not masked. `start` is that
    of the reconstruction with all sensors, from whose parameters a fit without one begins. Numbers so odd that
    the model cannot be solved with them are refused ('not-solved').
    """
    try:
        return _reconstructed(trial, progress or (lambda _share, _what: None), without, rejected, start)
    except (NotPositive, np.linalg.LinAlgError):
        return Refused("not-solved", 0, 0, 0)


def _reconstructed(
    trial: Trial, tell: Progress, without: str | None, rejected: Sequence[PressureLow], start: Start | None
) -> Reconstruction | Refused:
    tell(0.0, "reading")
    begun = prepared(trial, without, rejected)
    if isinstance(begun, Refused):
        return begun
    kept, lows, found = begun
    rng = _stream(trial, without)
    problem = problem_of(kept, found)
    begin = None if start is None else _begin(start, kept)
    first = fit(problem, begin, lambda share: tell(0.02 + 0.4 * share, "fitting"))
    fitted, bent = settled(first, lambda share: tell(0.42 + 0.3 * share, "how sure the parameters are"))
    span = (min(one.at[0] for one in kept), max(one.at[-1] for one in kept))
    path = path_of(fitted.solved, bent, span, rng, lambda share: tell(0.72 + 0.22 * share, "drawing paths"))
    tell(0.94, "holding days out")
    checked = held_out(fitted.solved, found.day, rng)
    tell(1.0, "done")
    return _told(kept, lows, found, (fitted, bent, path, checked))


def prepared(
    trial: Trial, without: str | None = None, rejected: Sequence[PressureLow] = ()
) -> tuple[tuple[Series, ...], tuple[PressureLow, ...], Pricks] | Refused:
    """What a fit is made from: the readings of every sensor but `without`, pressure lows and words left out; the
    pressure lows; the sticks that can be used."""
    series = series_of(trial)
    lows = tuple(low for low in pressure_lows(series) if low not in rejected)
    kept = tuple(one.where(one.plain & ~masked(one, lows)) for one in series if one.sensor != without)
    kept = tuple(one for one in kept if len(one))
    found = _enough(trial, kept)
    return found if isinstance(found, Refused) else (kept, lows, found)


def _stream(trial: Trial, without: str | None) -> np.random.Generator:
    """The stream of this trial: from its seed, METHOD, and the name of the sensor left out."""
    name = "" if without is None else next(one.name for one in trial.sensors if one.id == without)
    text = f"reconstruct/{trial.header.seed}/{METHOD}/{name}"
    return np.random.Generator(
        np.random.PCG64(int.from_bytes(hashlib.sha256(text.encode()).digest()[:16], "big"))
    )


def _enough(trial: Trial, kept: Sequence[Series]) -> Pricks | Refused:
    """The usable sticks, or why there are too few."""
    if not kept:
        return Refused("no-readings", 0, 0, 1)
    first, last = min(one.at[0] for one in kept), max(one.at[-1] for one in kept)
    every = pricks_of(trial.sticks, first - NEAR, last + NEAR)
    pricks = every.where(_near(every, kept))
    days = int(np.unique(pricks.day).size)
    if len(pricks) < LEAST_STICKS:
        return Refused("few-sticks", len(pricks), days, LEAST_STICKS)
    if days < LEAST_DAYS:
        return Refused("few-days", len(pricks), days, LEAST_DAYS)
    if len(pricks) < LEAST_A_DAY * (last - first) / DAY:
        return Refused("few-sticks-a-day", len(pricks), days, LEAST_A_DAY)
    return pricks


def _near(pricks: Pricks, kept: Sequence[Series]) -> Mask:
    """Which sticks have a reading near, shape (m,)."""
    near = np.zeros(len(pricks), np.bool_)
    for one in kept:
        after = np.clip(np.searchsorted(one.at, pricks.at), 0, len(one) - 1)
        before = np.maximum(after - 1, 0)
        away = np.minimum(np.abs(one.at[after] - pricks.at), np.abs(one.at[before] - pricks.at))
        near |= away <= NEAR
    return near


def _begin(start: Start, kept: Sequence[Series]) -> Floats | None:
    """The parameters of a fit with more sensors, for those that are kept; None where they do not match."""
    if any(one.sensor not in start.own for one in kept):
        return None
    own = [start.own[one.sensor] for one in kept]
    gains = [start.gains[one.sensor] for one in kept]
    many = [int(one.wear[-1]) + 1 for one in kept]
    if any(part.size != wears for part, wears in zip(gains, many, strict=True)):
        return None
    return np.concatenate((start.shared, *own, *gains))


def _told(
    kept: Sequence[Series],
    lows: tuple[PressureLow, ...],
    pricks: Pricks,
    parts: tuple[Fit, Curvature, BloodPath, HeldOut],
) -> Reconstruction:
    fitted, bent, path, checked = parts
    top = fitted.solved
    z, used = left_out_z(top), top.problem.told.used
    lag, delays = _lag(fitted, bent)
    meter = _interval(fitted, bent, METER)
    spread = float(z[used].std())
    wrong = {
        "held-out-days": not checked.kept,
        "spread": not Z_SPREAD[0] <= spread <= Z_SPREAD[1],
        "dropped": float(np.mean(~used)) > MOST_DROPPED,
        "meter": meter.value > WORST_METER,
        "curvature": bent.least < SADDLE,
        "not-converged": not fitted.converged,
    }
    why_not = tuple(code for code, holds in wrong.items() if holds)
    return Reconstruction(
        path=path,
        held_out=checked,
        trusted=not why_not,
        why_not=why_not,
        cautions=("lag-from-prior",) if bent.sd[TAU] > LOOSE_LAG else (),
        sensors=tuple(one.sensor for one in kept),
        lag=lag,
        delays=delays,
        meter=meter,
        sticks=int(pricks.many[used].sum()),
        dropped=tuple(name for ids, in_it in zip(pricks.ids, used, strict=True) if not in_it for name in ids),
        pressure=lows,
        pricks=pricks,
        z=z,
        fit=fitted,
        curvature=bent,
    )


def _interval(fitted: Fit, bent: Curvature, place: int) -> Interval:
    """A positive parameter with its interval, from the curvature in prior units."""
    spread = fitted.solved.problem.priors.spread[place]
    value = float(fitted.solved.value[place])
    reach = 1.959963984540054 * spread * bent.sd[place]
    return Interval(value, value * float(np.exp(-reach)), value * float(np.exp(reach)))


def _lag(fitted: Fit, bent: Curvature) -> tuple[Interval, tuple[float, ...]]:
    """The lag shown, tau plus the mean of the delays, with its interval; and each sensor's delay less that mean."""
    top = fitted.solved
    priors = top.problem.priors
    own = priors.own(DELAY)
    delay = top.value[own]
    value = float(top.value[TAU] + delay.mean())
    slope = np.zeros(priors.size)
    slope[TAU] = top.value[TAU] * priors.spread[TAU]
    slope[own] = priors.spread[own] / own.size
    reach = 1.959963984540054 * float(np.linalg.norm(slope @ bent.root))
    return Interval(value, value - reach, value + reach), tuple(float(d) for d in delay - delay.mean())

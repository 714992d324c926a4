"""Rows of data: how every reading and stick depends on the unknowns; residual = data - coefficients x - border beta."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.data import Whole
from evenhand.reconstruct.grid import STEP, Grid
from evenhand.reconstruct.priors import DELAY, METER, TAU, WHITE
from evenhand.reconstruct.problem import Problem
from evenhand.reconstruct.scale import Floats


@dataclass(frozen=True, slots=True)
class Rows:
    """R rows of one kind with s coefficients each.

    `place` (s, R) where the coefficients' unknowns stand, `by` (s, R) the coefficients, `border` (2, R) those of the
    wear's constant and of what fades, `wear` (R,) (-1: no border), `data` (R,), `scale` (R,) the residual's SD.
    """

    place: Whole
    by: Floats
    border: Floats
    wear: Whole
    data: Floats
    scale: Floats


@dataclass(frozen=True, slots=True)
class ReadRows:
    """Reading rows; `gain` and `delay` (3, R) are the derivatives of the coefficients of fluid by the gain, and of
    the residual's by the delay (fluid stands first among the coefficients)."""

    rows: Rows
    gain: Floats
    delay: Floats


def _smooth(at: Floats, grid: Grid) -> tuple[Whole, Floats, Floats]:
    """Fluid at these minutes as a sum over three grid points: the first of them, the weights (3, R) and their
    derivatives by time (3, R). The weights are the quadratic B-spline's, so that nothing jumps as a delay moves a
    reading across a grid point (straight lines have a kink there, at which a climb gets stuck)."""
    middle = np.clip(np.floor(at / STEP + 0.5).astype(np.int64), 1, grid.size - 3)
    w = at / STEP - middle
    weights = np.stack((0.5 * (0.5 - w) ** 2, 0.75 - w**2, 0.5 * (0.5 + w) ** 2))
    return middle - 1, weights, np.stack((w - 0.5, -2.0 * w, w + 0.5)) / STEP


def reading_rows(problem: Problem, value: Floats) -> ReadRows:
    """The rows of all readings at these natural parameters: three unknowns of fluid, two of the fast error, one of
    the slow offset."""
    read, own = problem.read, problem.priors.own
    step, weights, rise = _smooth(read.at - value[own(DELAY)][read.sensor], problem.grid)
    gain = 1.0 + value[problem.priors.gains][read.wear]
    rows = Rows(
        place=np.concatenate((problem.grid.fluid(step + np.arange(3)[:, None]), read.fast, read.slow[None])),
        by=np.concatenate((gain * weights, read.share, np.ones((1, read.at.size)))),
        border=np.stack((np.ones(read.at.size), read.fading)),
        wear=read.wear,
        data=read.value,
        scale=value[own(WHITE)][read.sensor],
    )
    return ReadRows(rows, weights, gain * rise)


@dataclass(frozen=True, slots=True)
class StickRows:
    """Stick rows and the derivative of their coefficients by the lag, `by_tau` (3, m)."""

    rows: Rows
    by_tau: Floats


def centre_of_step(tau: float) -> tuple[float, float]:
    """How long before a grid point the blood between it and the one before it stands, c = tau - h a / (1 - a) with
    a = exp(-h / tau), in minutes; and its derivative by tau.

    >>> round(centre_of_step(8.0)[0], 3)           # a little under half a step
    2.241
    """
    a = np.exp(-STEP / tau)
    part = STEP * a / (1.0 - a)
    return float(tau - part), float(1.0 - (part / tau) ** 2 / a)


def blood_rows(at: Floats, tau: float, grid: Grid) -> tuple[Whole, Floats, Floats]:
    """Blood at these minutes as a sum over three unknowns: places, coefficients, and their derivative by tau, (3, m).

    Blood between the grid points k and k+1 is (i_{k+1} - a i_k)/(1 - a), at t_{k+1} - c; between these instants it
    runs in straight lines.
    """
    a = float(np.exp(-STEP / tau))
    s, a_tau = 1.0 / (1.0 - a), a * STEP / tau**2
    c, c_tau = centre_of_step(tau)
    where = (at + c) / STEP - 1.0
    step = np.clip(np.floor(where).astype(np.int64), 0, grid.size - 3)
    f = where - step
    by = s * np.stack((-(1.0 - f) * a, 1.0 - f - f * a, f))
    by_a = s * s * np.stack((-(1.0 - f), 1.0 - 2.0 * f, f))
    by_f = s * np.array([a, -1.0 - a, 1.0])[:, None]
    return grid.fluid(step + np.arange(3)[:, None]), by, by_a * a_tau + by_f * (c_tau / STEP)


def stick_rows(problem: Problem, value: Floats) -> StickRows:
    """The rows of the sticks that the fit uses."""
    told = problem.told
    used = told.used
    place, by, by_tau = blood_rows(told.at[used], float(value[TAU]), problem.grid)
    m = place.shape[1]
    scale = value[METER] / np.sqrt(told.many[used])
    rows = Rows(place, by, np.zeros((2, m)), np.full(m, -1), told.value[used], scale)
    return StickRows(rows, by_tau)


@dataclass(frozen=True, slots=True)
class Pairs:
    """Every pair of coefficients of some rows: `first` and `second` (p,) their numbers, `low` (p, R) the place that
    comes first, `apart` (p, R) how far the other is, `twice` (p, R) how often the pair counts in a square."""

    first: Whole
    second: Whole
    low: Whole
    apart: Whole
    twice: Floats


def pairs_of(rows: Rows) -> Pairs:
    """The pairs of coefficients; two that meet in one unknown count twice on the diagonal."""
    first, second = np.triu_indices(rows.place.shape[0])
    one, other = rows.place[first], rows.place[second]
    apart = np.abs(one - other)
    twice = np.where((apart == 0) & (first != second)[:, None], 2.0, 1.0)
    return Pairs(first, second, np.minimum(one, other), apart, twice)


def widest(pairs: Sequence[Pairs]) -> int:
    """The half width a band needs for these pairs."""
    return max((int(one.apart.max(initial=0)) for one in pairs), default=0)

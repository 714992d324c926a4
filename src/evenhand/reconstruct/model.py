"""The log posterior at given parameters, and the blood it implies: one banded factor with a few border columns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from evenhand.reconstruct.blood import START, BloodRows, blood_model, places, precision, windows
from evenhand.reconstruct.fast import FastRows, fast_band, fast_likelihood, fast_model
from evenhand.reconstruct.grid import CELL, STEP
from evenhand.reconstruct.priors import SLOW
from evenhand.reconstruct.problem import AFTER_CALIBRATION, Problem
from evenhand.reconstruct.rows import (
    Pairs,
    ReadRows,
    Rows,
    StickRows,
    pairs_of,
    reading_rows,
    stick_rows,
    widest,
)
from evenhand.reconstruct.scale import Floats
from evenhand.stats.banded import Factor, factor

SLOW_MEMORY = 2160.0
"""Minutes of memory of a sensor's slow offset."""
BORDER = np.array([0.10, 0.08])
"""SDs of a wear's constant, and of what it starts with and loses."""
_LOG_2PI = float(np.log(2.0 * np.pi))


@dataclass(frozen=True, slots=True)
class Slow:
    """The slow offsets' rows: `keep` the correlation from one cell to the next, `precision` (sensors, cells) that of
    each row, `share` (sensors, cells) the derivative of its log SD by that of the sensor's slow SD."""

    keep: float
    precision: Floats
    share: Floats


@dataclass(frozen=True)
class Solved:
    """The model solved at parameters `u` (prior units; `value` natural). `mean` (n,) and `beta` (2 wears,) are the
    posterior means given the parameters, `through` (n, 2 wears) is P^-1 B, `schur` the precision of beta (2 wears,
    2 wears). `log_likelihood` is of the data, `log_posterior` adds the prior -u'u/2."""

    problem: Problem
    u: Floats
    value: Floats
    blood: BloodRows
    slow: Slow
    fast: FastRows
    readings: ReadRows
    sticks: StickRows
    pairs: tuple[Pairs, ...]
    factor: Factor
    through: Floats
    schur: Floats
    mean: Floats
    beta: Floats
    log_likelihood: float

    @property
    def log_posterior(self) -> float:
        """Log likelihood plus log prior, without the prior's constant."""
        return self.log_likelihood - 0.5 * float(self.u @ self.u)

    @cached_property
    def beta_covariance(self) -> Floats:
        """The covariance of beta given the parameters."""
        return np.asarray(np.linalg.inv(self.schur), np.float64)

    @cached_property
    def cross(self) -> Floats:
        """The covariance of the unknowns with beta, (n, 2 wears)."""
        return -self.through @ self.beta_covariance

    @cached_property
    def covariance(self) -> Floats:
        """The covariance of the unknowns given the parameters, within the band: (n, width + 1)."""
        band = self.factor.inverse()
        spread = -self.cross
        n = band.shape[0]
        for e in range(band.shape[1]):
            band[: n - e, e] += np.einsum("nr,nr->n", self.through[e:], spread[: n - e])
        return band

    def all_rows(self) -> tuple[Rows, ...]:
        """Every block of data rows: readings, then sticks."""
        return self.readings.rows, self.sticks.rows

    def residual(self, rows: Rows) -> Floats:
        """Data less what the posterior mean says, (R,)."""
        found: Floats = rows.data - np.einsum("sr,sr->r", rows.by, self.mean[rows.place])
        if rows.wear.size and rows.wear[0] >= 0:
            found -= np.einsum("er,er->r", rows.border, self.beta.reshape(-1, 2).T[:, rows.wear])
        return found


def solve(problem: Problem, u: Floats) -> Solved:
    """The model at these parameters; `NotPositive` where they are so wild that the factor fails."""
    value = problem.priors.value(u)
    blood, slow, fast = blood_model(value), _slow(problem, value), fast_model(problem, value)
    readings, sticks = reading_rows(problem, value), stick_rows(problem, value)
    rows = (readings.rows, sticks.rows)
    pairs = tuple(pairs_of(one) for one in rows)
    band = _prior_band(problem, (blood, slow, fast), widest(pairs))
    _add_rows(band, rows, pairs)
    wears = problem.priors.wears
    right, corner, corner_right = _right(rows, band.shape[0], wears)
    done = factor(band)
    solved = done.solve(right)
    through = solved[:, 1:]
    schur = corner - right[:, 1:].T @ through
    lack = corner_right - right[:, 1:].T @ solved[:, 0]
    beta = np.asarray(np.linalg.solve(schur, lack), np.float64)
    partial = Solved(
        problem, u, value, blood, slow, fast, readings, sticks, pairs, done, through, schur,
        solved[:, 0] - through @ beta, beta, 0.0,
    )  # fmt: skip
    return _with_likelihood(partial)


def _slow(problem: Problem, value: Floats) -> Slow:
    keep = float(np.exp(-STEP * CELL / SLOW_MEMORY))
    square = value[problem.priors.own(SLOW)][:, None] ** 2
    anew = square + AFTER_CALIBRATION**2 * problem.loosened
    variance = np.where(problem.fresh, anew, square * (1.0 - keep**2))
    return Slow(keep, 1.0 / variance, np.where(problem.fresh, square / anew, 1.0))


def _prior_band(problem: Problem, models: tuple[BloodRows, Slow, FastRows], width: int) -> Floats:
    """The precision of blood and errors before any data, in a band wide enough for the data's too."""
    grid, (blood, slow, fast) = problem.grid, models
    cell = grid.in_cell
    band = np.zeros((grid.unknowns, max(width, cell) + 1))
    first, apart = places(grid)
    compact = precision(blood, grid.size)
    for e in range(5):
        band[first[: grid.size - e, e], apart[: grid.size - e, e]] += compact[: grid.size - e, e]
    carried = np.where(problem.fresh, 0.0, slow.precision)[:, 1:]
    errors = fast_band(problem, fast)
    knot = np.arange(grid.knots)
    for sensor in range(grid.sensors):
        own = band[grid.slow(sensor, np.arange(1))[0] :: cell]
        own[:, 0] += slow.precision[sensor]
        own[:-1, 0] += carried[sensor] * slow.keep**2
        own[:-1, cell] -= carried[sensor] * slow.keep
        here = grid.fast(sensor, knot)
        for d in range(3):
            at = here[: grid.knots - d]
            band[at, here[d:] - at] += errors[sensor, : grid.knots - d, d]
    return band


def _add_rows(band: Floats, rows: tuple[Rows, ...], pairs: tuple[Pairs, ...]) -> None:
    """Add the rows' outer products."""
    width = band.shape[1]
    flat = band.reshape(-1)
    for one, pair in zip(rows, pairs, strict=True):
        by = one.by / one.scale
        product = by[pair.first] * by[pair.second] * pair.twice
        place = pair.low * width + pair.apart
        flat += np.bincount(place.ravel(), product.ravel(), flat.size)


def _right(rows: tuple[Rows, ...], order: int, wears: int) -> tuple[Floats, Floats, Floats]:
    """Right-hand side with the border columns (order, 1 + 2 wears), the border's corner (2 wears, 2 wears) and its
    right-hand side (2 wears,)."""
    right = np.zeros((order, 1 + 2 * wears))
    corner = np.diag(np.tile(BORDER**-2, wears))
    corner_right = np.zeros(2 * wears)
    for one in rows:
        weighted = one.by / one.scale**2
        right[:, 0] += np.bincount(one.place.ravel(), (weighted * one.data).ravel(), order)
        if not one.wear.size or one.wear[0] < 0:
            continue
        place = (one.place * wears + one.wear).ravel()
        border = one.border / one.scale**2
        for e in range(2):
            column = np.bincount(place, (weighted * one.border[e]).ravel(), order * wears)
            right[:, 1 + e :: 2] += column.reshape(order, wears)
            corner_right[e::2] += np.bincount(one.wear, border[e] * one.data, wears)
            for f in range(2):
                corner[np.arange(e, 2 * wears, 2), np.arange(f, 2 * wears, 2)] += np.bincount(
                    one.wear, border[e] * one.border[f], wears
                )
    return right, corner, corner_right


def _with_likelihood(solved: Solved) -> Solved:
    """The same with its log likelihood.

    log p(data) = log p(data, x, beta) - log p(x, beta | data) at any x, beta; at their mean the second is
    (log |P| + log |S|)/2 less the constant, of which as many log 2 pi stand as there are rows that are no data.
    """
    problem, blood, slow = solved.problem, solved.blood, solved.slow
    fluid = solved.mean[problem.grid.fluid(np.arange(problem.grid.size))]
    innovation = blood.by @ windows(fluid) / blood.scale
    start = blood.start @ fluid[:4] / START
    step = slow_rows(problem, slow, solved.mean)
    square = float(innovation @ innovation + start @ start + np.sum(slow.precision * step**2))
    square += float(np.sum((solved.beta.reshape(-1, 2) / BORDER) ** 2))
    knots = problem.grid.fast(np.arange(problem.grid.sensors)[:, None], np.arange(problem.grid.knots))
    log = -(problem.grid.size - 1) * blood.log_step - innovation.size * np.log(blood.scale)
    log -= float(np.log(START).sum())
    log += 0.5 * float(np.log(slow.precision).sum()) - problem.priors.wears * float(np.log(BORDER).sum())
    log += fast_likelihood(problem, solved.fast, solved.mean[knots])
    many = 0
    for rows in solved.all_rows():
        square += float(np.sum((solved.residual(rows) / rows.scale) ** 2))
        log -= float(np.log(rows.scale).sum())
        many += rows.data.size
    log -= 0.5 * (solved.factor.log_determinant + float(np.linalg.slogdet(solved.schur)[1]))
    likelihood = float(log - 0.5 * square - 0.5 * many * _LOG_2PI)
    return replace(solved, log_likelihood=likelihood)


def slow_rows(problem: Problem, slow: Slow, along: Floats) -> Floats:
    """The slow offsets' residuals, (sensors, cells), from unknowns `along` (n,)."""
    grid = problem.grid
    offset = along[grid.slow(np.arange(grid.sensors)[:, None], np.arange(grid.cells))]
    found = offset.copy()
    found[:, 1:] -= np.where(problem.fresh[:, 1:], 0.0, slow.keep) * offset[:, :-1]
    return found

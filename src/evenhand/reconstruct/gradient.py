"""The exact gradient of the log posterior, by Fisher's identity and the inverse within the band.

d log p(data | u) / du = E[ d log p(data, x, beta | u) / du | data, u ]: every row brings its own derivative, and its
expected square needs only covariances of unknowns that stand in one row, all within the band.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.blood import START
from evenhand.reconstruct.fast import fast_slopes
from evenhand.reconstruct.model import Solved, slow_rows
from evenhand.reconstruct.priors import (
    DELAY,
    FAST,
    LONG,
    METER,
    SHORT,
    SIGMA_V,
    SLOW,
    TAU,
    TAU_A,
    TAU_V,
    WHITE,
)
from evenhand.reconstruct.rows import Pairs, Rows
from evenhand.reconstruct.scale import Floats


@dataclass(frozen=True, slots=True)
class Spread:
    """What a block of rows knows of the posterior: `residual` (R,) at the mean; `towards` (s, R) and `border` (2, R)
    the covariance of the row's linear part with its unknowns and its wear's border."""

    residual: Floats
    towards: Floats
    border: Floats

    def product(self, other: Floats, by: Floats, border: Floats | None) -> Floats:
        """E[residual x other] for a linear other = its mean `other` (R,) less deviations by `by` (s, R) and `border`
        (2, R)."""
        found: Floats = self.residual * other + np.einsum("sr,sr->r", self.towards, by)
        if border is not None:
            found += np.einsum("er,er->r", self.border, border)
        return found


def spread_of(solved: Solved, rows: Rows, pairs: Pairs) -> Spread:
    """The spread of a block of rows."""
    flat = solved.covariance.reshape(-1)
    shared = flat[pairs.low * solved.covariance.shape[1] + pairs.apart]
    towards = np.zeros_like(rows.by)
    for first, second, part in zip(pairs.first, pairs.second, shared, strict=True):
        towards[first] += part * rows.by[second]
        if first != second:
            towards[second] += part * rows.by[first]
    border = np.zeros_like(rows.border)
    if rows.wear.size and rows.wear[0] >= 0:
        wears = solved.beta.size // 2
        cross = solved.cross.reshape(-1, wears, 2)
        near = cross[rows.place, rows.wear]
        towards += near[:, :, 0] * rows.border[0] + near[:, :, 1] * rows.border[1]
        border += np.einsum("sre,sr->er", near, rows.by)
        own = solved.beta_covariance.reshape(wears, 2, wears, 2)[np.arange(wears), :, np.arange(wears), :]
        border += np.einsum("ref,fr->er", own[rows.wear], rows.border)
    return Spread(solved.residual(rows), towards, border)


def gradient(solved: Solved) -> Floats:
    """The gradient of the log posterior by u, shape (size,)."""
    priors = solved.problem.priors
    natural = np.zeros(priors.size)
    _add_blood(solved, natural)
    _add_slow(solved, natural)
    _add_fast(solved, natural)
    _add_readings(solved, natural)
    _add_sticks(solved, natural)
    return natural * priors.spread - solved.u


def expected_fluid(solved: Solved) -> Floats:
    """E[i_k i_{k+e}] for e = 0 to 4, shape (size, 5); 0 beyond the grid."""
    grid = solved.problem.grid
    at = grid.fluid(np.arange(grid.size))
    fluid = solved.mean[at]
    found = np.zeros((grid.size, 5))
    for e in range(5):
        first, later = at[: grid.size - e], at[e:]
        found[: grid.size - e, e] = (
            solved.covariance[first, later - first] + fluid[: grid.size - e] * fluid[e:]
        )
    return found


def _add_blood(solved: Solved, natural: Floats) -> None:
    blood, moments = solved.blood, expected_fluid(solved)
    many = moments.shape[0] - 4
    full, first = np.zeros((5, 5)), np.zeros((4, 4))
    for e in range(5):
        for j in range(5 - e):
            full[j, j + e] = full[j + e, j] = moments[j : j + many, e].sum()
            if j + e < 4:
                first[j, j + e] = first[j + e, j] = moments[j, e]
    toward = full @ blood.by / blood.scale**2
    lack = float(blood.by @ toward) - many
    natural[SIGMA_V] += lack
    natural[TAU_V] += lack * blood.scale_v - float(blood.by_v @ toward)
    natural[TAU_A] += lack * blood.scale_a - float(blood.by_a @ toward)
    start = float(np.sum((blood.start @ first) * blood.start_tau / START[:, None] ** 2))
    natural[TAU] += (solved.problem.grid.size - 1) * blood.jacobian_tau
    natural[TAU] -= float(blood.by_tau @ toward) + start


def _add_slow(solved: Solved, natural: Floats) -> None:
    problem, slow = solved.problem, solved.slow
    grid = problem.grid
    place = grid.slow(np.arange(grid.sensors)[:, None], np.arange(grid.cells))
    own, link = solved.covariance[place, 0], solved.covariance[place[:, :-1], grid.in_cell]
    square = slow_rows(problem, slow, solved.mean) ** 2 + own
    keep = np.where(problem.fresh[:, 1:], 0.0, slow.keep)
    square[:, 1:] += keep**2 * own[:, :-1] - 2.0 * keep * link
    natural[problem.priors.own(SLOW)] += np.sum(slow.share * (slow.precision * square - 1.0), axis=1)


def _add_fast(solved: Solved, natural: Floats) -> None:
    problem = solved.problem
    grid, own = problem.grid, problem.priors.own
    place = grid.fast(np.arange(grid.sensors)[:, None], np.arange(grid.knots))
    error = solved.mean[place]
    moments = np.zeros((*place.shape, 3))
    for d in range(3):
        here, later = place[:, : grid.knots - d], place[:, d:]
        shared = solved.covariance[here, later - here]
        moments[:, : grid.knots - d, d] = shared + error[:, : grid.knots - d] * error[:, d:]
    for what, slope in zip((FAST, LONG, SHORT), fast_slopes(problem, solved.fast, moments), strict=True):
        natural[own(what)] += slope


def _add_readings(solved: Solved, natural: Floats) -> None:
    problem, block, rows = solved.problem, solved.readings, solved.readings.rows
    priors, sensors, sensor = problem.priors, problem.priors.sensors, problem.read.sensor
    spread = spread_of(solved, rows, solved.pairs[0])
    exact = 1.0 / rows.scale**2
    lack = exact * spread.product(spread.residual, rows.by, rows.border) - 1.0
    fluid = Spread(spread.residual, spread.towards[:3], spread.border)
    unknown = solved.mean[rows.place[:3]]
    by_gain = exact * fluid.product(-np.einsum("sr,sr->r", block.gain, unknown), block.gain, None)
    by_delay = exact * fluid.product(-np.einsum("sr,sr->r", block.delay, unknown), block.delay, None)
    natural[priors.own(WHITE)] += np.bincount(sensor, lack, sensors)
    natural[priors.own(DELAY)] += np.bincount(sensor, by_delay, sensors)
    natural[priors.gains] -= np.bincount(rows.wear, by_gain, priors.wears)


def _add_sticks(solved: Solved, natural: Floats) -> None:
    rows, pairs = solved.sticks.rows, solved.pairs[-1]
    spread = spread_of(solved, rows, pairs)
    exact = 1.0 / rows.scale**2
    natural[METER] += float(np.sum(exact * spread.product(spread.residual, rows.by, None) - 1.0))
    moved = -np.einsum("sr,sr->r", solved.sticks.by_tau, solved.mean[rows.place])
    by_tau = exact * spread.product(moved, solved.sticks.by_tau, None)
    natural[TAU] -= float(by_tau.sum()) * float(solved.value[TAU])


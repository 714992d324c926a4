"""The exact gradient of the log posterior, by Fisher's identity and the inverse within the band.

d log p(data | u) / du = E[ d log p(data, x, beta | u) / du | data, u ]: every row brings its own derivative, and its
expected square needs only covariances of unknowns that stand in one row, all within the band.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.blood import START
from evenhand.reconstruct.data import Whole
from evenhand.reconstruct.fast import fast_slopes
from evenhand.reconstruct.grid import CELL, Blocks
from evenhand.reconstruct.model import Solved, slow_rows
from evenhand.reconstruct.priors import (
    DELAY,
    FAST,
    MEMORY,
    METER,
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
    whole = Blocks.whole(solved.problem.grid)
    return np.asarray(scores(solved, whole)[0] - solved.u, np.float64)


def scores(solved: Solved, blocks: Blocks) -> Floats:
    """The gradient of the log likelihood by u, stretch by stretch, shape (blocks, size)."""
    natural = np.zeros((blocks.count, solved.problem.priors.size))
    _add_blood(solved, blocks, natural)
    _add_slow(solved, blocks, natural)
    _add_fast(solved, blocks, natural)
    _add_readings(solved, blocks, natural)
    _add_sticks(solved, blocks, natural)
    delay = solved.problem.priors.own(DELAY)
    natural[:, delay] -= natural[:, delay].mean(axis=1, keepdims=True)
    return natural * solved.problem.priors.spread


def expected_fluid(solved: Solved) -> Floats:
    """E[i_k i_{k+e}] for e = 0 to 4, shape (5, size); 0 beyond the grid."""
    grid = solved.problem.grid
    at = grid.fluid(np.arange(grid.size))
    fluid = solved.mean[at]
    found = np.zeros((5, grid.size))
    for e in range(5):
        first, later = at[: grid.size - e], at[e:]
        found[e, : grid.size - e] = (
            solved.covariance[first, later - first] + fluid[: grid.size - e] * fluid[e:]
        )
    return found


def _add_blood(solved: Solved, blocks: Blocks, natural: Floats) -> None:
    blood, moments = solved.blood, expected_fluid(solved)
    size = moments.shape[1]
    full, first = np.zeros((5, 5, blocks.count)), np.zeros((4, 4))
    row = np.zeros((5, size))
    for e in range(5):
        for j in range(5 - e):
            row[j, : size - 4] = moments[e, j : j + size - 4]
            if j + e < 4:
                first[j, j + e] = first[j + e, j] = moments[e, j]
        summed = blocks.sums(row[: 5 - e], CELL)
        for j in range(5 - e):
            full[j, j + e] = full[j + e, j] = summed[j]
    ones = np.zeros(size)
    ones[: size - 4] = 1.0
    toward = np.einsum("jlb,l->bj", full, blood.by) / blood.scale**2
    lack = toward @ blood.by - blocks.sums(ones, CELL)
    natural[:, SIGMA_V] += lack
    natural[:, TAU_V] += lack * blood.scale_v - toward @ blood.by_v
    natural[:, TAU_A] += lack * blood.scale_a - toward @ blood.by_a
    natural[:, TAU] += blocks.sums(np.ones(size), CELL) * blood.jacobian_tau - toward @ blood.by_tau
    start = float(np.sum((blood.start @ first) * blood.start_tau / START[:, None] ** 2))
    natural[0, TAU] -= start + blood.jacobian_tau


def _add_slow(solved: Solved, blocks: Blocks, natural: Floats) -> None:
    problem, slow = solved.problem, solved.slow
    grid = problem.grid
    place = grid.slow(np.arange(grid.sensors)[:, None], np.arange(grid.cells))
    own, link = solved.covariance[place, 0], solved.covariance[place[:, :-1], grid.in_cell]
    square = slow_rows(problem, slow, solved.mean) ** 2 + own
    keep = np.where(problem.fresh[:, 1:], 0.0, slow.keep)
    square[:, 1:] += keep**2 * own[:, :-1] - 2.0 * keep * link
    natural[:, problem.priors.own(SLOW)] += blocks.sums(slow.share * (slow.precision * square - 1.0), 1).T


def _add_fast(solved: Solved, blocks: Blocks, natural: Floats) -> None:
    problem = solved.problem
    grid, own = problem.grid, problem.priors.own
    place = grid.fast(np.arange(grid.sensors)[:, None], np.arange(grid.knots))
    error = solved.mean[place]
    moments = np.zeros((*place.shape, 3))
    for d in range(3):
        here, later = place[:, : grid.knots - d], place[:, d:]
        shared = solved.covariance[here, later - here]
        moments[:, : grid.knots - d, d] = shared + error[:, : grid.knots - d] * error[:, d:]
    by_sd, by_memory = fast_slopes(problem, solved.fast, moments, blocks)
    natural[:, own(FAST)] += by_sd
    natural[:, own(MEMORY)] += by_memory


def _add_readings(solved: Solved, blocks: Blocks, natural: Floats) -> None:
    problem, block, rows = solved.problem, solved.readings, solved.readings.rows
    priors, sensor = problem.priors, problem.read.sensor
    spread = spread_of(solved, rows, solved.pairs[0])
    exact = 1.0 / rows.scale**2
    lack = exact * spread.product(spread.residual, rows.by, rows.border) - 1.0
    fluid = Spread(spread.residual, spread.towards[:3], spread.border)
    unknown = solved.mean[rows.place[:3]]
    by_gain = exact * fluid.product(-np.einsum("sr,sr->r", block.gain, unknown), block.gain, None)
    by_delay = exact * fluid.product(-np.einsum("sr,sr->r", block.delay, unknown), block.delay, None)
    when = blocks.at(problem.read.at)

    def by(which: Whole, many: int, part: Floats) -> Floats:
        found = np.bincount(when * many + which, part, blocks.count * many)
        return np.asarray(found.reshape(blocks.count, many), np.float64)

    natural[:, priors.own(WHITE)] += by(sensor, priors.sensors, lack)
    natural[:, priors.own(DELAY)] += by(sensor, priors.sensors, by_delay)
    natural[:, priors.gains] -= by(rows.wear, priors.wears, by_gain)


def _add_sticks(solved: Solved, blocks: Blocks, natural: Floats) -> None:
    rows, told = solved.sticks.rows, solved.problem.told
    spread = spread_of(solved, rows, solved.pairs[1])
    exact = 1.0 / rows.scale**2
    when = blocks.at(told.at[told.used])
    moved = -np.einsum("sr,sr->r", solved.sticks.by_tau, solved.mean[rows.place])
    by_tau = exact * spread.product(moved, solved.sticks.by_tau, None) * float(solved.value[TAU])
    lack = exact * spread.product(spread.residual, rows.by, None) - 1.0
    natural[:, METER] += np.bincount(when, lack, blocks.count)
    natural[:, TAU] -= np.bincount(when, by_tau, blocks.count)

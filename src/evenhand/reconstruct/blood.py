"""Blood's own rows: three poles, how it starts, and what their expected squares say about the parameters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.data import Whole
from evenhand.reconstruct.grid import STEP, Grid
from evenhand.reconstruct.priors import SIGMA_V, TAU, TAU_A, TAU_V
from evenhand.reconstruct.scale import Floats

RETURN = 720.0
"""Minutes in which blood returns to its middle."""
START = np.array([0.1, 0.5, 0.1, 0.1])
"""SDs at the start: fluid less blood, blood, its first and second difference."""


@dataclass(frozen=True, slots=True)
class BloodRows:
    """`by` (5,) the coefficients of an innovation on fluid at five neighbouring grid points, `scale` its SD;
    `by_tau`, `by_v`, `by_a` its derivatives by the logarithms of lag, velocity's and drive's memory, and
    `scale_v`, `scale_a` those of log `scale`. `start` (4, 4) the rows of the start on the first four grid points and
    `start_tau` their derivative by log lag; `jacobian_tau` that of -log(1 - a)."""

    by: Floats
    scale: float
    by_tau: Floats
    by_v: Floats
    by_a: Floats
    scale_v: float
    scale_a: float
    start: Floats
    start_tau: Floats
    log_step: float
    jacobian_tau: float


def blood_model(value: Floats) -> BloodRows:
    """The rows at these natural parameters."""
    tau, tau_v, tau_a = float(value[TAU]), float(value[TAU_V]), float(value[TAU_A])
    a = np.exp(-STEP / tau)
    p1, p2, p3 = np.exp(-STEP / RETURN), np.exp(-STEP / tau_v), np.exp(-STEP / tau_a)
    lead, lead_a = np.array([-a, 1.0]) / (1.0 - a), np.array([-1.0, 1.0]) / (1.0 - a) ** 2
    back1, back2, back3 = np.array([-p1, 1.0]), np.array([-p2, 1.0]), np.array([-p3, 1.0])
    poles = np.convolve(np.convolve(back1, back2), back3)
    a_log, v_log, a3_log = a * STEP / tau, p2 * STEP / tau_v, p3 * STEP / tau_a
    shift = np.array([-1.0, 0.0])
    by_v = np.convolve(np.convolve(np.convolve(back1, shift), back3), lead) * v_log
    by_a = np.convolve(np.convolve(np.convolve(back1, back2), shift), lead) * a3_log
    both = p2 * p3
    inside = (1 - both) * (1 - p2**2) * (1 - p3**2) / (1 + both)
    cross = -1.0 / (1 - both) - 1.0 / (1 + both)
    scale_v = 0.5 * (cross * p3 - 2 * p2 / (1 - p2**2)) * v_log
    scale_a = 0.5 * (cross * p2 - 2 * p3 / (1 - p3**2)) * a3_log
    start, start_a = _start(lead), _start(lead_a)
    start[0, 0] += 1.0
    return BloodRows(
        by=np.convolve(poles, lead),
        scale=float(value[SIGMA_V] * STEP * np.sqrt(inside)),
        by_tau=np.convolve(poles, lead_a) * a_log,
        by_v=by_v,
        by_a=by_a,
        scale_v=float(scale_v),
        scale_a=float(scale_a),
        start=start,
        start_tau=start_a * a_log,
        log_step=float(np.log1p(-a)),
        jacobian_tau=float(a_log / (1.0 - a)),
    )


def _start(lead: Floats) -> Floats:
    """Minus the first blood, the first blood, its first and its second difference, on four grid points; (4, 4)."""
    rows = np.zeros((4, 4))
    rows[0, :2], rows[1, :2] = -lead, lead
    rows[2, :3] = np.convolve(lead, [-1.0, 1.0])
    rows[3] = np.convolve(lead, [1.0, -2.0, 1.0])
    return rows


def windows(along: Floats) -> Floats:
    """Five neighbouring values for every innovation, shape (5, size - 4), from values along the grid (size,)."""
    return np.stack([along[j : along.size - 4 + j] for j in range(5)])


def precision(model: BloodRows, size: int) -> Floats:
    """The precision of fluid from these rows, as a band of shape (size, 5)."""
    band = np.zeros((size, 5))
    by = model.by / model.scale
    for e in range(5):
        for j in range(5 - e):
            band[j : j + size - 4, e] += by[j] * by[j + e]
    square = (model.start / START[:, None]).T @ (model.start / START[:, None])
    for e in range(4):
        band[: 4 - e, e] += np.diag(square, -e)
    return band


def places(grid: Grid) -> tuple[Whole, Whole]:
    """For every grid point and distance 0 to 4 within the grid: where fluid stands, and how far the later one is
    among the unknowns; shape (size, 5), distance 0 where there is none."""
    step = np.arange(grid.size)
    first = grid.fluid(step)[:, None] + np.zeros(5, np.int64)
    later = np.minimum(step[:, None] + np.arange(5), grid.size - 1)
    return first, grid.fluid(later) - first

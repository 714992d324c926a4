"""The fast error of every sensor: a double pole on a grid of ten minutes, and what its expected squares say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.data import Mask
from evenhand.reconstruct.grid import KNOT, STEP, Blocks
from evenhand.reconstruct.priors import FAST, MEMORY
from evenhand.reconstruct.problem import Problem
from evenhand.reconstruct.scale import Floats


@dataclass(frozen=True, slots=True)
class FastRows:
    """For every sensor, arrays of shape (sensors,): `sum` 2q and `product` q^2 of its double pole q, `near` the
    correlation from one knot to the next, `first`, `second`, `scale` the SDs of a first row, of one after a first,
    and of all others; `by_memory` (4, sensors) derivatives by the logarithm of the memory of `sum`, `product`,
    `near` and log `scale`."""

    sum: Floats
    product: Floats
    near: Floats
    first: Floats
    second: Floats
    scale: Floats
    by_memory: Floats


def fast_model(problem: Problem, value: Floats) -> FastRows:
    """The rows at these natural parameters.

    e_k - 2q e_(k-1) + q^2 e_(k-2) with q = exp(-10 min / memory) has variance fast^2 (1 - q^2)^3 / (1 + q^2), which
    makes the SD of e fast; a first e has SD fast, and the next given it is r e + N(0, fast^2 (1 - r^2)) with
    r = 2q/(1 + q^2).
    """
    own = problem.priors.own
    sd, memory = value[own(FAST)], value[own(MEMORY)]
    q = np.exp(-STEP * KNOT / memory)
    both = q**2
    near = 2.0 * q / (1.0 + both)
    slope = np.stack(
        (np.full_like(q, 2.0), 2.0 * q, 2.0 * (1.0 - both) / (1.0 + both) ** 2,
         -3.0 * q / (1.0 - both) - q / (1.0 + both))
    )  # fmt: skip
    return FastRows(
        2.0 * q, both, near, sd, sd * np.sqrt(1.0 - near**2), sd * np.sqrt((1.0 - both) ** 3 / (1.0 + both)),
        slope * (q * STEP * KNOT / memory),
    )  # fmt: skip


def kinds(anew: Mask) -> tuple[Mask, Mask, Mask]:
    """Which knots are first ones, which come after a first, and all others; (sensors, knots) each."""
    after = np.zeros_like(anew)
    after[:, 1:] = anew[:, :-1]
    after &= ~anew
    return anew, after, ~(anew | after)


def fast_band(problem: Problem, model: FastRows) -> Floats:
    """The precision of the fast errors as (sensors, knots, 3): entry [s, k, d] couples knots k and k + d."""
    first, after, others = kinds(problem.anew)
    band = np.zeros((*problem.anew.shape, 3))
    third = others / model.scale[:, None] ** 2
    second = after / model.second[:, None] ** 2
    total, product, near = model.sum[:, None], model.product[:, None], model.near[:, None]
    band[:, :, 0] += first / model.first[:, None] ** 2 + second + third
    band[:, :-1, 0] += (third * total**2 + second * near**2)[:, 1:]
    band[:, :-1, 1] -= (third * total + second * near)[:, 1:]
    band[:, :-2, 0] += (third * product**2)[:, 2:]
    band[:, :-2, 1] -= (third * total * product)[:, 2:]
    band[:, :-2, 2] += (third * product)[:, 2:]
    return band


def fast_likelihood(problem: Problem, model: FastRows, error: Floats) -> float:
    """Log density of fast errors (sensors, knots), without its log 2 pi."""
    moments = np.zeros((*error.shape, 3))
    for d in range(3):
        moments[:, : error.shape[1] - d, d] = error[:, : error.shape[1] - d] * error[:, d:]
    square = float(np.sum(fast_band(problem, model) * moments * np.array([1.0, 2.0, 2.0])))
    scales = (model.first, model.second, model.scale)
    parts = zip(kinds(problem.anew), scales, strict=True)
    return -sum(float(kind.sum(axis=1) @ np.log(sd)) for kind, sd in parts) - 0.5 * square


def fast_slopes(problem: Problem, model: FastRows, moments: Floats, blocks: Blocks) -> tuple[Floats, Floats]:
    """Expected derivatives of the log density by the logarithms of SD and memory, (blocks, sensors) each.

    `moments` (sensors, knots, 3): E[e_k e_(k+d)].
    """
    first, after, others = kinds(problem.anew)
    here = moments[:, :, 0]
    lags = np.zeros((5, *here.shape))
    lags[0, :, 1:], lags[1, :, 1:] = moments[:, :-1, 0], moments[:, :-1, 1]
    lags[2, :, 2:], lags[3, :, 2:], lags[4, :, 2:] = (
        moments[:, :-2, 0],
        moments[:, :-2, 1],
        moments[:, :-2, 2],
    )
    back, link, back2, link2, far = lags

    def over(kind: Mask, part: Floats) -> Floats:
        return blocks.knots(kind * part).T

    many, ones = over(others, np.ones_like(here)), over(after, np.ones_like(here))
    total, product, near = model.sum, model.product, model.near
    h, b, b2 = over(others, here), over(others, back), over(others, back2)
    hb, bb, hb2 = over(others, link), over(others, link2), over(others, far)
    third = h + total**2 * b + product**2 * b2 - 2 * total * hb + 2 * product * hb2 - 2 * total * product * bb
    ha, ba, hba = over(after, here), over(after, back), over(after, link)
    second = ha + near**2 * ba - 2 * near * hba
    lack3, lack2 = third / model.scale**2 - many, second / model.second**2 - ones
    lack1 = over(first, here) / model.first**2 - over(first, np.ones_like(here))
    by_sum = -(total * b - hb - product * bb) / model.scale**2
    by_product = -(product * b2 + hb2 - total * bb) / model.scale**2
    by_near = -(near * ba - hba) / model.second**2 - lack2 * near / (1.0 - near**2)
    slope = model.by_memory
    along = by_sum * slope[0] + by_product * slope[1] + by_near * slope[2] + lack3 * slope[3]
    return lack1 + lack2 + lack3, along

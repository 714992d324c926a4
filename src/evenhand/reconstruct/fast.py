"""The fast error of every sensor: two poles on a grid of ten minutes, and what its expected squares say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.data import Mask
from evenhand.reconstruct.grid import KNOT, STEP
from evenhand.reconstruct.priors import FAST, LONG, SHORT
from evenhand.reconstruct.problem import Problem
from evenhand.reconstruct.scale import Floats


@dataclass(frozen=True, slots=True)
class FastRows:
    """For every sensor, arrays of shape (sensors,): `sum` q1 + q2 and `product` q1 q2 of its poles, `near` their
    correlation from one knot to the next, `first`, `second`, `scale` the SDs of a first row, of one after a first,
    and of all others; `by_long`, `by_short` (4, sensors) derivatives by the logarithms of the memories of `sum`,
    `product`, `near` and log `scale`."""

    sum: Floats
    product: Floats
    near: Floats
    first: Floats
    second: Floats
    scale: Floats
    by_long: Floats
    by_short: Floats


def fast_model(problem: Problem, value: Floats) -> FastRows:
    """The rows at these natural parameters.

    e_k - (q1 + q2) e_(k-1) + q1 q2 e_(k-2) has variance fast^2 (1 - q1 q2)(1 - q1^2)(1 - q2^2)/(1 + q1 q2), which
    makes the SD of e fast; a first e has SD fast, and the next given it is r e + N(0, fast^2 (1 - r^2)) with
    r = (q1 + q2)/(1 + q1 q2).
    """
    own = problem.priors.own
    sd, long, short = value[own(FAST)], value[own(LONG)], value[own(SHORT)]
    step = STEP * KNOT
    q1, q2 = np.exp(-step / long), np.exp(-step / short)
    both = q1 * q2
    near = (q1 + q2) / (1.0 + both)
    inside = (1.0 - both) * (1.0 - q1**2) * (1.0 - q2**2) / (1.0 + both)

    def slopes(q: Floats, other: Floats, memory: Floats) -> Floats:
        near_q = (1.0 - other**2) / (1.0 + both) ** 2
        log_q = 0.5 * (-other / (1.0 - both) - other / (1.0 + both) - 2.0 * q / (1.0 - q**2))
        return np.stack((np.ones_like(q), other, near_q, log_q)) * (q * step / memory)

    return FastRows(
        q1 + q2, both, near, sd, sd * np.sqrt(1.0 - near**2), sd * np.sqrt(inside),
        slopes(q1, q2, long), slopes(q2, q1, short),
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
    band = fast_band(problem, model)
    square = float(np.sum(band * moments * np.array([1.0, 2.0, 2.0])))
    scales = (model.first, model.second, model.scale)
    log = sum(float(kind.sum(axis=1) @ np.log(sd)) for kind, sd in zip(kinds(problem.anew), scales, strict=True))
    return -log - 0.5 * square


def fast_slopes(problem: Problem, model: FastRows, moments: Floats) -> tuple[Floats, Floats, Floats]:
    """Expected derivatives of the log density by the logarithms of SD and both memories, (sensors,) each.

    `moments` (sensors, knots, 3): E[e_k e_(k+d)].
    """
    first, after, others = kinds(problem.anew)
    here = moments[:, :, 0]
    back, link = np.zeros_like(here), np.zeros_like(here)
    back[:, 1:], link[:, 1:] = moments[:, :-1, 0], moments[:, :-1, 1]
    back2, link2, far = np.zeros_like(here), np.zeros_like(here), np.zeros_like(here)
    back2[:, 2:], link2[:, 2:], far[:, 2:] = moments[:, :-2, 0], moments[:, :-2, 1], moments[:, :-2, 2]

    def over(kind: Mask, part: Floats) -> Floats:
        return np.asarray(np.sum(kind * part, axis=1), np.float64)

    many, ones = others.sum(axis=1), after.sum(axis=1)
    total, product, near = model.sum, model.product, model.near
    h, b, b2 = over(others, here), over(others, back), over(others, back2)
    hb, bb, hb2 = over(others, link), over(others, link2), over(others, far)
    third = h + total**2 * b + product**2 * b2 - 2 * total * hb + 2 * product * hb2 - 2 * total * product * bb
    ha, ba, hba = over(after, here), over(after, back), over(after, link)
    second = ha + near**2 * ba - 2 * near * hba
    lack3, lack2 = third / model.scale**2 - many, second / model.second**2 - ones
    lack1 = over(first, here) / model.first**2 - first.sum(axis=1)
    by_sum = -(total * b - hb - product * bb) / model.scale**2
    by_product = -(product * b2 + hb2 - total * bb) / model.scale**2
    by_near = -(near * ba - hba) / model.second**2 - lack2 * near / (1.0 - near**2)

    def along(slope: Floats) -> Floats:
        return np.asarray(by_sum * slope[0] + by_product * slope[1] + by_near * slope[2] + lack3 * slope[3])

    return lack1 + lack2 + lack3, along(model.by_long), along(model.by_short)

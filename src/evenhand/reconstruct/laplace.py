"""How sure the parameters are: curvature at the top from exact gradients, and parameters drawn from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.climb import climb
from evenhand.reconstruct.fit import FINE, Fit
from evenhand.reconstruct.gradient import gradient, scores
from evenhand.reconstruct.grid import Blocks
from evenhand.reconstruct.model import solve
from evenhand.reconstruct.priors import FARTHEST
from evenhand.reconstruct.scale import Floats

REACH = 0.3
"""How far along each direction the gradient is taken, in posterior SDs as the climb knows them."""
SADDLE, AGAIN = 0.5, 2
"""Below this least curvature the climb goes on, at most so often."""
FLOOR = 1.0
"""The least curvature of the log posterior along any direction, in prior units: that of the prior alone."""


@dataclass(frozen=True, slots=True)
class Curvature:
    """`root` (size, size): u + root z are draws of the parameters for standard normal z; `sd` (size,) their SDs;
    `least` the smallest curvature found before it was floored at that of the prior; `flattest`
    (size,) is its direction; `inverse` (size, size) the covariance
    that the curvature alone would give."""

    root: Floats
    sd: Floats
    least: float
    flattest: Floats
    inverse: Floats


def settled(fitted: Fit, told: Callable[[float], None]) -> tuple[Fit, Curvature]:
    """The fit and its curvature; where the curvature shows that the climb ended on a saddle, it goes on from a step
    to both sides along the flattest direction, and the higher end is kept."""
    bent = curvature(fitted, told)
    for _ in range(AGAIN):
        if bent.least >= SADDLE:
            break
        top = fitted.solved
        ends = [
            climb(top.problem, np.clip(top.u + side * bent.flattest, -FARTHEST, FARTHEST), bent.inverse, FINE)
            for side in (-1.0, 1.0)
        ]
        best = max(ends, key=lambda end: end.solved.log_posterior)
        steps = fitted.steps + sum(end.steps for end in ends)
        fitted = Fit(best.solved, best.inverse, steps, best.reached)
        bent = curvature(fitted, lambda _share: None)
    return fitted, bent


def curvature(fitted: Fit, told: Callable[[float], None]) -> Curvature:
    """The curvature of the log posterior at the fitted parameters.

    Gradients are taken at both sides along the columns of the climb's own root of the inverse curvature, in which
    the posterior is nearly round; their differences, turned back, are the Hessian.
    """
    top = fitted.solved
    size = top.u.size
    root = np.linalg.cholesky(0.5 * (fitted.inverse + fitted.inverse.T))
    bent = np.zeros((size, size))
    for column in range(size):
        way = REACH * root[:, column]
        ahead = gradient(solve(top.problem, np.clip(top.u + way, -FARTHEST, FARTHEST)))
        back = gradient(solve(top.problem, np.clip(top.u - way, -FARTHEST, FARTHEST)))
        bent[:, column] = root.T @ (back - ahead) / (2.0 * REACH)
        told((column + 1) / size)
    turned = np.linalg.inv(root)
    hessian = turned.T @ (0.5 * (bent + bent.T)) @ turned
    values, vectors = np.linalg.eigh(0.5 * (hessian + hessian.T))
    inverse = (vectors / np.maximum(values, FLOOR)) @ vectors.T
    days = scores(top, Blocks.days(top.problem.grid))
    scatter = days - days.mean(axis=0)
    many = days.shape[0]
    meat = np.eye(size) + scatter.T @ scatter * (many / max(many - 1, 1))
    robust = inverse @ meat @ inverse
    wide, turn = np.linalg.eigh(0.5 * (robust + robust.T))
    drawn = turn * np.sqrt(np.maximum(wide, 0.0))
    return Curvature(drawn, np.sqrt((drawn**2).sum(axis=1)), float(values[0]), vectors[:, 0], inverse)

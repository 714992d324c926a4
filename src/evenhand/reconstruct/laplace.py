"""How sure the parameters are: curvature at the top from exact gradients, and parameters drawn from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.fit import Fit
from evenhand.reconstruct.gradient import gradient, scores
from evenhand.reconstruct.grid import Blocks
from evenhand.reconstruct.model import solve
from evenhand.reconstruct.priors import FARTHEST
from evenhand.reconstruct.scale import Floats

REACH = 0.3
"""How far along each direction the gradient is taken, in posterior SDs as the climb knows them."""
FLOOR = 1.0
"""The least curvature of the log posterior along any direction, in prior units: that of the prior alone."""


@dataclass(frozen=True, slots=True)
class Curvature:
    """`root` (size, size): u + root z are draws of the parameters for standard normal z; `sd` (size,) their SDs;
    `least` the smallest curvature found before it was floored at that of the prior; `naive` (size,) SDs from the
    curvature alone."""

    root: Floats
    sd: Floats
    least: float
    naive: Floats


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
    return Curvature(drawn, np.sqrt((drawn**2).sum(axis=1)), float(values[0]), np.sqrt(np.diag(inverse)))

"""Every stick against what the rest says of it: the check by leaving one out, and which the fit then uses."""

from __future__ import annotations

import numpy as np

from evenhand.reconstruct.data import Mask
from evenhand.reconstruct.model import Solved, solve
from evenhand.reconstruct.priors import METER, TAU
from evenhand.reconstruct.problem import Problem
from evenhand.reconstruct.rows import blood_rows
from evenhand.reconstruct.scale import Floats

GROSS = 4.0
"""A stick further off than so many of its SDs is left out of the fit."""


def blood_at(solved: Solved, at: Floats) -> tuple[Floats, Floats]:
    """Mean (centred) and variance of blood at these minutes, given the parameters; shapes of `at`."""
    place, by, _ = blood_rows(at, float(solved.value[TAU]), solved.problem.grid)
    mean = np.einsum("sm,sm->m", by, solved.mean[place])
    flat, width = solved.covariance.reshape(-1), solved.covariance.shape[1]
    variance = np.zeros(at.size)
    for first in range(3):
        for second in range(first, 3):
            low, high = place[first], place[second]
            times = 1.0 if first == second else 2.0
            variance += times * by[first] * by[second] * flat[low * width + high - low]
    return np.asarray(mean, np.float64), variance


def left_out_z(solved: Solved) -> Floats:
    """For every stick, how far it is from what all the rest says, in SDs of that; shape (m,).

    For a stick in the fit with residual r, variance s^2 and posterior variance of blood v it is r / sqrt(s^2 - v)
    (the algebra of leaving one row out); for one not in the fit, r / sqrt(s^2 + v).
    """
    told = solved.problem.told
    mean, variance = blood_at(solved, told.at)
    own = solved.value[METER] ** 2 / told.many
    square = np.where(told.used, np.maximum(own - variance, 1e-12), own + variance)
    return np.asarray((told.value - mean) / np.sqrt(square), np.float64)


def usable(problem: Problem, u: Floats) -> Mask:
    """Which sticks are not gross at these parameters, shape (m,); asked twice, so that one hides no other."""
    for _ in range(2):
        used = np.abs(left_out_z(solve(problem, u))) <= GROSS
        if bool((used == problem.told.used).all()):
            break
        problem = problem.using(used)
    return problem.told.used

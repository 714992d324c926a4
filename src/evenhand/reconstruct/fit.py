"""The order of work: gross sticks out, fast scales first, then everything, gross sticks again, and once more."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.climb import Top, climb
from evenhand.reconstruct.model import Solved, solve
from evenhand.reconstruct.priors import DELAY, FAST, MEMORY, METER, SIGMA_V, SLOW, TAU, TAU_A, TAU_V, WHITE
from evenhand.reconstruct.problem import Problem
from evenhand.reconstruct.scale import Floats
from evenhand.reconstruct.sticks import usable

ROUGH, WHOLE, FINE = (2.0, 15), (0.5, 12), (0.02, 30)
"""Decrement and steps: of the fast scales alone, of all, and of all once more."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The fitted model, the inverse curvature as the climb knows it, steps made in all, and whether it converged."""

    solved: Solved
    inverse: Floats
    steps: int
    converged: bool


def fit(problem: Problem, start: Floats | None, told: Callable[[float], None]) -> Fit:
    """Fit the model from the middle of the priors, or from `start` (prior units); `told` hears shares done."""
    u = np.zeros(problem.priors.size) if start is None else start
    problem = problem.using(usable(problem, u))
    inverse = np.diag(1.0 / _usual_curvature(problem))
    told(0.05)
    steps = 0
    if start is None:
        fastest = np.zeros(u.size, np.bool_)
        fastest[problem.priors.fastest] = True
        first = climb(problem, u, inverse, ROUGH, fastest)
        told(0.3)
        second = climb(problem, first.solved.u, first.inverse, WHOLE)
        told(0.5)
        u, inverse, steps = second.solved.u, second.inverse, first.steps + second.steps
        problem = problem.using(usable(problem, u))
    last = climb(problem, u, inverse, FINE)
    told(0.9)
    if not last.reached:
        again = climb(problem, last.solved.u, np.diag(1.0 / _usual_curvature(problem)), FINE)
        last = Top(again.solved, again.slope, again.inverse, last.steps + again.steps, again.reached)
    used = usable(problem, last.solved.u)
    solved = last.solved
    if bool((used != problem.told.used).any()):
        solved = solve(problem.using(used), solved.u)
    told(1.0)
    return Fit(solved, last.inverse, steps + last.steps, last.reached)


def _usual_curvature(problem: Problem) -> Floats:
    """Curvature of the log posterior as it usually is for so many readings and sticks, in prior units; (size,)."""
    priors, read = problem.priors, problem.read
    found = np.ones(priors.size)
    readings = np.bincount(read.sensor, minlength=priors.sensors)
    found[[TAU, METER]] += np.array([0.5, 0.1]) * problem.told.at.size
    found[[SIGMA_V, TAU_V, TAU_A]] += np.array([0.1, 0.1, 0.1]) * read.at.size / priors.sensors
    found[priors.own(FAST)] += 0.1 * readings
    found[priors.own(MEMORY)] += 0.2 * readings
    found[priors.own(WHITE)] += 0.2 * readings
    found[priors.own(SLOW)] += 0.005 * readings
    found[priors.own(DELAY)] += 0.04 * readings
    found[priors.gains] += 0.02 * np.bincount(read.wear, minlength=priors.wears)
    return found

"""Finds the parameters of highest posterior: BFGS on the exact gradient, steps capped, within bounds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.reconstruct.data import Mask
from evenhand.reconstruct.gradient import gradient
from evenhand.reconstruct.model import Solved, solve
from evenhand.reconstruct.priors import FARTHEST
from evenhand.reconstruct.problem import Problem
from evenhand.reconstruct.scale import Floats
from evenhand.stats.banded import NotPositive

LONGEST = 1.5
"""No parameter moves further than this in one step, in prior units."""
SHRINK, ENOUGH, TRIES = 0.4, 1e-4, 12
"""A parameter at its bound that would go on stays there. A step that does not gain at least `ENOUGH` of what its slope promises is cut to `SHRINK` of it, at most so often."""


@dataclass(frozen=True, slots=True)
class Top:
    """Where a climb ended: the model there, its gradient, the inverse of the curvature as BFGS knows it (size, size),
    how many steps were made, and whether the decrement asked for was reached."""

    solved: Solved
    slope: Floats
    inverse: Floats
    steps: int
    reached: bool


def climb(
    problem: Problem,
    start: Floats,
    inverse: Floats,
    until: tuple[float, int],
    free: Mask | None = None,
) -> Top:
    """Climb from `start` until g' H^-1 g / 2 falls below the first of `until`, in at most so many steps.

    `inverse` is the inverse curvature to begin with; `free` which parameters may move (all where None).
    """
    asked = np.ones(start.size, np.bool_) if free is None else free
    solved = solve(problem, start)
    slope = gradient(solved)
    inverse = inverse.copy()
    for step in range(until[1]):
        moving = asked & ~((np.abs(solved.u) >= FARTHEST) & (slope * solved.u > 0.0))
        way = np.zeros(start.size)
        way[moving] = inverse[np.ix_(moving, moving)] @ slope[moving]
        gain = float(slope @ way)
        if gain / 2.0 < until[0]:
            return Top(solved, slope, inverse, step, reached=True)
        way *= min(1.0, LONGEST / float(np.abs(way).max()))
        found = _along(problem, solved, way, float(slope @ way))
        if found is None:
            return Top(solved, slope, inverse, step, reached=False)
        after = gradient(found)
        _learn(inverse, found.u - solved.u, slope - after, moving)
        solved, slope = found, after
    return Top(solved, slope, inverse, until[1], reached=False)


def _along(problem: Problem, solved: Solved, way: Floats, promised: float) -> Solved | None:
    """The first point on the way that gains enough; None where none does."""
    share = 1.0
    for _ in range(TRIES):
        to = np.clip(solved.u + share * way, -FARTHEST, FARTHEST)
        try:
            found = solve(problem, to)
        except NotPositive:
            found = None
        if found is not None and found.log_posterior >= solved.log_posterior + ENOUGH * share * promised:
            return found
        share *= SHRINK
    return None


def _learn(inverse: Floats, moved: Floats, fallen: Floats, moving: Mask) -> None:
    """The BFGS update of the inverse curvature (Nocedal and Wright, Numerical Optimization, 2nd edition, 6.17)."""
    place = np.ix_(moving, moving)
    s, y = moved[moving], fallen[moving]
    product = float(s @ y)
    if product <= 1e-10:
        return
    old = inverse[place]
    turn = np.eye(s.size) - np.outer(s, y) / product
    inverse[place] = turn @ old @ turn.T + np.outer(s, s) / product

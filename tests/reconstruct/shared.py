"""Small invented trials the tests of this room share, fitted once."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from evenhand.reconstruct.data import pricks_of, series_of
from evenhand.reconstruct.pressure import masked, pressure_lows
from evenhand.reconstruct.problem import Problem, problem_of
from evenhand.reconstruct.reconstruct import Reconstruction, reconstruct
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain
from evenhand.rehearse.truth import Invented
from evenhand.rehearse.world import Calibrating, Model, World


@lru_cache(maxsize=8)
def invented(days: int = 6, wears: int = 2, sticks: float = 7.0, seed: int = 5) -> Invented:
    """A plain trial of two sensors."""
    return invent(plain(days, wears, sticks), seed)


def problem_from(made: Invented) -> Problem:
    """The problem a trial poses."""
    series = series_of(made.trial)
    lows = pressure_lows(series)
    kept = [one.where(one.plain & ~masked(one, lows)) for one in series]
    first, last = min(one.at[0] for one in kept), max(one.at[-1] for one in kept)
    return problem_of(kept, pricks_of(made.trial.sticks, first - 1800, last + 1800))


@lru_cache(maxsize=4)
def small_problem(sensors: int = 2, interval: int = 5, calibrated: bool = False) -> Problem:
    """Two days, a wear a day, sensors as asked."""
    names = ("Fern", "Slate", "Moss")[:sensors]
    when = Calibrating.EVERY_SECOND_DAY if calibrated else Calibrating.NEVER
    models = tuple(Model(name, interval=interval, calibrating=when) for name in names)
    world = replace(World(), days=4 if calibrated else 2, wears=2, sensors=models)
    return problem_from(invent(world, 3))


@lru_cache(maxsize=4)
def reconstructed(seed: int = 5) -> Reconstruction:
    """The reconstruction of a six-day trial."""
    found = reconstruct(invented(seed=seed).trial)
    assert isinstance(found, Reconstruction)
    return found


def some_parameters(problem: Problem, seed: int = 0) -> np.ndarray:
    """Parameters in prior units, away from the priors' middle."""
    return np.asarray(0.5 * np.random.default_rng(seed).standard_normal(problem.priors.size))

"""The banded model against a dense twin written from the derivation, and its limiting cases."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.reconstruct.dense_twin import Datum, Parameters, Twin
from tests.reconstruct.shared import small_problem, some_parameters

from evenhand.reconstruct.data import Pricks, Series
from evenhand.reconstruct.model import solve
from evenhand.reconstruct.priors import DELAY, FAST, MEMORY, METER, SIGMA_V, SLOW, TAU, TAU_A, TAU_V, WHITE
from evenhand.reconstruct.problem import Problem, problem_of
from evenhand.reconstruct.scale import CENTRE
from evenhand.reconstruct.sticks import blood_at


def series(name: str, at: list[float], rng: np.random.Generator, second_wear: float, fresh: float) -> Series:
    """Readings at these minutes; a second wear and a calibration from those minutes on."""
    minutes = np.array(at, np.float64)
    wear = (minutes >= second_wear).astype(np.int64)
    age = np.where(wear == 1, minutes - second_wear + 60.0, minutes + 60.0)
    none = np.zeros(minutes.size, np.bool_)
    return Series(
        name, 1e6 + 60.0 * minutes, 1.3 + 0.3 * rng.standard_normal(minutes.size), wear, age,
        wear + (minutes >= fresh), ~none, none,
    )  # fmt: skip


def short_trial(sensors: int) -> Problem:
    """Three and a half hours: uneven 5-minute, 15-minute and 10-minute sensors with gaps, two wears each, one
    calibration, repeats among the sticks."""
    rng = np.random.default_rng(sensors)
    times = (
        [5.0 * k + 0.3 * (k % 3) for k in range(40) if k not in (7, 8, 19)],
        [15.0 * k + 2.2 for k in range(13)],
        [10.0 * k + 4.9 for k in range(20)],
    )
    every = [
        series(name, at, rng, 101.0 + 7 * place, 160.0 if place == 0 else 1e9)
        for place, (name, at) in enumerate(zip(("Fern", "Slate", "Moss"), times, strict=True))
    ]
    at = 1e6 + 60.0 * np.array([1.0, 33.3, 60.0, 118.7, 170.0, 196.4])
    pricks = Pricks(
        at, 1.3 + 0.3 * rng.standard_normal(6), np.array([1.0, 2.0, 1.0, 1.0, 3.0, 1.0]),
        np.zeros(6, np.int64), tuple((str(k),) for k in range(6)),
    )  # fmt: skip
    return problem_of(every[:sensors], pricks)


def twin_of(problem: Problem, value: np.ndarray) -> Twin:
    """The dense twin of a problem at natural parameters."""
    own, read, told = problem.priors.own, problem.read, problem.told

    def of(what: int) -> tuple[float, ...]:
        return tuple(float(x) for x in value[own(what)])

    parameters = Parameters(
        *(float(value[k]) for k in (TAU, METER, SIGMA_V, TAU_V, TAU_A)),
        of(SLOW), of(FAST), of(MEMORY), of(WHITE), of(DELAY), tuple(value[problem.priors.gains].tolist()),
    )  # fmt: skip
    data = [
        Datum(at, y, int(s), int(w), -600.0 * np.log(g))
        for at, y, s, w, g in zip(read.at, read.value, read.sensor, read.wear, read.fading, strict=True)
    ]
    data += [
        Datum(at, y, many=n)
        for at, y, n, used in zip(told.at, told.value, told.many, told.used, strict=True)
        if used
    ]
    starts = [
        (int(s), 20.0 * c, bool(problem.loosened[s, c]))
        for s, c in zip(*np.nonzero(problem.fresh), strict=True)
        if c > 0
    ]
    knots = [(int(s), 10.0 * k, False) for s, k in zip(*np.nonzero(problem.anew), strict=True) if k > 0]
    # a wear's cell and its knot may begin at different minutes: both are handed over, the cell first
    twin = Twin.__new__(Twin)
    twin.p, twin.size, twin.data, twin.noises = parameters, problem.grid.size, data, []
    twin.blood_and_fluid()
    Twin.errors(twin, starts) if not knots else _errors(twin, starts, knots)
    twin.rows()
    return twin


def _errors(twin: Twin, cells: list[tuple[int, float, bool]], knots: list[tuple[int, float, bool]]) -> None:
    """Slow offsets that start anew in their cells, fast errors at their knots."""
    twin.errors(cells)
    slow = twin.slow
    twin.errors(knots)
    twin.slow = slow


@pytest.mark.parametrize("sensors", [1, 2, 3])
def test_agrees_with_brute_force_conditioning(sensors: int) -> None:
    """Log likelihood, mean and variance of blood equal those of conditioning one dense normal to 1e-8, for one, two
    and three sensors of unlike intervals, with gaps, wears, a calibration, repeats and an unused stick."""
    problem = short_trial(sensors)
    problem = problem.using(np.array([True, True, False, True, True, True]))
    solved = solve(problem, some_parameters(problem, sensors))
    twin = twin_of(problem, solved.value)
    assert solved.log_likelihood == pytest.approx(twin.log_likelihood(), rel=1e-8)
    at = np.linspace(3.0, problem.grid.size * 5.0 - 30.0, 25)
    mean, covariance = twin.blood_given_data(at.tolist())
    found, variance = blood_at(solved, at)
    np.testing.assert_allclose(found, mean, atol=1e-8)
    np.testing.assert_allclose(variance, np.diag(covariance), atol=1e-8)


def test_the_jacobian_makes_the_likelihood_one_of_data() -> None:
    """The twin has no Jacobian to forget; across lags the two stay together (trap 5)."""
    problem = short_trial(2)
    gaps = []
    for shift in (-1.0, 0.0, 1.5):
        u = some_parameters(problem)
        u[TAU] += shift
        solved = solve(problem, u)
        gaps.append(solved.log_likelihood - twin_of(problem, solved.value).log_likelihood())
    np.testing.assert_allclose(gaps, 0.0, atol=2e-6)  # of several hundred


def test_without_sticks_and_readings_near_the_prior_returns() -> None:
    """No sticks: the model still solves, and blood is less sure than with them."""
    problem = small_problem()
    u = np.zeros(problem.priors.size)
    at = problem.told.at
    with_them = blood_at(solve(problem, u), at)[1]
    without = blood_at(solve(problem.using(np.zeros(at.size, np.bool_)), u), at)[1]
    assert (without > with_them).all()


def test_an_exact_meter_is_believed() -> None:
    """As the meter's error goes to nothing, blood passes through the sticks."""
    problem = small_problem()
    u = np.zeros(problem.priors.size)
    u[METER] = -20.0  # 0.05 exp(-6)
    solved = solve(problem, u)
    mean, variance = blood_at(solved, problem.told.at)
    assert np.abs(mean - problem.told.value).max() < 0.01
    assert np.sqrt(variance).max() < 0.001


def test_adding_a_constant_to_the_centre_changes_nothing_else() -> None:
    """The centre is taken off the data, not off sums of rows: blood at the centre is the rest state (trap 6)."""
    problem = small_problem()
    quiet = replace(
        problem,
        read=replace(problem.read, value=np.zeros_like(problem.read.value)),
        told=replace(problem.told, value=np.zeros_like(problem.told.value)),
    )
    mean, _ = blood_at(solve(quiet, np.zeros(problem.priors.size)), problem.told.at)
    np.testing.assert_allclose(mean, 0.0, atol=1e-12)
    assert CENTRE == 1.3


@pytest.mark.parametrize(("sensors", "interval"), [(1, 5), (3, 5), (2, 1), (2, 15)])
def test_solves_for_other_sensors(sensors: int, interval: int) -> None:
    """One or three sensors, one- and fifteen-minute ones: a finite likelihood, sensible blood."""
    problem = small_problem(sensors, interval)
    solved = solve(problem, np.zeros(problem.priors.size))
    assert np.isfinite(solved.log_posterior)
    mean, variance = blood_at(solved, problem.told.at)
    assert np.abs(mean - problem.told.value).mean() < 0.1
    assert (variance > 0).all()

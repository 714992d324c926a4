"""The banded model against filters that know nothing of bands: a plain one in numpy, and that of statsmodels; and the
constants of its rows against statsmodels' autocovariances."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.tsa.arima_process import ArmaProcess
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother
from tests.reconstruct.filter_twin import B0, B1, SIZE, Chain, H, chain, filtered

from evenhand.reconstruct.data import Pricks, Series
from evenhand.reconstruct.model import Solved, solve
from evenhand.reconstruct.priors import FAST, MEMORY, METER, SIGMA_V, SLOW, TAU, TAU_A, TAU_V, WHITE
from evenhand.reconstruct.problem import Problem, problem_of
from evenhand.reconstruct.scale import CENTRE
from evenhand.reconstruct.sticks import blood_at


def problem(hours: int = 10, seed: int = 0) -> Problem:
    """One sensor every five minutes with a gap of an hour, seven sticks at odd minutes."""
    rng = np.random.default_rng(seed)
    places = np.array([k for k in range(12 * hours) if not 40 <= k < 52])
    at = 1e6 + 300.0 * places
    n = places.size
    zero, no = np.zeros(n, np.int64), np.zeros(n, np.bool_)
    wave = 0.3 * np.sin(places / 9.0) + 0.05 * rng.standard_normal(n)
    one = Series("Fern", at, CENTRE + wave, zero, 5.0 * places + 60.0, zero, ~no, no)
    when = np.linspace(15.0, 60.0 * hours - 20.0, 7) + rng.uniform(-4.0, 4.0, 7)
    values = CENTRE + 0.3 * np.sin(when / 45.0) + 0.05 * rng.standard_normal(7)
    pricks = Pricks(1e6 + 60.0 * when, values, np.ones(7), np.zeros(7, np.int64), ((),) * 7)
    return problem_of([one], pricks)


def twin_of(solved: Solved) -> Chain:
    """The same data and parameters as a chain."""
    made = solved.problem
    own, value = made.priors.own, solved.value
    named = {
        "tau": value[TAU], "meter": value[METER], "sigma_v": value[SIGMA_V], "tau_v": value[TAU_V], "tau_a": value[TAU_A],
        "slow": value[own(SLOW)[0]], "fast": value[own(FAST)[0]], "memory": value[own(MEMORY)[0]],
        "white": value[own(WHITE)[0]], "gain": value[made.priors.gains][0],
    }  # fmt: skip
    steps = np.round(made.read.at / H).astype(int)
    ages = -600.0 * np.log(made.read.fading)
    readings = {
        int(step): (float(seen), float(age))
        for step, seen, age in zip(steps, made.read.value, ages, strict=True)
    }
    sticks = {float(at): float(seen) for at, seen in zip(made.told.at, made.told.value, strict=True)}
    return chain({name: float(one) for name, one in named.items()}, readings, sticks, int(steps.max()) + 6)


def parameters(made: Problem, seed: int) -> np.ndarray:
    u = 0.5 * np.random.default_rng(seed).standard_normal(made.priors.size)
    return u if seed else np.zeros(made.priors.size)


@pytest.mark.parametrize("seed", range(4))
def test_a_plain_filter_finds_the_same_likelihood(seed: int) -> None:
    """Forward in time, one datum after another, in numpy: the same log likelihood to 1e-8 of its size."""
    made = problem(seed=seed)
    solved = solve(made, parameters(made, seed))
    assert solved.log_likelihood == pytest.approx(filtered(twin_of(solved)), rel=1e-8, abs=1e-6)


def smoother(made: Chain) -> KalmanSmoother:
    """The chain as statsmodels takes it."""
    steps = made.value.shape[0]
    found = KalmanSmoother(k_endog=2, k_states=SIZE, k_posdef=SIZE)
    found.bind(np.asfortranarray(made.value.T))
    found["design"] = np.asfortranarray(made.design.transpose(1, 2, 0))
    found["obs_cov"] = np.diag(made.spread)
    found["transition"] = np.asfortranarray(made.transition.transpose(1, 2, 0))
    found["selection"] = np.eye(SIZE)
    found["state_cov"] = np.asfortranarray(made.noise.transpose(1, 2, 0))
    found.initialize_known(np.zeros(SIZE), made.first)
    assert found.nobs == steps
    return found


@pytest.mark.parametrize("seed", [0, 2])
def test_statsmodels_finds_the_same_likelihood_and_the_same_blood(seed: int) -> None:
    """Its smoother: log likelihood, and at every grid point blood's mean and variance given all data."""
    made = problem(seed=seed)
    solved = solve(made, parameters(made, seed))
    twin = twin_of(solved)
    done = smoother(twin).smooth()
    assert float(np.sum(done.llf_obs)) == pytest.approx(solved.log_likelihood, rel=1e-7, abs=1e-5)
    a = np.exp(-H / solved.value[TAU])
    c = float(solved.value[TAU]) - H * a / (1 - a)
    steps = np.arange(10, twin.value.shape[0] - 4)
    at = H * (steps + 2 + 1) - c
    mean, variance = blood_at(solved, at)
    np.testing.assert_allclose(mean, done.smoothed_state[B0, steps], atol=1e-7)
    np.testing.assert_allclose(variance, done.smoothed_state_cov[B0, B0, steps], rtol=1e-5, atol=1e-9)
    between, _ = blood_at(solved, at - 2.0)
    straight = 0.6 * done.smoothed_state[B0, steps] + 0.4 * done.smoothed_state[B1, steps]
    np.testing.assert_allclose(between, straight, atol=1e-7)


@pytest.mark.parametrize("memory", [5.0, 25.0, 120.0])
def test_the_double_pole_has_the_spread_it_claims(memory: float) -> None:
    """Row 4: with its innovation SD the fast error has variance fast^2, and neighbours correlate by 2q/(1+q^2)."""
    q = np.exp(-10.0 / memory)
    scale = (1 - q * q) ** 3 / (1 + q * q)
    process = ArmaProcess(np.array([1.0, -2 * q, q * q]), np.array([1.0]))
    spread = process.acovf(3) * scale
    assert spread[0] == pytest.approx(1.0, rel=1e-6)
    assert spread[1] / spread[0] == pytest.approx(2 * q / (1 + q * q), rel=1e-6)


@pytest.mark.parametrize(("tau_v", "tau_a"), [(25.0, 20.0), (10.0, 9.0), (60.0, 15.0)])
def test_bloods_velocity_has_the_spread_it_claims(tau_v: float, tau_a: float) -> None:
    """Row 1: the AR(2) of poles p2, p3 with that innovation has SD sigma_v h a step."""
    p2, p3 = np.exp(-H / tau_v), np.exp(-H / tau_a)
    innovation = (1 - p2 * p3) * (1 - p2**2) * (1 - p3**2) / (1 + p2 * p3)
    process = ArmaProcess(np.poly([p2, p3]), np.array([1.0]))
    assert process.acovf(1)[0] * innovation == pytest.approx(1.0, rel=1e-6)


def test_the_slow_offset_keeps_its_spread() -> None:
    """Row 3: an AR(1) with psi has the variance it started with."""
    psi = np.exp(-20.0 / 2160.0)
    process = ArmaProcess(np.array([1.0, -psi]), np.array([1.0]))
    assert process.acovf(1)[0] * (1 - psi**2) == pytest.approx(1.0, rel=1e-6)


def test_more_of_anything_known_leaves_less_unknown() -> None:
    """A limiting case: a meter a hundred times as exact pins blood at each stick, and nowhere makes it less sure."""
    made = problem()
    usual = solve(made, np.zeros(made.priors.size))
    sharp = np.zeros(made.priors.size)
    sharp[METER] = np.log(0.01) / made.priors.spread[METER]
    exact = solve(made, sharp)
    at = np.linspace(60.0, made.read.at[-1] - 60.0, 60)
    assert (blood_at(exact, at)[1] <= blood_at(usual, at)[1] + 1e-12).all()
    mean, variance = blood_at(exact, made.told.at)
    np.testing.assert_allclose(mean, made.told.value, atol=5e-3)
    assert np.sqrt(variance).max() < 1e-3

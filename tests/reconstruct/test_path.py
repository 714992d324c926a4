"""The path of blood: line, band, numbers read off it."""

from __future__ import annotations

import numpy as np
import pytest
from tests.reconstruct.shared import reconstructed

from evenhand.reconstruct.path import WIDER, BloodPath, _paths
from evenhand.reconstruct.scale import even, mg_dl
from evenhand.reconstruct.sticks import blood_at

AT = 300.0 * np.arange(200)


def flat(level: float, sd: float, draws: int = 4000) -> BloodPath:
    """A path at one level of the even scale, independent from instant to instant."""
    drawn = level + sd * np.random.default_rng(0).standard_normal((draws, AT.size))
    return BloodPath(AT, np.full(AT.size, level), np.full(AT.size, sd), drawn)


def test_mean_of_a_folded_normal() -> None:
    """E|y - b| for normal b below 100 mg/dL is the folded normal's mean (closed form), here sd sqrt(2/pi)."""
    path = flat(0.8, 0.05)
    number = path.mean_of(AT[:-1], lambda blood: np.abs(80.0 - blood))
    assert number.value == pytest.approx(5.0 * np.sqrt(2 / np.pi), rel=0.05)
    assert number.low < number.value < number.high
    apart = path.mean_of(AT[:-1], lambda blood: blood - 70.0)
    assert apart.value == pytest.approx(10.0, abs=1e-5)  # its upper tail is bent above 100


def test_interval_is_that_of_the_draws_made_wider() -> None:
    """Independent instants: the mean's SD is sd/sqrt(n), the 95 % interval 1.96 of it to either side, widened."""
    number = flat(0.8, 0.05).mean_of(AT[:-1], lambda blood: blood)
    half = WIDER * 1.96 * 5.0 / np.sqrt(AT.size - 1)
    assert number.high - number.value == pytest.approx(half, rel=0.1)
    assert number.value - number.low == pytest.approx(half, rel=0.1)


def test_chance_and_band() -> None:
    """Probabilities are shares of the draws; the 90 % band holds 90 % of them."""
    path = flat(0.7, 0.1)
    chance = path.chance(AT[:5], lambda blood: blood < 70.0)
    np.testing.assert_allclose(chance, 0.5, atol=0.05)
    low, high = path.band()
    drawn = mg_dl(path.draws)
    assert ((drawn >= low) & (drawn <= high)).mean() == pytest.approx(0.9, abs=0.01)


def test_between_five_minutes_it_runs_straight_on_the_even_scale() -> None:
    """Half way between two instants stands the mean of both on the scale."""
    path = BloodPath(
        AT,
        even(100.0 + 0.1 * np.arange(AT.size)),
        np.full(AT.size, 0.01),
        np.tile(even(100.0 + 0.1 * np.arange(AT.size)), (2, 1)),
    )
    assert path.drawn(np.array([150.0]))[0, 0] == pytest.approx(100.05, abs=1e-3)
    assert path.drawn(AT[[7]])[0, 0] == pytest.approx(100.7)


def test_joint_draws_have_the_exact_marginals() -> None:
    """4,000 paths at fixed parameters: means and SDs agree with the solved ones within five Monte Carlo errors, and
    neighbouring instants correlate as their difference's variance says."""
    top = reconstructed().fit.solved
    at = np.linspace(500.0, 6000.0, 40)
    rng = np.random.default_rng(4)
    draws = np.concatenate([_paths(top, at, rng) for _ in range(1000)])
    mean, variance = blood_at(top, at)
    error = np.sqrt(variance / draws.shape[0])
    assert (np.abs(draws.mean(axis=0) - mean) < 5 * error).all()
    np.testing.assert_allclose(draws.std(axis=0), np.sqrt(variance), rtol=5 / np.sqrt(2 * draws.shape[0]))


def test_the_line_is_inside_its_band_and_near_the_draws() -> None:
    """Fitted mean and the draws' mean differ by little against the band."""
    path = reconstructed().path
    low, high = path.band()
    assert (low < high).all()
    assert ((path.mg_dl > low) & (path.mg_dl < high)).mean() > 0.98
    assert path.draws.shape == (240, path.at.size)

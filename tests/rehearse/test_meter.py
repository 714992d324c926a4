"""The meter's error: what is expected of it, exactly."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import foldnorm, norm

from evenhand.rehearse.meter import MeterNoise
from evenhand.rehearse.world import Meter
from evenhand.units import Unit

PLAIN = MeterNoise(0.05, 0.0, 0.2, 0.0)
GROSS = MeterNoise(0.05, 0.01, 0.25, 1.0)


def one(value):
    return np.array([float(value)])


@pytest.mark.parametrize(("reading", "blood"), [(100, 100), (130, 120), (60, 95), (250, 251)])
def test_expected_abs_error_is_a_folded_normals_mean(reading, blood):
    """Against scipy's folded normal distribution."""
    sd = 0.05 * max(blood, 70)
    outside = foldnorm(abs(reading - blood) / sd, scale=sd).mean()
    assert PLAIN.expected_abs_error(one(reading), one(blood))[0] == pytest.approx(outside, rel=1e-10)


@given(st.floats(40, 400), st.floats(40, 400))
def test_expected_abs_error_of_the_mixture_is_its_integral(reading, blood):
    """Law: the closed form is the integral over the mixture (numerical, scipy's quad)."""
    total = 0.0
    for weight, sd in GROSS.parts(one(blood)):
        law = norm(blood, sd[0])
        edges = [blood - 9 * sd[0], reading, blood + 9 * sd[0]]
        edges = sorted(edges) if edges[0] < reading < edges[2] else [edges[0], edges[2]]
        for a, b in pairwise(edges):
            total += weight * quad(lambda x, law=law: abs(reading - x) * law.pdf(x), a, b, limit=200)[0]
    assert GROSS.expected_abs_error(one(reading), one(blood))[0] == pytest.approx(total, rel=1e-6)


@given(st.floats(40, 400), st.floats(40, 400))
def test_expectations_bound_one_another(reading, blood):
    """Law: |E error| <= E|error| <= sqrt(E error squared)."""
    r, b = one(reading), one(blood)
    mean = abs(GROSS.expected_error(r, b)[0])
    size = GROSS.expected_abs_error(r, b)[0]
    assert mean <= size + 1e-9
    assert size <= np.sqrt(GROSS.expected_square_error(r, b)[0]) + 1e-9


def test_draws_have_the_expectations():
    """200,000 draws give the closed forms within four standard errors."""
    rng = np.random.default_rng(1)
    blood = np.full(200_000, 140.0)
    sticks = GROSS.draw(blood, rng)
    exact = MeterNoise(GROSS.sd, GROSS.gross, GROSS.gross_sd, 0.0)
    for reading in (140.0, 155.0, 110.0):
        error = np.abs(reading - sticks)
        told = exact.expected_abs_error(one(reading), one(140.0))[0]
        assert abs(error.mean() - told) < 4 * error.std() / np.sqrt(error.size)


def test_rounding_is_counted():
    """Sticks rounded to 0.1 mmol/L have the expected absolute error that the step's variance predicts."""
    rng = np.random.default_rng(2)
    noise = MeterNoise.of(Meter(sd=0.03, gross=0.0, unit=Unit.MMOL_L))
    blood = rng.uniform(100, 200, 300_000)
    rounded = np.floor(noise.draw(blood, rng) / 18.0156 * 10 + 0.5) * 1.80156
    error = np.abs(blood + 4.0 - rounded)
    assert error.mean() == pytest.approx(noise.expected_abs_error(blood + 4.0, blood).mean(), abs=0.02)


@pytest.mark.parametrize(("s", "r", "told"), [(8, 2, 6.58), (10, 5, 8.92), (12, 10, 12.46), (8, 7.5, 8.75)])
def test_reference_error_inflates_mard(s, r, told):
    """MARD = 100 sqrt(2/pi) sqrt(s² + r²) for unbiased normal relative errors (closed form; published use of
    reference-error inflation: Kirchsteiger et al., J Diabetes Sci Technol 2015;9:1030-1040); to two decimals
    when errors are taken relative to blood."""
    rng = np.random.default_rng(3)
    blood = np.full(100_000, 150.0)
    reading = blood * (1 + s / 100 * rng.standard_normal(blood.size))
    noise = MeterNoise(r / 100, 0.0, 0.2, 0.0)
    assert noise.expected_abs_error(reading, blood).mean() / 1.5 == pytest.approx(told, rel=0.006)


def test_expected_relative_error_is_the_drawn_one():
    """Relative errors against the stick, by drawing."""
    rng = np.random.default_rng(4)
    sticks = GROSS.draw(np.full(200_000, 120.0), rng)
    drawn = 100 * (np.abs(131.0 - sticks) / sticks).mean()
    assert GROSS.expected_relative_error(one(131), one(120))[0] == pytest.approx(drawn, rel=0.01)


@pytest.mark.parametrize(("reading", "blood"), [(100, 88), (118, 100), (85, 104), (200, 165), (70, 70)])
def test_chance_within_is_the_drawn_share(reading, blood):
    """The share within 20 mg/dL below 100 and 20 % from 100 up, by drawing, around the switch point too."""
    rng = np.random.default_rng(6)
    sticks = PLAIN.draw(np.full(200_000, float(blood)), rng)
    inside = np.abs(reading - sticks) <= np.where(sticks < 100, 20.0, 0.2 * sticks)
    assert PLAIN.chance_within(one(reading), one(blood), 20.0)[0] == pytest.approx(inside.mean(), abs=0.005)


def test_gross_sticks_come_as_often_as_set():
    """A share of 2 % with a huge SD shows as many far-off sticks as the mixture says."""
    noise = MeterNoise(0.03, 0.02, 0.3, 0.0)
    sticks = noise.draw(np.full(100_000, 150.0), np.random.default_rng(7))
    far = (np.abs(sticks / 150 - 1) > 0.15).mean()
    assert far == pytest.approx(0.02 * 2 * norm.sf(0.5), rel=0.1)

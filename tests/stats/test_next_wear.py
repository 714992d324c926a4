"""The next wears: held against direct integration and against draws from the model itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from evenhand.stats.next_wear import CAP, Stretches, chance_next, next_ratio


def apart(y, s):
    """Stretches in which every wear stands once."""
    wears = np.arange(len(y))
    return Stretches(np.array(y, float), np.array(s, float), wears, wears)


def chance_by_integration(y, s, scale, mean_sd):
    """The chance that the next log ratio is below zero, by adaptive quadrature over tau of a closed form in mu."""
    y, s = np.array(y), np.array(s)

    def parts(tau):
        variance = s**2 + tau**2
        precision = (1 / variance).sum() + 1 / mean_sd**2
        mean = (y / variance).sum() / precision
        likelihood = stats.multivariate_normal.pdf(y, np.zeros(len(y)), np.diag(variance) + mean_sd**2)
        below = stats.norm.cdf(-mean / math.sqrt(1 / precision + tau**2))
        return stats.halfnorm.pdf(tau, scale=scale) * likelihood, below

    top = integrate.quad(lambda tau: math.prod(parts(tau)), 0, 8 * scale, limit=400)[0]
    return top / integrate.quad(lambda tau: parts(tau)[0], 0, 8 * scale, limit=400)[0]


CASES = [
    ([-0.10, 0.05, -0.20], [0.15, 0.12, 0.2]),
    ([-0.05, 0.30, -0.20, 0.1], [0.1, 0.1, 0.1, 0.3]),
    ([0.02, 0.10, 0.05], [0.3, 0.4, 0.2]),
]


@pytest.mark.parametrize(("y", "s"), CASES)
def test_chance_matches_adaptive_quadrature(y, s):
    """The grid gives the same chance as adaptive quadrature (scipy.integrate.quad) of the same model."""
    told = chance_next(apart(y, s))
    first = chance_by_integration(y, s, 0.5, 0.25)
    assert told.chance == pytest.approx(max(first, 1 - first), abs=2e-4)
    assert told.sign == (-1 if first >= 0.5 else 1)


@pytest.mark.parametrize(("y", "s"), CASES)
def test_range_is_half_and_twice_the_scale(y, s):
    """The range comes from half and twice the scale of tau, the mean's SD kept."""
    told = chance_next(apart(y, s))
    ends = [chance_by_integration(y, s, 0.5 * factor, 0.25) for factor in (0.5, 2.0)]
    ends = sorted(end if told.sign == -1 else 1 - end for end in ends)
    assert told.low <= told.chance <= told.high
    assert told.low == pytest.approx(min(ends[0], told.chance), abs=2e-4)
    assert told.high == pytest.approx(max(ends[1], told.chance), abs=2e-4)


def test_chance_matches_draws_from_the_model():
    """Prior draws weighted by likelihood (a brute-force twin) give the chance within their Monte Carlo error."""
    y, s = np.array([-0.15, 0.1, -0.25]), np.array([0.12, 0.15, 0.1])
    draws = np.random.default_rng(20)
    n = 400_000
    tau = np.abs(draws.normal(0, 0.5, n))
    mu = draws.normal(0, 0.25, n)
    spread = np.sqrt(s[None] ** 2 + tau[:, None] ** 2)
    weight = np.exp(-0.5 * (((y - mu[:, None]) / spread) ** 2).sum(1)) / spread.prod(1)
    below = mu + tau * draws.normal(size=n) < 0
    twin = (weight * below).sum() / weight.sum()
    error = math.sqrt((weight**2 * (below - twin) ** 2).sum()) / weight.sum()
    assert chance_next(apart(y, s)).chance == pytest.approx(twin, abs=4 * error)


@pytest.mark.parametrize(("n", "why"), [(1, "one-wear"), (2, "two-wears")])
def test_no_chance_below_three_wears(n, why):
    """One or two wears tell no chance, and why."""
    told = chance_next(apart([-0.5] * n, [0.1] * n))
    assert (told.sign, told.chance, told.low, told.high, told.why) == (0, None, None, None, why)


def test_wears_are_counted_on_the_poorer_side():
    """Three stretches of one wear against three others count as one wear."""
    told = chance_next(Stretches(np.full(3, -0.4), np.full(3, 0.1), np.zeros(3, int), np.arange(3)))
    assert told.why == "one-wear"


def test_no_chance_above_the_cap():
    """However clear the wears are, no chance is told above 0.85."""
    told = chance_next(apart([-0.6] * 5, [0.05] * 5))
    assert told.chance == CAP == told.high


def test_sharing_a_wear_counts_for_less():
    """Staggered stretches that share wears carry less than as many fresh pairs: a chance nearer one half."""
    y, s = np.full(5, -0.15), np.full(5, 0.05)
    staggered = Stretches(y, s, np.array([0, 0, 1, 1, 2]), np.array([0, 1, 1, 2, 2]))
    shared, fresh = next_ratio(staggered), next_ratio(apart(y, s))
    assert shared.high - shared.low > fresh.high - fresh.low


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(0.03, 0.5)), min_size=3, max_size=5))
def test_swapping_the_sides(rows):
    """Swapped sides: the same chance for the other side, and the ratio turned over."""
    y, s = np.array(rows).T
    one, other = chance_next(apart(y, s)), chance_next(apart(-y, s))
    assert one.chance == pytest.approx(other.chance, abs=1e-9)
    assert one.sign == -other.sign or one.chance == pytest.approx(0.5, abs=1e-9)
    ratio, turned = next_ratio(apart(y, s)), next_ratio(apart(-y, s))
    assert ratio.value * turned.value == pytest.approx(1)
    assert ratio.low * turned.high == pytest.approx(1)


def test_ratio_interval_matches_integration():
    """The interval of the ratio holds 95 % of the predictive mixture (half-normal 0.4, flat mean), by quadrature."""
    y, s = [-0.2, 0.1, -0.3], [0.1, 0.2, 0.15]
    ratio = next_ratio(apart(y, s))
    assert ratio.about == "next_sensor"

    def weight(tau):
        variance = np.array(s) ** 2 + tau**2
        mean = (np.array(y) / variance).sum() / (1 / variance).sum()
        fit = ((np.array(y) - mean) ** 2 / variance).sum()
        density = math.exp(-0.5 * fit) / math.sqrt(variance.prod() * (1 / variance).sum())
        return (
            stats.halfnorm.pdf(tau, scale=0.4) * density,
            mean,
            math.sqrt(1 / (1 / variance).sum() + tau**2),
        )

    def share(log_ratio):
        def inner(tau):
            density, mean, spread = weight(tau)
            return density * stats.norm.cdf((log_ratio - mean) / spread)

        return integrate.quad(inner, 0, 3.2, limit=400)[0] / integrate.quad(lambda t: weight(t)[0], 0, 3.2)[0]

    assert share(math.log(ratio.low)) == pytest.approx(0.025, abs=3e-4)
    assert share(math.log(ratio.high)) == pytest.approx(0.975, abs=3e-4)


def test_one_stretch_gives_a_ratio_without_interval():
    """One wear of each: the ratio stands, the interval would be the prior alone and is not given."""
    ratio = next_ratio(apart([math.log(0.8)], [0.1]))
    assert ratio.value == pytest.approx(0.8)
    assert (ratio.low, ratio.high, ratio.why) == (None, None, "one-wear")


def test_no_stretch_gives_nothing():
    """Without a stretch there is no ratio and no chance, with the reason."""
    none = Stretches(np.empty(0), np.empty(0), np.empty(0, int), np.empty(0, int))
    assert next_ratio(none).value is None
    assert next_ratio(none).why == chance_next(none).why == "no-wears"


def test_no_spread_at_all_stays_finite():
    """Identical stretches with no error of their own still give a finite ratio and interval."""
    ratio = next_ratio(apart([0.0, 0.0, 0.0], [0.0, 0.0, 0.0]))
    assert ratio.value == pytest.approx(1)
    assert 0 < ratio.low < 1 < ratio.high < 20

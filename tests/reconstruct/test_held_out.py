"""Whole days held out, judged."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm
from tests.reconstruct.shared import invented, reconstructed

from evenhand.reconstruct.held_out import HALF_WIDTHS, SHARES, held_out, judged


def days(each: int, many: int) -> np.ndarray:
    return np.repeat(np.arange(many), each)


def test_half_widths_are_those_of_the_normal() -> None:
    """The bands' half widths against a reference library."""
    assert pytest.approx([norm.ppf(0.5 + share / 2) for share in SHARES]) == HALF_WIDTHS


def test_honest_predictions_are_trusted_nearly_always() -> None:
    """Standard normal distances keep both promises in at least 95 of 100 trials of 140 sticks."""
    kept = 0
    for seed in range(100):
        rng = np.random.default_rng(seed)
        kept += judged(rng.standard_normal(140), days(7, 20), rng).kept
    assert kept >= 95


@pytest.mark.parametrize("factor", [0.5, 1.8])
def test_bands_too_wide_or_too_narrow_are_seen(factor: float) -> None:
    """Bands twice too wide, or much too narrow, break a promise in at least 9 of 10 trials."""
    broken = 0
    for seed in range(30):
        rng = np.random.default_rng(seed)
        broken += not judged(factor * rng.standard_normal(140), days(7, 20), rng).kept
    assert broken >= 27


def test_days_that_go_together_widen_the_interval() -> None:
    """Where whole days are in or out together, the interval says so."""
    rng = np.random.default_rng(3)
    alone = judged(rng.standard_normal(140), days(7, 20), np.random.default_rng(0))
    together = judged(np.repeat(rng.standard_normal(20), 7), days(7, 20), np.random.default_rng(0))
    width = [one.interval[0][1] - one.interval[0][0] for one in (alone, together)]
    assert width[1] > 1.4 * width[0]


def test_all_inside_a_handful_is_no_proof_of_fault() -> None:
    """25 sticks all inside the 90 % band happen by chance once in 14; Wilson's interval allows it."""
    z = np.linspace(-1.5, 1.5, 25)
    found = judged(z, days(5, 5), np.random.default_rng(0))
    assert found.share[1] == 1.0
    assert found.interval[1][0] < 0.9 <= found.interval[1][1]


def test_held_out_sticks_do_not_help_themselves() -> None:
    """Distances held out by day are larger than residuals of the fit over the same SDs, and every stick has one."""
    found = reconstructed()
    top = found.fit.solved
    day = found.pricks.day
    once = held_out(top, day, np.random.default_rng(1))
    assert once.z.size == len(found.pricks)
    assert once.days == np.unique(day).size
    inside = np.abs(found.z).mean()
    assert np.abs(once.z).mean() > 0.8 * inside
    assert len(invented().trial.sticks) >= once.sticks

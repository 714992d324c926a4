"""Kaplan-Meier against the 6-MP leukaemia trial, every row, and statsmodels."""

import math

import numpy as np
import pytest
from tests.outside import data

from evenhand.stats.survival import kaplan_meier, survival_at


def six_mp():
    """The 6-MP arm."""
    return kaplan_meier(np.abs(data.SIX_MP), np.array(data.SIX_MP) > 0)


# Time, at risk, events, survival, Greenwood's standard error. COMPUTED (R survival; scripts/survival.R), data READ.
ROWS = [
    (6, 21, 3, 0.857, 0.0764),
    (7, 17, 1, 0.807, 0.0869),
    (10, 15, 1, 0.753, 0.0963),
    (13, 12, 1, 0.690, 0.1068),
    (16, 11, 1, 0.627, 0.1141),
    (22, 7, 1, 0.538, 0.1282),
    (23, 6, 1, 0.448, 0.1346),
]

# Intervals on the log(-log) scale at the same times, as textbooks print them for this trial. MEMORY.
LOG_LOG = [
    (0.6197, 0.9516),
    (0.5631, 0.9228),
    (0.5032, 0.8894),
    (0.4316, 0.8491),
    (0.3675, 0.8049),
    (0.2678, 0.7468),
    (0.1881, 0.6801),
]


def test_six_mp_rows():
    """Every row of the 6-MP arm: Freireich et al., Blood 1963;21:699-716."""
    curve = six_mp()
    assert curve.time.tolist() == [row[0] for row in ROWS]
    assert curve.at_risk.tolist() == [row[1] for row in ROWS]
    assert curve.events.tolist() == [row[2] for row in ROWS]
    assert curve.survival == pytest.approx([row[3] for row in ROWS], abs=5.1e-4)
    assert curve.se == pytest.approx([row[4] for row in ROWS], abs=5.1e-5)


def test_six_mp_intervals():
    """The log(-log) intervals of the 6-MP arm, to four places."""
    for (time, *_), interval in zip(ROWS, LOG_LOG, strict=True):
        found = survival_at(six_mp(), time)
        assert (found.low, found.high) == pytest.approx(interval, abs=5.1e-5)


def test_medians():
    """Medians 23 and 8 weeks (COMPUTED, R survival)."""
    assert six_mp().median == 23
    assert kaplan_meier(data.PLACEBO, [True] * 21).median == 8


def test_log_scale_is_another_interval():
    """R's default at 6 weeks, on the log scale, is 0.720 to 1.000 (COMPUTED): ours differs by choice of scale, not of SE."""
    curve = six_mp()
    s, se = float(curve.survival[0]), float(curve.se[0])
    assert s * math.exp(-1.959964 * se / s) == pytest.approx(0.720, abs=5e-4)
    assert s * math.exp(1.959964 * se / s) > 1
    assert survival_at(curve, 6).high < 1


def test_against_statsmodels():
    """statsmodels' SurvfuncRight, another implementation, agrees on invented times with ties and censoring."""
    from statsmodels.duration.survfunc import SurvfuncRight

    rng = np.random.default_rng(6)
    for _ in range(20):
        n = int(rng.integers(5, 60))
        time, event = rng.integers(1, 12, n), rng.random(n) < 0.6
        event[0] = True
        curve, other = kaplan_meier(time, event), SurvfuncRight(time, event)
        assert curve.survival == pytest.approx(other.surv_prob, abs=1e-12)
        inside = curve.survival > 0
        assert curve.se[inside] == pytest.approx(other.surv_prob_se[inside], abs=1e-12)

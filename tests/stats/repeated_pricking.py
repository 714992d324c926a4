"""Makes the table of docs/decisions/0013: the same twenty days pricked anew, V against the scatter of the estimates.

Run from the checkout: `PYTHONPATH=src:. python tests/stats/repeated_pricking.py` (about 20 s).
"""

import numpy as np

from evenhand.stats.cells import Cells
from evenhand.stats.quantiles import t_quantile
from evenhand.stats.visits import visit_mean

DAY, ROUNDS = 86_400, 400
CELLS = Cells(np.arange(20) // 10, np.arange(20), np.full(20, 960.0))


def clumps(rng, count, size):
    """Clumps of sticks 20 min apart at random moments."""
    first = np.repeat(rng.integers(420, 1380 - 20 * size, count), size)
    return np.repeat(rng.integers(0, 20, count), size), first + np.tile(np.arange(size) * 20, count)


def moments(style, rng):
    """Days and minutes of the day of the sticks of one trial."""
    if style == "7 a day at random":
        return rng.integers(0, 20, 140), rng.integers(420, 1380, 140)
    if style == "7 a day, one a slot":
        slot = np.tile(np.arange(7), 20) * (960 / 7) + rng.uniform(0, 960 / 7, 140)
        return np.repeat(np.arange(20), 7), (420 + slot).astype(int)
    if style == "70 pairs of sticks 20 min apart":
        return clumps(rng, 70, 2)
    if style == "28 clumps of five":
        return clumps(rng, 28, 5)
    if style == "half the days, 14 a day":
        chosen = np.concatenate([rng.choice(10, 5, replace=False) + first for first in (0, 10)])
        return np.repeat(chosen, 14), rng.integers(420, 1380, 140)
    if style == "a fifth of the sticks at weekends":
        odds = np.where(np.arange(20) % 7 < 5, 1, 0.2)
        return rng.choice(20, 140, p=odds / odds.sum()), rng.integers(420, 1380, 140)
    return np.arange(20), rng.integers(420, 1380, 20)


STYLES = (
    "7 a day at random",
    "7 a day, one a slot",
    "70 pairs of sticks 20 min apart",
    "28 clumps of five",
    "half the days, 14 a day",
    "a fifth of the sticks at weekends",
    "1 a day",
)


def row(style, spread, rng):
    """Mean V over the variance of the estimates, mean phi, coverage, bias in standard errors."""
    level = rng.normal(0, spread, 20)
    wave = 3 * np.sin(np.arange(1440) * 2 * np.pi / 480)
    truth = level.mean() + wave[420:1380].mean()
    values, variances, phis, inside = [], [], [], 0
    for _ in range(ROUNDS):
        day, minute = moments(style, rng)
        y = level[day] + wave[minute] + rng.normal(0, 4, day.size)
        found = visit_mean(y, day // 10, day, day * DAY + minute * 60, CELLS)
        half = t_quantile(0.975, found.df) * np.sqrt(found.variance)
        inside += abs(found.value - truth) <= half
        values.append(found.value - truth)
        variances.append(found.variance)
        phis.append(found.phi)
    scatter = np.var(values)
    return np.mean(variances) / scatter, np.mean(phis), inside / ROUNDS, np.mean(values) / np.sqrt(scatter)


def main():
    """Print the table."""
    for style in STYLES:
        for spread in (0, 3, 8):
            ratio, phi, cover, bias = row(style, spread, np.random.default_rng(20 + spread))
            print(f"| {style} | {spread} | {ratio:.2f} | {phi:.2f} | {100 * cover:.1f} % | {bias:+.2f} |")


if __name__ == "__main__":
    main()

"""Reconstruction against the truth of invented trials: `python -m benchmarks.reconstruction [trials] [world ...]`.

One line a world: distance of the line to true blood, share of true blood inside the 90 % band, lag, share trusted,
CPU seconds; then for each sensor's MAD against true blood (at its own readings) mean error, RMSE and coverage of
the 95 % interval, and the same of the mean difference from sticks taken as MAD; then of the share out of 20/20.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from evenhand.reconstruct.reconstruct import Reconstruction, Refused, reconstruct
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import honesty
from evenhand.rehearse.truth import Invented
from evenhand.rehearse.world import World


def against_truth(made: Invented, found: Reconstruction) -> list[tuple[float, ...]]:
    """Per sensor: error of MAD, 1 where its interval held, error of sticks alone, error of the share out of
    tolerance (percentage points), 1 where that interval held."""
    at_stick = np.array([stick.at.instant for stick in made.trial.sticks])
    value = np.array([stick.glucose.mg_dl for stick in made.trial.sticks])
    rows = []
    for sensor in made.trial.sensors:
        readings = made.trial.readings[sensor.id]
        inside = (readings.instant >= found.path.at[0]) & (readings.instant <= found.path.at[-1])
        at, shown = readings.instant[inside], readings.mg_dl[inside]
        blood = made.truth.blood_at(at)
        truth = float(np.abs(shown - blood).mean())
        mad = found.path.mean_of(at, lambda b, s=shown: np.abs(s - b))
        out = found.path.mean_of(at, lambda b, s=shown: np.abs(s - b) > np.where(b < 100.0, 20.0, 0.2 * b))
        truly = float((np.abs(shown - blood) > np.where(blood < 100.0, 20.0, 0.2 * blood)).mean())
        after = np.clip(np.searchsorted(at, at_stick), 1, at.size - 1)
        near = np.where(at_stick - at[after - 1] <= at[after] - at_stick, after - 1, after)
        close = np.abs(at[near] - at_stick) <= 300
        alone = float(np.abs(shown[near] - value)[close].mean())
        rows.append(
            (mad.value - truth, float(mad.low <= truth <= mad.high), alone - truth,
             100.0 * (out.value - truly), float(out.low <= truly <= out.high))
        )  # fmt: skip
    return rows


def run(world: World, trials: int, first: int = 0) -> str:
    """The lines of one world."""
    whole, numbers, refused = [], [], 0
    for seed in range(first, first + trials):
        made = invent(world, seed)
        began = time.process_time()
        found = reconstruct(made.trial)
        took = time.process_time() - began
        if isinstance(found, Refused):
            refused += 1
            continue
        inside = found.path.at <= made.truth.at[-1]
        blood = made.truth.blood_at(found.path.at)
        low, high = found.path.band()
        held = ((blood >= low) & (blood <= high))[inside].mean()
        distance = np.abs(found.path.mg_dl - blood)[inside].mean()
        whole.append((distance, held, found.lag.value - world.lag, float(found.trusted), took))
        numbers += against_truth(made, found)
    if not whole:
        return f"{world.name}: all {refused} refused"
    mean = np.mean(whole, axis=0)
    each = np.array(numbers)
    bias, rms = each.mean(axis=0), np.sqrt((each**2).mean(axis=0))
    return (
        f"{world.name}: {len(whole)} trials, {refused} refused; distance {mean[0]:.2f}, band {mean[1]:.3f}, "
        f"lag {mean[2]:+.2f} min, trusted {mean[3]:.2f}, {mean[4]:.1f} s\n"
        f"    MAD {bias[0]:+.2f} / {rms[0]:.2f} / {bias[1]:.3f}; sticks alone {bias[2]:+.2f} / {rms[2]:.2f}; "
        f"out of tolerance {bias[3]:+.2f} / {rms[3]:.2f} / {bias[4]:.3f}"
    )


def main() -> None:
    """Run the worlds named (all where none is), so many trials each (20 where not said)."""
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    worlds = honesty()
    for name in sys.argv[2:] or list(worlds):
        print(run(worlds[name], trials), flush=True)


if __name__ == "__main__":
    main()

"""The meter's error: draws sticks from it, and gives what is expected of them exactly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import erf, ndtr

from evenhand.rehearse.grid import Floats
from evenhand.rehearse.world import Meter
from evenhand.units import FACTOR, Unit


@dataclass(frozen=True, slots=True)
class MeterNoise:
    """A stick is blood (as this meter shows it, bias included) plus a zero-mean mixture of two normals.

    Their SDs are `sd` and `gross_sd` times blood (times 70 mg/dL below that); the second comes with
    probability `gross`. `step` (mg/dL) is what sticks are rounded to: its variance, step squared over 12, is
    counted in.
    """

    sd: float
    gross: float
    gross_sd: float
    step: float

    @classmethod
    def of(cls, meter: Meter) -> MeterNoise:
        """The noise of a meter as set in a world."""
        step = 1.0 if meter.unit is Unit.MG_DL else FACTOR / 10
        return cls(meter.sd, meter.gross, meter.gross_sd, step)

    def draw(self, blood: Floats, rng: np.random.Generator) -> Floats:
        """One stick in mg/dL for each value of blood, not yet rounded."""
        relative = np.where(rng.random(blood.shape) < self.gross, self.gross_sd, self.sd)
        return np.clip(
            blood + relative * np.maximum(blood, 70.0) * rng.standard_normal(blood.shape), 20.0, 600.0
        )

    def parts(self, blood: Floats) -> tuple[tuple[float, Floats], ...]:
        """The mixture at each value of blood: weights, and SDs in mg/dL (shape of `blood`)."""
        scale, rounding = np.maximum(blood, 70.0), self.step**2 / 12
        return (
            (1.0 - self.gross, np.sqrt((self.sd * scale) ** 2 + rounding)),
            (self.gross, np.sqrt((self.gross_sd * scale) ** 2 + rounding)),
        )

    def expected_error(self, reading: Floats, blood: Floats) -> Floats:
        """E[reading - stick] in mg/dL."""
        return reading - blood

    def expected_abs_error(self, reading: Floats, blood: Floats) -> Floats:
        """E|reading - stick| in mg/dL: the mean of a folded normal for each part of the mixture.

        With d = reading - blood and SD s it is s sqrt(2/pi) exp(-d²/2s²) + d erf(d / (s sqrt 2)).

        >>> noise = MeterNoise(0.05, 0.0, 0.2, 0.0)
        >>> round(float(noise.expected_abs_error(np.array([100.0]), np.array([100.0]))[0]), 4)
        3.9894
        """
        apart = reading - blood
        total = np.zeros_like(apart)
        for weight, sd in self.parts(blood):
            safe = np.maximum(sd, 1e-12)
            folded = safe * np.sqrt(2 / np.pi) * np.exp(-0.5 * (apart / safe) ** 2)
            total += weight * (folded + apart * erf(apart / (safe * np.sqrt(2))))
        return total

    def expected_square_error(self, reading: Floats, blood: Floats) -> Floats:
        """E(reading - stick)² in mg²/dL²."""
        total = (reading - blood) ** 2
        for weight, sd in self.parts(blood):
            total = total + weight * sd**2
        return total

    def expected_relative_error(self, reading: Floats, blood: Floats) -> Floats:
        """E|reading - stick| / stick in percent, by a sum over 161 nodes between -6 and 6 SD."""
        return 100.0 * self._mean(lambda stick: np.abs(reading - stick) / stick, blood)

    def chance_within(self, reading: Floats, blood: Floats, tolerance: float) -> Floats:
        """P(reading within tolerance of the stick): within `tolerance` mg/dL where the stick is below 100,
        within that many percent of it from 100 up; exact for each part of the mixture."""
        share = tolerance / 100.0
        low_from, low_to = reading - tolerance, np.minimum(reading + tolerance, 100.0)
        high_from, high_to = np.maximum(reading / (1 + share), 100.0), reading / (1 - share)
        total = np.zeros_like(reading)
        for weight, sd in self.parts(blood):
            safe = np.maximum(sd, 1e-12)
            for start, end in ((low_from, low_to), (high_from, high_to)):
                inside = ndtr((end - blood) / safe) - ndtr((start - blood) / safe)
                total += weight * np.where(end > start, inside, 0.0)
        return total

    def _mean(self, function: Callable[[Floats], Floats], blood: Floats) -> Floats:
        nodes = np.linspace(-6.0, 6.0, 161)
        weights = np.exp(-0.5 * nodes**2)
        weights /= weights.sum()
        total = np.zeros_like(blood)
        for share, sd in self.parts(blood):
            for node, weight in zip(nodes, weights, strict=True):
                total += share * weight * function(np.clip(blood + node * sd, 20.0, 600.0))
        return total

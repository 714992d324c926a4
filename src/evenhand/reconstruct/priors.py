"""The parameters of the model: their order, priors, and the way between natural values and prior units."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from evenhand.reconstruct.data import Whole
from evenhand.reconstruct.scale import Floats

TAU, METER, SIGMA_V, TAU_V, TAU_A = range(5)
"""Places of the parameters all sensors share: lag (min), meter SD, SD of blood's velocity (per min), its memory (min),
the memory of its drive (min)."""
SLOW, FAST, MEMORY, WHITE, DELAY = range(5)
"""Places among a sensor's own: SD of the slow offset, SD of the fast error, its memory (min), SD of
what differs from reading to reading, extra delay (min)."""
OWN_MANY = 5
SHARED = ((8.0, 0.35), (0.05, 0.30), (0.007, 0.5), (25.0, 0.7), (20.0, 0.7))
OWN = ((0.05, 0.6), (0.05, 0.4), (25.0, 0.5), (0.008, 0.5))
"""Median and SD of the logarithm of each positive parameter."""
DELAY_SD, GAIN_SD = 2.0, 0.04
"""SDs of a sensor's extra delay (min) and of a wear's gain, both around zero."""
FARTHEST = 6.0
"""No parameter is sought further from its prior's middle than this many SDs."""


@dataclass(frozen=True)
class Priors:
    """The parameters of `sensors` sensors with `wears` wears in all: five shared, five a sensor, a gain a wear.

    In prior units u they are standard normal a priori: value = median exp(sd u), or sd u for gains. A
    sensor's delay is sd u less the mean over the sensors: only differences between sensors are told apart from the lag.
    """

    sensors: int
    wears: int

    @property
    def size(self) -> int:
        """How many parameters there are."""
        return 5 + OWN_MANY * self.sensors + self.wears

    def own(self, what: int) -> Whole:
        """The places of one of the sensors' own parameters, shape (sensors,)."""
        return np.asarray(5 + OWN_MANY * np.arange(self.sensors) + what, np.int64)

    @property
    def gains(self) -> slice:
        """The places of the wears' gains."""
        return slice(5 + OWN_MANY * self.sensors, None)

    @cached_property
    def middle(self) -> Floats:
        """Medians of the positive parameters, 0 for the others."""
        return np.array(
            [m for m, _ in SHARED] + [*(m for m, _ in OWN), 0.0] * self.sensors + [0.0] * self.wears
        )

    @cached_property
    def spread(self) -> Floats:
        """SD of the logarithm of the positive parameters, of the value for the others."""
        own = [*(s for _, s in OWN), DELAY_SD] * self.sensors
        return np.array([s for _, s in SHARED] + own + [GAIN_SD] * self.wears)

    @cached_property
    def fastest(self) -> Whole:
        """The places of the parameters of the fast scales, which are sought first."""
        return np.concatenate(
            ([SIGMA_V, TAU_V, TAU_A], self.own(FAST), self.own(MEMORY), self.own(WHITE))
        ).astype(np.int64)

    def value(self, u: Floats) -> Floats:
        """Natural values of parameters in prior units, shape (size,).

        >>> Priors(1, 1).value(np.zeros(11)).tolist()
        [8.0, 0.05, 0.007, 25.0, 20.0, 0.05, 0.05, 25.0, 0.008, 0.0, 0.0]
        """
        free = self.middle == 0.0
        with np.errstate(over="ignore"):
            positive = self.middle * np.exp(self.spread * u)
        value = np.where(free, self.spread * u, positive)
        delay = self.own(DELAY)
        value[delay] -= value[delay].mean()
        return value

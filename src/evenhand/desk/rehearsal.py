"""What may be asked of an invented trial; apart from the inventing, so that asking for help imports no science."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RehearsalSaid:
    """What a person asks of an invented trial.

    Parameters
    ----------
    days
        How many days it lasts. Left out: 20.
    wears
        How many wears of each sensor, one after another. Left out: 2.
    sticks
        How many planned fingersticks a day. Left out: 7.
    seed
        The number it is drawn from: the same seed, the same trial. Left out: drawn, and said.
    """

    days: int = 20
    wears: int = 2
    sticks: float = 7.0
    seed: int | None = None

"""Ticks at round numbers."""

from __future__ import annotations

import math


def step(reach: float, most: int) -> float:
    """A round step (1, 2 or 5 times a power of ten) of which at most `most` fit into `reach`.

    >>> step(9.0, 5), step(0.5, 5), step(31.0, 4)
    (2.0, 0.1, 10.0)
    """
    rough = reach / most
    power = 10.0 ** math.floor(math.log10(rough))
    for factor in (1.0, 2.0, 5.0, 10.0):
        if factor * power >= rough * (1 - 1e-9):
            return round(factor * power, 10)
    return 10.0 * power


def ticks(reach: float, most: int) -> list[float]:
    """Round numbers from 0 up to `reach`.

    >>> ticks(9.0, 5)
    [0.0, 2.0, 4.0, 6.0, 8.0]
    """
    width = step(reach, most)
    return [round(width * count, 10) for count in range(int(reach / width + 1e-9) + 1)]


def label(value: float) -> str:
    """A tick's label, without a sign.

    >>> label(-2.0), label(0.25)
    ('2', '0.25')
    """
    return f"{abs(value):.4f}".rstrip("0").rstrip(".")

"""Pulses, kernels and broken lines on a minute grid: the bricks of which blood and errors are made."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.fft import irfft, next_fast_len, rfft
from scipy.special import gammainc

from evenhand.rehearse.grid import Floats, Ints


@lru_cache(maxsize=64)
def gamma_share(mean: float, shape: float, length: int) -> Floats:
    """The share of a gamma-distributed delay (mean in minutes) that is over after 0 .. length-1 minutes."""
    return np.asarray(gammainc(shape, np.arange(length) * (shape / mean)), dtype=np.float64)


@lru_cache(maxsize=64)
def response(mean: float, shape: float, hold: float, length: int = 960) -> Floats:
    """How glucose answers one unit: rises as the gamma share, then lets go around `hold` minutes.

    Shape (length,), between 0 and 1, 0 at the end.
    """
    minutes = np.arange(length)
    fade = np.clip((minutes - 0.45 * hold) / (1.1 * hold), 0.0, 1.0)
    kernel: Floats = gamma_share(mean, shape, length) * 0.5 * (1.0 + np.cos(np.pi * fade))
    return kernel


def answer(pulses: Floats, kernels: tuple[Floats, ...]) -> Floats:
    """The sum over rows of `pulses` (shape (K, M)) of each row's response to its kernel, shape (M,)."""
    minutes = pulses.shape[1]
    size = next_fast_len(minutes + max(kernel.size for kernel in kernels), real=True)
    spectrum = np.zeros(size // 2 + 1, dtype=np.complex128)
    for row, kernel in zip(pulses, kernels, strict=True):
        spectrum += rfft(row, size) * rfft(kernel, size)
    return np.asarray(irfft(spectrum, size)[:minutes], dtype=np.float64)


@lru_cache(maxsize=64)
def delay_kernel(mean: float) -> Floats:
    """Weights of a distributed delay of `mean` minutes: a quarter pure delay, the rest gamma-shaped
    (shape 2.5), on whole minutes, with exactly that mean. Shape (K,), sums to 1."""
    pure, rest = 0.25 * mean, 0.75 * mean
    length = int(np.ceil(pure + 8 * rest)) + 3
    edges = np.clip(np.arange(length + 1) - 0.5 - pure, 0.0, None)
    weights = np.diff(np.asarray(gammainc(2.5, edges * (2.5 / max(rest, 1e-9))), dtype=np.float64))
    weights /= weights.sum()
    return weights


def delayed(series: Floats, mean: float) -> Floats:
    """`series` (M,) through the distributed delay; before its start it stood at its first value."""
    if mean <= 0:
        return series
    kernel = delay_kernel(mean)
    padded = np.concatenate((np.full(kernel.size - 1, series[0]), series))
    return np.convolve(padded, kernel, mode="valid")


def trapezoids(minutes: int, corners: Ints, heights: Floats) -> Floats:
    """The sum of trapezoids on a grid of `minutes`.

    `corners` (K, 4): foot, shoulder, shoulder, foot, in increasing minutes; `heights` (K,). Parts outside
    the grid are cut off.

    >>> trapezoids(6, np.array([[0, 2, 3, 5]]), np.array([4.0])).tolist()
    [0.0, 2.0, 4.0, 4.0, 2.0, 0.0]
    """
    total = np.zeros(minutes)
    for (foot, shoulder, end, last), height in zip(corners, heights, strict=True):
        first, stop = max(int(foot), 0), min(int(last) + 1, minutes)
        if first < stop:
            total[first:stop] += height * np.interp(
                np.arange(first, stop), (foot, shoulder, end, last), (0.0, 1.0, 1.0, 0.0)
            )
    return total


def soft_between(values: Floats, low: float, high: float, soft: tuple[float, float]) -> Floats:
    """Values kept between two bounds, bent softly towards them over `soft` (low, high)."""
    raised = low + soft[0] * np.logaddexp(0.0, (values - low) / soft[0])
    return np.asarray(high - soft[1] * np.logaddexp(0.0, (high - raised) / soft[1]), dtype=np.float64)

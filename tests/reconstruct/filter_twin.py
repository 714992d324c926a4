"""The model with one sensor as a chain of states five minutes apart, for filters that know nothing of bands.

Written from the derivation again. State at step n: blood of n, n-1, n-2; fluid of n+1, n, n-1; the fast error at the
knots after and before; the slow offset; the wear's constant and what fades. Readings lie on whole steps, one wear,
no calibration, no delay.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

H = 5.0
B0, B1, B2, I1, I0, IB, E1, E0, OFF, K, F = range(11)
SIZE = 11


@dataclass
class Chain:
    """Steps 2 .. T+1. `transition` (T, 11, 11) and `noise` (T, 11, 11) lead from one step to the next, `design` (T, 2,
    11) gives reading and stick, `value` (T, 2) what was seen (NaN: nothing), `spread` (2,) their variances; `first`
    (11, 11) is the covariance at step 2, all means being 0."""

    transition: np.ndarray
    noise: np.ndarray
    design: np.ndarray
    value: np.ndarray
    spread: np.ndarray
    first: np.ndarray


def chain(
    own: dict[str, float], readings: dict[int, tuple[float, float]], sticks: dict[float, float], steps: int
) -> Chain:
    """The chain at natural parameters `own`; `readings` by step (value, age in minutes), `sticks` by minute."""
    a = np.exp(-H / own["tau"])
    poles = [np.exp(-H / 720.0), np.exp(-H / own["tau_v"]), np.exp(-H / own["tau_a"])]
    ar = np.poly(poles)
    p2, p3 = poles[1:]
    sd = own["sigma_v"] * H * np.sqrt((1 - p2 * p3) * (1 - p2**2) * (1 - p3**2) / (1 + p2 * p3))
    q = np.exp(-10.0 / own["memory"])
    keep = np.exp(-20.0 / 2160.0)
    transition, noise = np.zeros((steps, SIZE, SIZE)), np.zeros((steps, SIZE, SIZE))
    for place in range(steps):
        after = place + 3
        t, n = transition[place], noise[place]
        t[B0, [B0, B1, B2]] = -ar[1:]
        t[B1, B0] = t[B2, B1] = t[I0, I1] = t[IB, I0] = t[K, K] = t[F, F] = 1.0
        t[I1] = (1 - a) * t[B0]
        t[I1, I1] = a
        push = np.zeros((SIZE, 1))
        push[[B0, I1], 0] = sd * np.array([1.0, 1 - a])
        n += push @ push.T
        if after % 2 == 0:
            t[E1, [E1, E0]] = 2 * q, -q * q
            t[E0, E1] = 1.0
            n[E1, E1] += own["fast"] ** 2 * (1 - q * q) ** 3 / (1 + q * q)
        else:
            t[E1, E1] = t[E0, E0] = 1.0
        if after % 4 == 0:
            t[OFF, OFF] = keep
            n[OFF, OFF] += own["slow"] ** 2 * (1 - keep**2)
        else:
            t[OFF, OFF] = 1.0
    design, value = np.zeros((steps, 2, SIZE)), np.full((steps, 2), np.nan)
    for step, (seen, age) in readings.items():
        row = design[step - 2, 0]
        row[[IB, I0, I1]] = (1 + own["gain"]) * np.array([0.125, 0.75, 0.125])
        way = (step % 2) / 2
        row[[E0, E1, OFF, K]] += np.array([1 - way, way, 1.0, 1.0])
        row[F] = np.exp(-age / 600.0)
        value[step - 2, 0] = seen
    c = own["tau"] - H * a / (1 - a)
    for minute, seen in sticks.items():
        before = int(np.floor((minute + c) / H)) - 1
        part = (minute + c) / H - 1 - before
        design[before + 1 - 2, 1, [B1, B0]] = 1 - part, part
        value[before + 1 - 2, 1] = seen
    spread = np.array([own["white"] ** 2, own["meter"] ** 2])
    return Chain(transition, noise, design, value, spread, _first(own, a, q))


def _first(own: dict[str, float], a: float, q: float) -> np.ndarray:
    """The covariance at step 2, built from the independent noises of the start."""
    sds = np.array([0.5, 0.1, 0.1, 0.1, own["fast"], 1.0, 1.0, own["slow"], 0.10, 0.08])
    b = np.zeros((3, 10))
    b[0, 0] = 1.0
    b[1, :2] = 1.0
    b[2] = 2 * b[1] - b[0]
    b[2, 2] = 1.0
    fluid = np.zeros((4, 10))
    fluid[0] = b[0]
    fluid[0, 3] = 1.0
    for k in range(3):
        fluid[k + 1] = a * fluid[k] + (1 - a) * b[k]
    r = 2 * q / (1 + q * q)
    e = np.zeros((3, 10))
    e[0, 4] = 1.0
    e[1] = r * e[0]
    e[1, 5] = own["fast"] * np.sqrt(1 - r * r)
    e[2] = 2 * q * e[1] - q * q * e[0]
    e[2, 6] = own["fast"] * np.sqrt((1 - q * q) ** 3 / (1 + q * q))
    rows = np.stack([b[2], b[1], b[0], fluid[3], fluid[2], fluid[1], e[2], e[1], *np.eye(10)[7:]])
    return rows @ np.diag(sds**2) @ rows.T


def filtered(made: Chain) -> float:
    """The log likelihood by a plain Kalman filter in numpy, one datum at a time (Kalman, J Basic Eng 1960;82:35-45)."""
    mean, cov, total = np.zeros(SIZE), made.first, 0.0
    for place in range(made.value.shape[0]):
        for kind in range(2):
            seen = made.value[place, kind]
            if np.isnan(seen):
                continue
            row = made.design[place, kind]
            spread = row @ cov @ row + made.spread[kind]
            off = seen - row @ mean
            gain = cov @ row / spread
            mean, cov = mean + gain * off, cov - np.outer(gain, row @ cov)
            total -= 0.5 * (np.log(2 * np.pi * spread) + off * off / spread)
        t = made.transition[place]
        mean, cov = t @ mean, t @ cov @ t.T + made.noise[place]
    return float(total)

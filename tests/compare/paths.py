"""Reconstructions made by hand: blood known exactly, or with a spread of our own, for the tests of what is read off them."""

from __future__ import annotations

import numpy as np
from tests.compare.making import MIDNIGHT

from evenhand.compare.against import Held
from evenhand.compare.shapes import Layout, Worn
from evenhand.reconstruct.path import BloodPath
from evenhand.reconstruct.scale import even

STEP = 300


def instants(many: int, start: int = MIDNIGHT) -> np.ndarray:
    """Instants five minutes apart."""
    return start + STEP * np.arange(many, dtype=np.float64)


def exact(blood: np.ndarray, start: int = MIDNIGHT, draws: int = 4) -> BloodPath:
    """A path that knows blood (mg/dL, every five minutes) without doubt."""
    mean = even(blood)
    return BloodPath(instants(blood.size, start), mean, np.zeros(blood.size), np.tile(mean, (draws, 1)))


def doubtful(
    blood: np.ndarray, sd: float, *, start: int = MIDNIGHT, draws: int = 400, seed: int = 0
) -> BloodPath:
    """A path whose draws lie about blood with one SD on the even scale, each shifted as a whole."""
    mean = even(blood)
    shifts = sd * np.random.default_rng(seed).standard_normal((draws, 1))
    return BloodPath(instants(blood.size, start), mean, np.full(blood.size, sd), mean[None, :] + shifts)


def own(values: np.ndarray, start: int = MIDNIGHT, **more: np.ndarray) -> Held:
    """A sensor's readings every five minutes, all of wear 0, by day, in the middle of the wear."""
    n = values.size
    held = {
        "wear": np.zeros(n, np.int64),
        "night": np.zeros(n, np.bool_),
        "age": np.full(n, 3 * 86400.0),
        "left": np.full(n, 3 * 86400.0),
    }
    return Held(instants(n, start).astype(np.int64), np.asarray(values, np.float64), **{**held, **more})


def layout_of(n: int, start: int = MIDNIGHT, calibrated: tuple[int, ...] = ()) -> Layout:
    """A layout that knows one wear over n readings, and nothing else that these tests ask of it."""
    end = start + STEP * (n - 1)
    worn = Worn(0, 1, start - 3600, start, end, True, None, calibrated)
    nothing = None
    return Layout((worn,), nothing, nothing, 300.0)  # type: ignore[arg-type]

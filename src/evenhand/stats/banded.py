"""Symmetric positive definite band matrices: factor, solve, the inverse within the band, draws.

A band matrix of order n and half width d is kept as an array of shape (n, d + 1): entry [j, e] is the matrix's entry
(j + e, j); entries that would lie outside are ignored. LAPACK's banded Cholesky does the work (`dpbtrf`, `dpbtrs`,
`dtbtrs`; Golub and Van Loan, Matrix Computations, 4th edition, section 4.3). It is imported where it is used: a judgement
without the reconstruction needs none of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


class NotPositive(ArithmeticError):
    """The band matrix is not positive definite."""


@dataclass(frozen=True, slots=True)
class Factor:
    """The Cholesky factor L of a band matrix P = L L', as an array of shape (n, d + 1) like P itself."""

    lower: Floats

    @property
    def log_determinant(self) -> float:
        """log |P|."""
        return 2.0 * float(np.log(self.lower[:, 0]).sum())

    def solve(self, right: Floats) -> Floats:
        """P^-1 `right`; shape (n,) or (n, r) in, the same out."""
        from scipy.linalg.lapack import dpbtrs

        found, _ = dpbtrs(self.lower.T, right, lower=1)
        return np.asarray(found, np.float64)

    def spread(self, normal: Floats) -> Floats:
        """L'^-1 `normal`, shape (n,) or (n, r): independent standard normals become draws with covariance P^-1."""
        from scipy.linalg.lapack import dtbtrs

        found, _ = dtbtrs(self.lower.T, normal, uplo="L", trans="T")
        return np.asarray(found, np.float64)

    def inverse(self) -> Floats:
        """The entries of P^-1 within the band, as an array of shape (n, d + 1).

        P is cut into blocks of d unknowns, which makes L block bidiagonal. With D_j its diagonal blocks, E_j those
        below and W_j = E_j D_j^-1, the inverse's blocks follow from the last up:
        S_j = D_j'^-1 D_j^-1 + W_j' S_(j+1) W_j, and below the diagonal -S_(j+1) W_j (Takahashi's equations; Erisman
        and Tinney, Communications of the ACM 1975;18:177-179).
        """
        order, width = self.lower.shape
        cut = _cut(order, width - 1)
        flat = np.append(self.lower.ravel(), (0.0, 1.0))
        turned = np.linalg.inv(flat[cut.diagonal])
        passed = flat[cut.below] @ turned[:-1]
        inverse = turned.transpose(0, 2, 1) @ turned
        for j in range(cut.blocks - 2, -1, -1):
            w = passed[j]
            inverse[j] += w.T @ inverse[j + 1] @ w
        both = np.concatenate((inverse.ravel(), (-(inverse[1:] @ passed)).ravel(), (0.0,)))
        return both[cut.back]


def factor(band: Floats) -> Factor:
    """Factor a band matrix of shape (n, d + 1); `NotPositive` where it is not positive definite.

    >>> band = np.array([[2.0, 1.0], [2.0, 0.0]])
    >>> factor(band).solve(np.array([3.0, 3.0])).round(12).tolist()
    [1.0, 1.0]
    >>> factor(band).inverse().round(4).tolist()            # (2 1; 1 2)^-1 = (2 -1; -1 2)/3
    [[0.6667, -0.3333], [0.6667, 0.0]]
    """
    from scipy.linalg.lapack import dpbtrf

    lower, wrong = dpbtrf(np.ascontiguousarray(band).T, lower=1)
    if wrong:
        raise NotPositive(f"leading minor {wrong} of {band.shape[0]} is not positive")
    return Factor(np.ascontiguousarray(lower.T))


@dataclass(frozen=True, slots=True)
class _Cut:
    """Where the entries of the blocks stand in the band, raveled, and back; the band is padded with unit pivots."""

    blocks: int
    diagonal: Whole
    below: Whole
    back: Whole


@lru_cache(maxsize=8)
def _cut(order: int, half: int) -> _Cut:
    size = max(half, 1)
    blocks = -(-order // size)
    zero, one = order * (half + 1), order * (half + 1) + 1
    row, col = np.indices((size, size))
    first = size * np.arange(blocks)[:, None, None]

    def place(i: Whole, j: Whole) -> Whole:
        inside = (i >= j) & (i - j <= half) & (i < order)
        found = np.where(inside, j * (half + 1) + i - j, zero)
        return np.where((i == j) & (i >= order), one, found)

    diagonal = place(first + row, first + col)
    below = place(first[1:] + row, first[:-1] + col)
    j, e = np.indices((order, half + 1))
    i = j + e
    same = i // size == j // size
    inner = (i % size) * size + j % size
    back = np.where(
        same, (j // size) * size * size + inner, blocks * size * size + (j // size) * size * size + inner
    )
    back = np.where(i < order, back, blocks * size * size + (blocks - 1) * size * size)
    return _Cut(blocks, diagonal, below, back)

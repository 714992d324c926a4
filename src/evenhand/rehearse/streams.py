"""One random stream per part of an invented trial, so that a change in one part leaves the others as they were."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Streams:
    """The streams and ids that belong to a seed.

    >>> bool(Streams(7).of("blood").random() == Streams(7).of("blood").random())
    True
    >>> len(Streams(7).id("stick", 3))
    16
    """

    seed: int

    def of(self, *names: str | int) -> np.random.Generator:
        """The stream (PCG64) for the part with these names, always from its beginning."""
        digest = hashlib.sha256("/".join(map(str, (self.seed, *names))).encode()).digest()
        return np.random.Generator(np.random.PCG64(int.from_bytes(digest[:16], "big")))

    def id(self, *names: str | int) -> str:
        """A record's id: 16 hexadecimal digits."""
        return hashlib.sha256("/".join(map(str, ("id", self.seed, *names))).encode()).hexdigest()[:16]

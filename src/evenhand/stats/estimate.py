"""The one shape in which every estimate travels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

About = Literal["these_wears", "next_sensor"]
"""What an interval speaks of: the wears that were worn, or the next sensor out of the box."""


@dataclass(frozen=True, slots=True)
class Est:
    """An estimate with its interval; every number that a user sees is one.

    `value`, `low` and `high` are None where they cannot be given, and `why` then holds the reason's code.
    A value may stand without an interval (`why` says why), never an interval without a value. `n` counts
    what went in (pairs, sticks, wears: `method` says which rule was used). Unrounded.
    """

    value: float | None
    low: float | None = None
    high: float | None = None
    level: float = 0.95
    n: int = 0
    method: str = ""
    about: About = "these_wears"
    why: str | None = None

    @classmethod
    def missing(cls, why: str, *, n: int = 0, method: str = "", about: About = "these_wears") -> Est:
        """No estimate, for the reason whose code is `why`."""
        return cls(None, n=n, method=method, about=about, why=why)

"""What intake says about a file: guesses with their evidence, questions only a person can answer, proposals."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Guess:
    """Something that was decided from the file itself: what, as what, how sure (0 to 1), and why (a sentence)."""

    what: str
    chosen: str
    score: float
    evidence: str
    sheet: str | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """A question that only a person can answer; `set` is what to write, `choices` what may stand after '='."""

    code: str
    text: str
    choices: tuple[str, ...]
    set: str


AS_WRITTEN = "shift=no"
"""Refuses every proposal about a file's clock."""


@dataclass(frozen=True, slots=True)
class Profile:
    """How two series agree as one is moved against the other: `shifts` in seconds (positive: this file's clock is ahead), `heights`
    in `unit` at each (NaN: cannot be told), `best` the shift that is proposed. More is closer where `unit` is 'correlation';
    otherwise (mg/dL apart, rows outside) less is."""

    against: str
    unit: str
    shifts: tuple[int, ...]
    heights: tuple[float, ...]
    best: int

    def table(self) -> tuple[tuple[int, float], ...]:
        """The agreement as written, at the proposed shift and around it: what a person can check in a few lines."""
        if not self.shifts:
            return ()
        wanted = [0, *(self.best + step for step in (-3600, -1800, -600, 0, 600, 1800, 3600))]
        near = [min(self.shifts, key=lambda have: abs(have - want)) for want in wanted]
        told = dict(zip(self.shifts, self.heights, strict=True))
        return tuple((shift, told[shift]) for shift in sorted(set(near)) if told[shift] == told[shift])


@dataclass(frozen=True, slots=True)
class Suggested:
    """A correction that is proposed and never applied unasked; `set` accepts it, `refuse` says that the file is right.

    `sensor` is the id of whose readings it is about (None: the meter, or the file), `profile` the evidence as numbers, None where
    it is not a profile."""

    code: str
    text: str
    evidence: str
    set: str
    refuse: str = AS_WRITTEN
    sensor: str | None = None
    profile: Profile | None = None

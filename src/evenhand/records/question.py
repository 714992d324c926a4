"""The question a trial asks, with the defaults that hold until one is declared."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from evenhand.clock import Stamp
from evenhand.errors import BadRecord


class PairsAsked(StrEnum):
    """Which paired points the primary question is asked of."""

    STEADY = "steady"
    ALL = "all"


class Stream(StrEnum):
    """Which of a sensor's streams is judged."""

    KEPT = "kept"
    LIVE = "live"
    SHOWN = "shown"


class Policy(StrEnum):
    """What was agreed about calibrations."""

    NONE = "none"
    MAKER = "as the maker says"
    FREE = "free"


@dataclass(frozen=True, slots=True)
class MustHave:
    """A requirement that ends a choice by itself; `met` None while not known."""

    sensor: str
    text: str
    met: bool | None = None


@dataclass(frozen=True, slots=True)
class Declared:
    """A declaration: when, on which day of the trial (1-based), after how many sticks, under which METHOD."""

    at: Stamp
    day: int
    sticks_before: int
    method: int
    fingerprint: str


@dataclass(frozen=True, slots=True)
class Opening:
    """The seal broken before the declared end: when, and on which day of the trial."""

    id: str
    at: Stamp
    day: int


@dataclass(frozen=True, slots=True)
class Question:
    """What the trial asks. `margin` is in mg/dL; `tolerance` 20 means within 20 mg/dL below 100 and within
    20 % from 100 mg/dL up. `waking` and `quiet` are minutes of the day (from, to). `pair` holds two
    sensor ids, the first minus the second; None: the first two sensors of the trial. `end` and `end_wears` are
    the declared end: a time, or so many ended wears of every sensor."""

    id: str
    pair: tuple[str, str] | None = None
    pairs: PairsAsked = PairsAsked.STEADY
    margin: float = 3.0
    tolerance: int = 20
    waking: tuple[int, int] | None = None
    quiet: tuple[int, int] | None = None
    stream: Stream = Stream.KEPT
    policy: Policy | None = None
    must_haves: tuple[MustHave, ...] = ()
    looks: int = 1
    declared: Declared | None = None
    end: Stamp | None = None
    end_wears: int | None = None

    def __post_init__(self) -> None:
        if self.margin <= 0:
            raise BadRecord(
                "The margin is not above zero.",
                "Give the difference, in your unit, that would make you switch.",
            )
        if self.tolerance not in (15, 20, 30, 40):
            raise BadRecord(
                f"A tolerance of {self.tolerance} is not one of 15, 20, 30, 40.", "Choose one of them."
            )
        if self.looks not in (1, 2, 3):
            raise BadRecord(f"{self.looks} looks cannot be planned.", "Declare one, two or three.")

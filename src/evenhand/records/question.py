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


class Driving(StrEnum):
    """Who acts on a sensor when insulin is given."""

    NOBODY = "nobody"
    WEARER = "wearer"
    PUMP = "pump"


@dataclass(frozen=True, slots=True)
class Driver:
    """What drives the insulin: who acts (`by`), and on which sensor (its id; None: on none, or not one alone)."""

    by: Driving
    sensor: str | None = None

    def __post_init__(self) -> None:
        if self.by is Driving.PUMP and self.sensor is None:
            raise BadRecord("A pump acts on a sensor.", "Name it, for example: driver='pump Fern'.")


@dataclass(frozen=True, slots=True)
class Alarm:
    """How an alarm is rehearsed: levels in mg/dL (`high` None: no alarm for highs), delay and silence in seconds."""

    low: float = 70.0
    high: float | None = None
    delay: int = 0
    silence: int = 1800


@dataclass(frozen=True, slots=True)
class Known:
    """What is declared of one sensor (its id) beyond its name: the version, and lots that are at hand."""

    sensor: str
    version: str | None = None
    lots: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MustHave:
    """A requirement that ends a choice by itself; `met` None while not known."""

    sensor: str
    text: str
    met: bool | None = None


@dataclass(frozen=True, slots=True)
class Declared:
    """A declaration: when, on which day of the trial (1-based), after how many sticks, under which METHOD.

    `text` is its canonical text, whose SHA-256 is the fingerprint (empty only in invented trials); `version` is the
    Evenhand it was declared with.
    """

    at: Stamp
    day: int
    sticks_before: int
    method: int
    fingerprint: str
    text: str = ""
    version: str = ""


@dataclass(frozen=True, slots=True)
class Deviation:
    """A departure from the declaration: when it was written down, what was done otherwise, and why."""

    id: str
    at: Stamp
    what: str
    why: str

    def __post_init__(self) -> None:
        if not self.what.strip() or not self.why.strip():
            raise BadRecord(
                "A departure from the declaration says what was done otherwise, and why.", "Give --why TEXT."
            )


@dataclass(frozen=True, slots=True)
class Opening:
    """The seal opened before the declared end: when, and on which day of the trial.

    `look` is the number of the declared look (from 1) that was taken; None: the seal was broken. `ended` says that
    the answer at a declared look ended the trial, as declared.
    """

    id: str
    at: Stamp
    day: int
    look: int | None = None
    ended: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """What the trial asks. `margin` is in mg/dL; `tolerance` 20 means within 20 mg/dL below 100 and within
    20 % from 100 mg/dL up. `waking` and `quiet` are minutes of the day (from, to). `pair` holds two
    sensor ids, the first minus the second; None: the first two sensors of the trial. `end` and `end_wears` are
    the declared end: a time, or so many ended wears of every sensor.

    `answered` names the keys (as `declare --set` has them) that the wearer answered; the rest are defaults.
    `strips` and `money` (the wearer's own) are what can be spent in all, `strip_price` what one strip costs. What is
    wanted of wears and sticks stands in the plan.
    """

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
    answered: tuple[str, ...] = ()
    also_quiet: tuple[tuple[int, int], ...] = ()
    driver: Driver | None = None
    strips: int | None = None
    strip_price: float | None = None
    money: float | None = None
    strip_lots: tuple[str, ...] = ()
    known: tuple[Known, ...] = ()
    alarm: Alarm = Alarm()

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
        if self.strips is not None and self.strips <= 0:
            raise BadRecord("The number of strips is not above zero.", "Give a number, or leave it out.")
        for what, amount in (("price of a strip", self.strip_price), ("money", self.money)):
            if amount is not None and amount < 0:
                raise BadRecord(f"The {what} is below zero.", "Give a number from 0 up, or leave it out.")

    @property
    def quiet_hours(self) -> tuple[tuple[int, int], ...]:
        """Every stretch of the day in which nothing rings and no stick is asked for, minutes of the day (from, to)."""
        return (*([self.quiet] if self.quiet is not None else []), *self.also_quiet)

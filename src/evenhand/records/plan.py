"""The plan of a trial: what was wanted of it, and what was drawn from that: wears, arms, order, stick minutes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from evenhand.clock import Stamp
from evenhand.errors import BadRecord
from evenhand.records.sensors import Side

PLAN = "plan"
"""The id of the one plan a trial has."""


@dataclass(frozen=True, slots=True)
class Held:
    """Unopened sensors in the drawer: how many, of which lot, usable up to and including which day."""

    count: int
    lot: str | None = None
    expires: date | None = None

    def __post_init__(self) -> None:
        if self.count < 1:
            raise BadRecord(f"A stock of {self.count} sensors.", "Say how many unopened sensors you have.")


@dataclass(frozen=True, slots=True)
class SensorPlan:
    """What is wanted of one sensor (`sensor` is its id).

    `wears` None: as many as the days need. `early` is how many seconds before its start a wear is inserted, to
    settle. `spares` are kept for early failures. `held` is what is in the drawer; empty: not said.
    """

    sensor: str
    wears: int | None = None
    early: int = 0
    spares: int = 0
    held: tuple[Held, ...] = ()

    def __post_init__(self) -> None:
        if self.wears is not None and not 1 <= self.wears <= 50:
            raise BadRecord(f"{self.wears} wears of a sensor cannot be planned.", "Plan 1 to 50.")
        if self.early < 0:
            raise BadRecord("A sensor is inserted after its start.", "Give how long before, for example 12h.")
        if self.spares < 0:
            raise BadRecord(f"{self.spares} spare sensors cannot be kept.", "Give 0 or more.")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the wearer wants of the plan.

    `start` is the first insertion; None: not settled yet. `days` is how long all sensors are to run together;
    None: as long as the wears named last. `sticks` are planned fingersticks a day, `repeats` planned second sticks over the
    whole trial. `overlap` True: confirmed twice, the plan may leave an hour without a reading or with both in warm-up.
    """

    start: Stamp | None = None
    days: int | None = None
    sticks: int = 7
    repeats: int = 10
    sensors: tuple[SensorPlan, ...] = ()
    overlap: bool = False

    def __post_init__(self) -> None:
        if self.days is not None and not 1 <= self.days <= 366:
            raise BadRecord(f"A trial of {self.days} days cannot be planned.", "Plan 1 to 366 days.")
        if not 0 <= self.sticks <= 48:
            raise BadRecord(f"{self.sticks} sticks a day cannot be planned.", "Plan 0 to 48 a day.")
        if not 0 <= self.repeats <= 200:
            raise BadRecord(f"{self.repeats} repeats cannot be planned.", "Plan 0 to 200; 10 are enough.")

    def of(self, sensor: str) -> SensorPlan:
        """What is wanted of the sensor with that id."""
        return next((one for one in self.sensors if one.sensor == sensor), SensorPlan(sensor))


@dataclass(frozen=True, slots=True)
class PlannedWear:
    """One wear as planned; `reads` is the first moment with a reading, `number` counts the sensor's wears from 1.

    `happened`: it was worn already when the plan was drawn, and stands as it was recorded.
    """

    sensor: str
    number: int
    inserted: Stamp
    started: Stamp
    reads: Stamp
    removed: Stamp
    side: Side
    lot: str | None = None
    expires: date | None = None
    happened: bool = False

    def __post_init__(self) -> None:
        times = [stamp.instant for stamp in (self.inserted, self.started, self.reads, self.removed)]
        if times != sorted(times):
            raise BadRecord(
                "Insertion, start, first reading and removal of a planned wear are out of order.",
                "This is a defect; report it.",
            )


@dataclass(frozen=True, slots=True)
class Drawn:
    """What was drawn: when, with which printed seed; `minutes` are the instants of planned sticks in order,
    `repeats` those of them that are pricked twice. `number` counts the drawings of this trial from 1. `most_sticks` and
    `most_wears` are the most that any drawing before this one held, so that a new calendar can take back the rest."""

    at: Stamp
    seed: int
    wears: tuple[PlannedWear, ...]
    minutes: tuple[int, ...]
    repeats: tuple[int, ...]
    number: int = 1
    most_sticks: int = 0
    most_wears: int = 0

    @property
    def end(self) -> Stamp:
        """The last planned removal."""
        return max((wear.removed for wear in self.wears), key=lambda stamp: stamp.instant)


@dataclass(frozen=True, slots=True)
class Chances:
    """Shares, 0 to 1, of invented trials with each answer, where the true difference of these wears is `difference`
    (mg/dL; None: two sensors of one kind, whatever their wears happened to be). `beyond` (by more than the margin) is
    part of `closer`, `wrong` (the farther one named) is too. `error` is the standard error of the largest of them."""

    difference: float | None
    closer: float
    beyond: float
    equal: float
    wrong: float
    error: float

    @property
    def unsettled(self) -> float:
        """The share not settled."""
        return max(0.0, 1.0 - self.closer - self.equal)


@dataclass(frozen=True, slots=True)
class Tells:
    """What a plan can tell, from `trials` invented trials a row: `pairs` common pairs on average."""

    margin: float
    trials: int
    pairs: float
    rows: tuple[Chances, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The one plan of a trial: `drawn` None while only wishes are written down; `tells` None while not worked out
    for what is drawn."""

    id: str = PLAN
    wanted: Wanted = Wanted()
    drawn: Drawn | None = None
    tells: Tells | None = None

    def planned_at(self, instant: int, within: int = 600) -> int | None:
        """The drawn minute nearest to an instant, at most `within` seconds away; None where there is none."""
        if self.drawn is None:
            return None
        near = [minute for minute in self.drawn.minutes if abs(minute - instant) <= within]
        return min(near, key=lambda minute: (abs(minute - instant), minute), default=None)

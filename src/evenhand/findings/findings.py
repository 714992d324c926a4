"""A whole judgement, as the contract has it."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from evenhand.findings.parts import Ending, LeftOut, Ranges, SensorFindings
from evenhand.stats.estimate import Est


class Declaration(Struct, frozen=True, forbid_unknown_fields=True):
    """When the question was declared, on which day, after how many sticks, under which METHOD."""

    at: str
    day: int
    sticks_before: int
    method: int


class Looks(Struct, frozen=True, forbid_unknown_fields=True):
    """Looks declared and taken."""

    declared: int
    taken: int


class SealedUntil(Struct, frozen=True, forbid_unknown_fields=True):
    """The declared end: a time, or a number of wears."""

    time: str | None
    wears: int | None


class Opened(Struct, frozen=True, forbid_unknown_fields=True):
    """The seal broken."""

    at: str
    day: int


class Deviation(Struct, frozen=True, forbid_unknown_fields=True):
    """A departure from what was declared."""

    at: str
    what: str
    why: str


class Primary(Struct, frozen=True, forbid_unknown_fields=True):
    """The primary question as judged. `pair` [a, b]: the difference is a minus b; null with three sensors
    and no declared pair. `margin` in mg/dL; `waking` as HH:MM."""

    metric: Literal["mad"]
    pair: tuple[str, str] | None
    pairs: Literal["steady", "all"]
    sticks: tuple[Literal["plan", "habit", "unknown"], ...]
    stream: Literal["kept", "live", "shown"]
    margin: float
    tolerance: str
    waking: tuple[str, str] | None
    standing: Literal["declared", "declared late", "explored", "undeclared"]
    declared: Declaration | None
    fingerprint: str | None
    looks: Looks
    sealed_until: SealedUntil | None
    opened: tuple[Opened, ...]
    deviations: tuple[Deviation, ...]


class ControlCheck(Struct, frozen=True, forbid_unknown_fields=True):
    """A control solution check; `inside` its printed range, null where not noted."""

    at: str
    inside: bool | None


class LotSticks(Struct, frozen=True, forbid_unknown_fields=True):
    """Sticks per strip lot."""

    lot: str
    sticks: int


class MeterFindings(Struct, frozen=True, forbid_unknown_fields=True):
    """What is known of the meter. `reasons` counts sticks by reason."""

    sticks: int
    reasons: dict[str, int]
    repeats: int
    repeat_sd_percent: Est | None
    control: tuple[ControlCheck, ...]
    lots: tuple[LotSticks, ...]


class WearFindings(Struct, frozen=True, forbid_unknown_fields=True):
    """One opened sensor: its line in the fate table. `number` counts the sensor's wears from 1; `replaces`
    is the number of the wear of the same sensor it replaced. `drives` are stretches it drove the insulin."""

    sensor: str
    number: int
    inserted: str | None
    started: str | None
    removed: str | None
    ending: Ending | None
    replaces: int | None
    lot: str | None
    hours: float
    hours_with_readings: float
    drives: tuple[tuple[str, str | None], ...]


class Answer(Struct, frozen=True, forbid_unknown_fields=True):
    """What the trial concludes for one pair of sensors."""

    state: Literal["closer", "equal", "not settled"]
    who: str | None
    beyond_margin: Literal["yes", "no", "open"] | None


class AnsweredDifference(Struct, frozen=True, forbid_unknown_fields=True):
    """A difference of MADs with the answer it would give."""

    difference: Est
    answer: Answer


class Variances(Struct, frozen=True, forbid_unknown_fields=True):
    """Error variances by three-way separation, mg²/dL²; may be negative."""

    meter: Est
    a: Est
    b: Est


class Present(Struct, frozen=True, forbid_unknown_fields=True):
    """Right and present: percent of judging sticks at which a reading within tolerance stood."""

    all_gaps: Est
    phone_gaps_out: Est


class ChanceNext(Struct, frozen=True, forbid_unknown_fields=True):
    """Chance that the next `who` is closer than the next other; null with a code where it cannot be told."""

    who: str | None
    chance: float | None
    range: tuple[float, float] | None
    why: str | None


class ToSettle(Struct, frozen=True, forbid_unknown_fields=True, rename={"kind": "in"}):
    """What would settle it, in what binds."""

    kind: Literal["sticks", "days", "wears", "no"]
    about: int | None


class BetweenSensors(Struct, frozen=True, forbid_unknown_fields=True):
    """The two sensors against each other over common time: mean difference a minus b, and a 5 × 5 table of
    common readings by consensus range (rows a, columns b)."""

    mean_difference: Est
    concurrence: tuple[tuple[int, ...], ...]


class HeadToHead(Struct, frozen=True, forbid_unknown_fields=True):
    """Two sensors at common pairs. Differences are a minus b of MADs: negative means a is closer."""

    a: str
    b: str
    pairs: int
    days: int
    left_out: tuple[LeftOut, ...]
    difference: Est
    interval_for_equal: Est
    k: float | None
    answer: Answer
    meter_span_percent: tuple[float | None, float | None]
    with_prompted: Est
    all_pairs: Est
    mean_square_difference: Est
    agreement_difference: Est
    with_marked: AnsweredDifference | None
    uncalibrated: AnsweredDifference | None
    variances: Variances
    right_and_present: dict[str, Present]
    next_ratio: Est
    chance_next_closer: ChanceNext
    to_settle: ToSettle | None
    between_sensors: BetweenSensors


class HeldOut(Struct, frozen=True, forbid_unknown_fields=True):
    """Sticks of days held out, and the shares that fell in their 50 and 90 % bands."""

    sticks: int
    in_50: float
    in_90: float


class Parted(Struct, frozen=True, forbid_unknown_fields=True):
    """A stretch in which the sensors parted, and which was right."""

    start: str
    end: str
    right: str | None
    chance: float


class TimeShares(Struct, frozen=True, forbid_unknown_fields=True):
    """Percent of time below 70, from 70 to 180 and above 180 mg/dL."""

    below_70: Est
    in_range: Est
    above_180: Est


class BloodLine(Struct, frozen=True, forbid_unknown_fields=True):
    """The reconstruction itself, for drawing: from `start` on every `step_s` seconds the median of blood glucose and the
    ends of its 90 % band, mg/dL, to one decimal; null where no sensor was reading."""

    start: str
    step_s: int
    middle: tuple[float | None, ...]
    low: tuple[float | None, ...]
    high: tuple[float | None, ...]


class Reconstruction(Struct, frozen=True, forbid_unknown_fields=True):
    """What is said of the reconstruction. Where it is not trusted, `why` is the code of the first reason, and what rests on
    it is null or empty; where nothing could be fitted, so are the numbers of the fit."""

    trusted: bool
    why: str | None
    lag_minutes: Est
    mad_per_minute_of_lag: float | None
    meter_sd_percent: Est
    sticks_used: int
    sticks_dropped: int
    masked: tuple[tuple[str, str], ...]
    held_out: HeldOut | None
    ranges: Ranges | None
    shares: TimeShares | None
    parted: tuple[Parted, ...]
    line: BloodLine | None


class MustHaveFinding(Struct, frozen=True, forbid_unknown_fields=True):
    """A requirement that ends a choice by itself."""

    sensor: str
    text: str
    met: bool | None


class SafetyLine(Struct, frozen=True, forbid_unknown_fields=True):
    """A judging stick at which a sensor was dangerously off; never sealed. Glucose in mg/dL."""

    at: str
    sensor: str
    shown: float
    stick: float
    code: str


class Caution(Struct, frozen=True, forbid_unknown_fields=True):
    """A code, whom it is about (a sensor's name, 'meter', 'trial', a file's name), and the sentence."""

    code: str
    subject: str
    text: str


class Findings(Struct, frozen=True, forbid_unknown_fields=True):
    """One judgement. `span` is first to last reading or stick; null in a trial without either."""

    evenhand: str
    contract: int
    method: int
    edition: str
    trial: str
    span: tuple[str, str] | None
    zone: str
    unit: Literal["mg/dL"]
    sealed: bool
    primary: Primary
    meter: MeterFindings
    wears: tuple[WearFindings, ...]
    sensors: tuple[SensorFindings, ...]
    head_to_head: tuple[HeadToHead, ...]
    reconstruction: Reconstruction | None
    must_haves: tuple[MustHaveFinding, ...]
    safety: tuple[SafetyLine, ...]
    cautions: tuple[Caution, ...]

"""The parts of a judgement about one sensor. Glucose in mg/dL; shares and MARD in percent; times ISO 8601.

Field names that are no Python names are renamed at the JSON edge (`rename`).
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct, field

from evenhand.stats.estimate import Est

Ending = Literal["end", "accident", "choice", "failed", "never-started"]


class LeftOut(Struct, frozen=True, forbid_unknown_fields=True):
    """A wear that does not count in a number, and the code of the reason."""

    wear: int
    why: str


class Accuracy(Struct, frozen=True, forbid_unknown_fields=True):
    """How far off against sticks (the contract's ACC). `at_least` counts pairs with a reading beyond the
    limits, `within` has the keys 15/15, 20/20, 30/30, 40/40."""

    pairs: int
    at_least: int
    left_out: tuple[LeftOut, ...]
    bias: Est
    mad: Est
    mard: Est
    within: dict[str, Est]


class AccuracySplits(Struct, frozen=True, forbid_unknown_fields=True):
    """Accuracy over the whole wear, by movement and by time of day."""

    all: Accuracy
    steady: Accuracy
    moving: Accuracy
    rising: Accuracy
    falling: Accuracy
    day: Accuracy
    night: Accuracy


class Phases(Struct, frozen=True, forbid_unknown_fields=True):
    """Accuracy by phase of the wear."""

    first_24h: Accuracy
    middle: Accuracy
    last_24h: Accuracy


class DayAccuracy(Struct, frozen=True, forbid_unknown_fields=True):
    """Accuracy on one day of the trial (`day` counts from 1; `date` is the local calendar date)."""

    day: int
    date: str
    accuracy: Accuracy


class WearAccuracy(Struct, frozen=True, forbid_unknown_fields=True):
    """Accuracy of one wear, by its number."""

    number: int
    accuracy: Accuracy


class Levels(Struct, frozen=True, forbid_unknown_fields=True):
    """Accuracy below 70, 70 to 180 and above 180 mg/dL."""

    below: Accuracy
    in_range: Accuracy
    above: Accuracy


class LevelTables(Struct, frozen=True, forbid_unknown_fields=True):
    """Two tables that are never mixed: sorted by the stick, and sorted by this sensor."""

    by_stick: Levels
    by_sensor: Levels


class AgainstReconstruction(Struct, frozen=True, forbid_unknown_fields=True):
    """Error against the reconstruction (the contract's R)."""

    bias: Est
    mad: Est
    mard: Est
    outside_percent: Est


class ReconstructionPhases(Struct, frozen=True, forbid_unknown_fields=True):
    """Error against the reconstruction by phase."""

    first_24h: AgainstReconstruction
    middle: AgainstReconstruction
    last_24h: AgainstReconstruction


class Stretch(Struct, frozen=True, forbid_unknown_fields=True):
    """A stretch of a wear, by its number: inside tolerance, outside, or without evidence."""

    wear: int
    start: str
    end: str
    state: Literal["held", "strayed", "unproven"]


class ReconstructionAccuracy(Struct, frozen=True, forbid_unknown_fields=True):
    """Error against the reconstruction; `without_it` is the check without this sensor. `time_line` tells every wear
    from its first reading on."""

    all: AgainstReconstruction
    night: AgainstReconstruction
    phases: ReconstructionPhases
    without_it: AgainstReconstruction
    time_line: tuple[Stretch, ...]


class Stray(Struct, frozen=True, forbid_unknown_fields=True, rename={"source": "from"}):
    """A stretch out of tolerance. `size` is the mean signed error over it, `largest` the largest."""

    wear: int
    start: str
    end: str | None
    size: float
    largest: float
    ending: Literal["alone", "calibration", "wear"]
    chance: float | None
    source: Literal["reconstruction", "sticks"]


class Lag(Struct, frozen=True, forbid_unknown_fields=True):
    """Minutes a sensor trails blood, and each other sensor."""

    to_blood: Est
    to_sensor: dict[str, Est]


class PressureLow(Struct, frozen=True, forbid_unknown_fields=True):
    """A stretch that looks like pressure on the sensor; `confirmed` by the wearer, null while unanswered."""

    start: str
    end: str
    confirmed: bool | None


class Calibration(Struct, frozen=True, forbid_unknown_fields=True):
    """Accuracy before and after a calibration, null until both are computed."""

    at: str
    wear: int
    before: Accuracy | None
    after: Accuracy | None


class AlarmJudged(Struct, frozen=True, forbid_unknown_fields=True):
    """One alarm. `stick`: what the sticks within 15 min said, null where there is none; `chance`, 0 to 1: that blood
    was beyond the level within 15 min, by a trusted reconstruction; `acted_on`: a treatment followed within 15 min."""

    at: str
    night: bool
    stick: Literal["low", "not low"] | None
    chance: float | None
    acted_on: bool


class AlarmCounts(Struct, frozen=True, forbid_unknown_fields=True):
    """Alarms judged (the contract's AL). Up to `acted_on` by sticks; then by a trusted reconstruction: the share of
    alarms that were true and of lows that were announced, false ones a night, minutes before blood crossed the level
    (below zero: after), and every alarm by itself."""

    sounded: int
    checked: int
    true: int
    true_rate: Est
    events: int
    detection_rate: Est
    verified_share: float | None
    acted_on: int
    false_per_night: Est
    minutes_of_warning: Est
    true_rate_between: Est
    detection_rate_between: Est
    each: tuple[AlarmJudged, ...]


class Alarms(Struct, frozen=True, forbid_unknown_fields=True):
    """Real and rehearsed alarms; level in mg/dL, delay and silence in minutes."""

    level: float
    delay: float
    silence: float
    real: AlarmCounts | None
    rehearsed: AlarmCounts | None


class Ranges(
    Struct,
    frozen=True,
    forbid_unknown_fields=True,
    rename={"share_54_69": "54_69", "share_70_180": "70_180", "share_181_250": "181_250"},
):
    """Shares of time in the consensus ranges in percent, mean in mg/dL, CV and GMI in percent (the contract's
    RG). `days` is the time covered; `share_of_readings` percent of those expected, null where not known."""

    below_54: float | None
    share_54_69: float | None
    share_70_180: float | None
    share_181_250: float | None
    above_250: float | None
    mean: float | None
    cv: float | None
    gmi: float | None
    days: float
    share_of_readings: float | None


class OwnAndCommon(Struct, frozen=True, forbid_unknown_fields=True):
    """Ranges over all of a sensor's time, and over time common to all sensors."""

    own: Ranges
    common: Ranges


class Cost(Struct, frozen=True, forbid_unknown_fields=True):
    """Cost of a usable day: with every opened sensor paid for, and with failed ones replaced free."""

    all_paid: float
    replaced_free: float


class Upkeep(Struct, frozen=True, forbid_unknown_fields=True):
    """Sensors opened and what became of them."""

    opened: int
    failed: int
    accidents: int
    survival_to_life: Est
    cost_per_usable_day: Cost | None


class Gaps(Struct, frozen=True, forbid_unknown_fields=True):
    """Hours without readings while worn and past warm-up, by cause."""

    sensor: float
    phone: float
    unknown: float


class SensorFindings(Struct, frozen=True, forbid_unknown_fields=True):
    """Everything a judgement says of one sensor; from `accuracy` to `ranges` null while sealed."""

    name: str
    wears: int
    readings: int
    expected_readings: int | None
    gaps: Gaps
    censored: int
    time_difference_s: float | None
    shown_minus_exported: Est | None
    accuracy: AccuracySplits | None
    phases: Phases | None
    days: tuple[DayAccuracy, ...] | None
    wear_by_wear: tuple[WearAccuracy, ...] | None
    levels: LevelTables | None
    zones: dict[str, int] | None
    against_reconstruction: ReconstructionAccuracy | None
    strays: tuple[Stray, ...] | None
    lag_minutes: Lag | None
    pressure_lows: tuple[PressureLow, ...] | None
    calibrations: tuple[Calibration, ...] | None
    alarms: Alarms | None
    ranges: OwnAndCommon | None
    upkeep: Upkeep = field()

"""The settings of an invented trial: body, meter, kinds of sensor, wears, stick schedule, trouble."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from evenhand.records.diary import Reason
from evenhand.records.sensors import Ending
from evenhand.units import Unit


class Schedule(StrEnum):
    """How the moments of planned sticks come about."""

    PLANNED = "planned"
    RANDOM = "random"
    CLUMPED = "clumped"
    UNEVEN = "uneven"
    HALF_DAYS = "half the days"


class GapStyle(StrEnum):
    """Where readings are missing: nowhere, anywhere, or rather where the sensor is wrong."""

    NONE = "none"
    PLAIN = "plain"
    WHERE_WRONG = "where wrong"


class Calibrating(StrEnum):
    """When the wearer types a stick into the sensor."""

    NEVER = "never"
    EVERY_SECOND_DAY = "every second day"
    WHEN_OFF = "when off"


class Trouble(StrEnum):
    """What a scripted stretch of a sensor is: pressed on, out of tolerance, silent, its phone elsewhere."""

    PRESSURE = "pressure"
    STRAY = "stray"
    SILENT = "silent"
    PHONE_AWAY = "phone away"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of sensor: what its wears are drawn from.

    Sizes of errors are mg/dL at a glucose of 120 (they grow with glucose, see `readings.spread`); `gain` and
    `offset` are a mean and an SD between wears, `gain` as a fraction, `offset` in mg/dL. `vary` is the SD of
    the logarithm of `slow` and `fast` from wear to wear. `first_day` and `last_day` are the SDs of what is
    added at the start and reached at the end; `first_noise` and `last_noise` multiply the fast error there.
    `pressure` is the chance of a pressure low a night, `delay` minutes of the sensor's own.
    """

    gain: tuple[float, float] = (0.0, 0.05)
    offset: tuple[float, float] = (0.0, 5.0)
    slow: float = 7.0
    fast: float = 5.0
    vary: float = 0.25
    first_day: float = 17.0
    first_noise: float = 1.9
    last_day: float = 7.0
    last_noise: float = 1.5
    pressure: float = 0.12
    delay: float = 0.0

    def times(self, factor: float) -> Kind:
        """The kind with every error `factor` times as large; chances and delay stay.

        >>> Kind().times(2.0).slow
        14.0
        """
        return replace(
            self,
            gain=(self.gain[0] * factor, self.gain[1] * factor),
            offset=(self.offset[0] * factor, self.offset[1] * factor),
            slow=self.slow * factor,
            fast=self.fast * factor,
            first_day=self.first_day * factor,
            last_day=self.last_day * factor,
        )


@dataclass(frozen=True, slots=True)
class Model:
    """A sensor under trial: the wearer's name for it, its kind and how it records.

    `interval` and `warm_up` are minutes, `low` and `high` measuring limits in mg/dL, `life` the rated life in
    days (None: that of the longest wear).
    """

    name: str
    kind: Kind = Kind()
    interval: int = 5
    warm_up: int = 60
    low: float = 40.0
    high: float = 400.0
    unit: Unit = Unit.MG_DL
    calibrating: Calibrating = Calibrating.NEVER
    price: float | None = None
    life: float | None = None


@dataclass(frozen=True, slots=True)
class Meter:
    """The fingerstick meter: relative SD (of 70 mg/dL below that), bias as a fraction, and a share of gross
    sticks whose relative SD is `gross_sd`."""

    name: str = "the meter"
    sd: float = 0.05
    bias: float = 0.0
    gross: float = 0.004
    gross_sd: float = 0.2
    unit: Unit = Unit.MG_DL


@dataclass(frozen=True, slots=True)
class Body:
    """How the wearer lives: resting level in mg/dL, its day-to-day range, the SD by which doses miss, and a
    factor on meals. The defaults give a mean near 150 mg/dL and a CV near 35 %."""

    level: float = 126.0
    level_range: float = 32.0
    mismatch: float = 0.27
    appetite: float = 1.0


@dataclass(frozen=True, slots=True)
class Planned:
    """One wear of a sensor: its start in days after the trial's, its length in days, how it ends, whether it
    replaces the wear before it."""

    start: float
    days: float
    ending: Ending = Ending.END
    replaces: bool = False


@dataclass(frozen=True, slots=True)
class Script:
    """A stretch of trouble that is told, not drawn: sensor by index, day of the trial (0 the first), minute of
    that local day, length in minutes, size in mg/dL (negative: reads too low)."""

    sensor: int
    what: Trouble
    day: int
    minute: int
    minutes: int
    size: float = 0.0


@dataclass(frozen=True, slots=True)
class World:
    """Everything that decides how a trial is invented, but the seed.

    `wears` is how many each sensor gets, one after another and equally long, unless `plan` names them sensor
    by sensor. `sticks` is planned sticks a day within `waking` (minutes of the local day). `prompted` is the
    share of all sticks that were taken because of what a sensor showed; they are recorded with the reason
    `prompted_as`. `habit` is further sticks a day at waking and bedtime, `repeats` how many planned sticks
    are repeated at once. `lag` is the mean delay of fluid behind blood in minutes. `shared` is the SD in mg/dL
    of a slow error all sensors share; `driver` the sensor (by index) that doses follow. `true_difference`,
    where given, makes the first two sensors' expected MADs over eligible minutes differ by exactly that much
    (the second minus the first; mg/dL). `notes`: exercise, alarms and lost phones are in the diary.
    """

    name: str = "plain"
    days: int = 20
    wears: int = 2
    sensors: tuple[Model, ...] = (Model("Fern"), Model("Slate"))
    meter: Meter = Meter()
    body: Body = Body()
    lag: float = 9.0
    sticks: float = 7.0
    schedule: Schedule = Schedule.PLANNED
    waking: tuple[int, int] = (7 * 60, 23 * 60)
    prompted: float = 0.0
    prompted_as: Reason = Reason.PROMPTED
    habit: float = 0.0
    repeats: int = 0
    gaps: GapStyle = GapStyle.PLAIN
    shared: float = 0.0
    driver: int | None = None
    plan: tuple[tuple[Planned, ...], ...] | None = None
    script: tuple[Script, ...] = ()
    true_difference: float | None = None
    declared: bool = True
    notes: bool = True
    unit: Unit = Unit.MG_DL
    zone: str = "Europe/Lisbon"
    start: str = "2026-02-02T08:00"

    def planned(self) -> tuple[tuple[Planned, ...], ...]:
        """The wears of every sensor: as told, or equal parts of the trial."""
        if self.plan is not None:
            return self.plan
        each = self.days / self.wears
        return tuple(
            tuple(Planned(number * each, each) for number in range(self.wears)) for _ in self.sensors
        )

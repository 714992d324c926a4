"""Trials to plan for, and slow checks of a plan that go by every minute and share nothing with the planner."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from evenhand.clock import DAY, HOUR, Stamp, ZoneOrigin, possible_instants
from evenhand.records.plan import Drawn, Plan, SensorPlan, Wanted
from evenhand.records.question import Question
from evenhand.records.sensors import CountsFrom, Sensor, Wear
from evenhand.records.trial import Header, Trial
from evenhand.units import Unit

BERLIN = "Europe/Berlin"
ZONES = (
    BERLIN, "Europe/Lisbon", "America/New_York", "America/St_Johns", "Asia/Kathmandu", "Australia/Lord_Howe",
    "Pacific/Auckland", "UTC",
)  # fmt: skip
"""Half hours, quarter hours, a clock change of half an hour, both hemispheres, none."""


def sensor(place: int = 0, **told: Any) -> Sensor:
    """Fern, Slate or Birch: ten days, warm-up of an hour, life from the start, unless told otherwise."""
    told = {
        "interval": 300,
        "warm_up": HOUR,
        "life": 10 * DAY,
        "grace": 12 * HOUR,
        "counts_from": CountsFrom.START,
    } | told
    return Sensor(f"s-{place}", ("Fern", "Slate", "Birch")[place], place, **told)


def at(wall: str, zone: str = BERLIN) -> int:
    """The instant of a wall time."""
    return possible_instants(datetime.fromisoformat(wall), zone)[0]


def trial(
    *sensors: Sensor, start: str = "2026-03-02T09:00", zone: str = BERLIN, seed: int = 5, wears: tuple[Wear, ...] = (),
    question: Question | None = None, **wanted: Any,
) -> Trial:  # fmt: skip
    """A trial with wishes; two usual sensors where none are named."""
    header = Header("t", "Spring", zone, ZoneOrigin.GIVEN, Unit.MG_DL, "meter", seed, 0)
    wishes = Wanted(start=Stamp.at(at(start, zone), zone), **wanted)
    return Trial(
        header,
        sensors or (sensor(0), sensor(1)),
        wears,
        question=question or Question("question"),
        plan=Plan(wanted=wishes),
    )


@st.composite
def trials(draw: st.DrawFn) -> Trial:
    """Any trial a person might plan: two or three sensors, in any zone, over a clock change or not, hours of any kind."""
    sensors = tuple(
        sensor(
            place,
            warm_up=draw(st.sampled_from((None, 0, 1800, HOUR, 2 * HOUR, 4 * HOUR))),
            life=draw(st.integers(4, 16)) * DAY,
            grace=draw(st.sampled_from((None, 0, 6 * HOUR, 12 * HOUR, DAY))),
            counts_from=draw(st.sampled_from((None, CountsFrom.START, CountsFrom.INSERTION))),
        )
        for place in range(draw(st.integers(2, 3)))
    )
    zone = draw(st.sampled_from(ZONES))
    day = draw(st.sampled_from(("2026-03-20", "2026-10-20", "2026-06-01", "2026-04-01", "2026-09-24")))
    waking = draw(st.sampled_from((None, (360, 1320), (480, 1410), (600, 90), (7 * 60, 19 * 60))))
    quiet = draw(st.sampled_from((None, (13 * 60, 15 * 60), (23 * 60, 6 * 60))))
    early = {one.id: draw(st.sampled_from((0, 0, HOUR, 12 * HOUR, DAY))) for one in sensors}
    return trial(
        *sensors,
        start=f"{day}T{draw(st.integers(10, 12)):02d}:{draw(st.sampled_from(('00', '20', '45')))}",
        zone=zone,
        seed=draw(st.integers(0, 2**40)),
        question=Question(
            "question", waking=waking, quiet=quiet, strips=draw(st.none() | st.integers(20, 300))
        ),
        days=draw(st.none() | st.integers(5, 40)),
        sticks=draw(st.integers(0, 12)),
        repeats=draw(st.integers(0, 12)),
        sensors=tuple(SensorPlan(name, early=seconds) for name, seconds in early.items()),
    )


def wall(instant: int, zone: str) -> datetime:
    """What clocks there showed, from the standard library alone."""
    return (datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=instant)).astimezone(ZoneInfo(zone))


def open_hours(trial: Trial, instant: int) -> bool:
    """Whether the wearer may be asked for something then, worked out by hand."""
    shown = wall(instant, trial.zones.at(instant))
    minute = shown.hour * 60 + shown.minute

    def inside(span: tuple[int, int]) -> bool:
        start, end = span
        return start <= minute < end if start <= end else (minute >= start or minute < end)

    question = trial.question
    return inside(question.waking or (420, 1380)) and not any(inside(span) for span in question.quiet_hours)


def reads(drawn: Drawn, name: str, instant: int) -> bool:
    """Whether the sensor with that id reads then, as planned."""
    return any(
        wear.sensor == name and wear.reads.instant <= instant < wear.removed.instant for wear in drawn.wears
    )


def warms(drawn: Drawn, name: str, instant: int) -> bool:
    """Whether it is started and does not read yet."""
    return any(
        wear.sensor == name and wear.started.instant <= instant < wear.reads.instant for wear in drawn.wears
    )

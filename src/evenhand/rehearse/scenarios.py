"""Named worlds: those in which promises about honesty are tested, good and bad alike."""

from __future__ import annotations

from dataclasses import replace

from evenhand.records.diary import Reason
from evenhand.rehearse.world import (
    Body,
    Calibrating,
    GapStyle,
    Kind,
    Meter,
    Model,
    Schedule,
    World,
)

SIZES = (
    (10, 1, 4),
    (10, 1, 8),
    (10, 3, 7),
    (14, 1, 5),
    (20, 2, 4),
    (20, 2, 7),
    (20, 2, 12),
    (30, 3, 5),
    (40, 4, 7),
)
"""Nine sizes of a trial: days, wears per sensor, planned sticks a day."""

CLOSE, COARSE = Kind().times(0.9), Kind().times(1.25)
"""Two kinds that truly differ."""


def plain(days: int = 20, wears: int = 2, sticks: float = 7.0) -> World:
    """Two kinds that differ, planned sticks, nothing unusual."""
    name = f"plain {days} days, {wears} + {wears} wears, {sticks:g} sticks"
    return World(
        name=name,
        days=days,
        wears=wears,
        sticks=sticks,
        sensors=(Model("Fern", CLOSE), Model("Slate", COARSE)),
    )


def sizes() -> tuple[World, ...]:
    """The plain world in nine sizes."""
    return tuple(plain(*size) for size in SIZES)


def schedules() -> tuple[World, ...]:
    """The plain world under every stick schedule but the planned one."""
    return tuple(
        replace(plain(), name=f"sticks {schedule}", schedule=schedule)
        for schedule in Schedule
        if schedule is not Schedule.PLANNED
    )


def identical_kinds() -> World:
    """Two sensors of one kind: the wears differ, the kinds do not."""
    return World(name="identical kinds")


def no_difference() -> World:
    """Wears whose true MADs are equal."""
    return replace(identical_kinds(), name="no difference", true_difference=0.0)


def at_the_margin(margin: float = 3.0) -> World:
    """Wears whose true MADs differ by exactly the margin (mg/dL)."""
    return replace(identical_kinds(), name=f"difference at the margin ({margin:+g})", true_difference=margin)


def prompted(*, told: bool = True) -> World:
    """A third of the sticks taken because of what the sensors showed; untold, they are recorded as planned."""
    name = "prompted, told" if told else "prompted, counted as planned"
    return replace(plain(), name=name, prompted=1 / 3, prompted_as=Reason.PROMPTED if told else Reason.PLAN)


def meter_off(bias: float = 0.05) -> World:
    """A meter that reads high by this fraction."""
    return replace(plain(), name=f"meter {100 * bias:+g} %", meter=Meter(bias=bias))


def meter_scatter(sd: float) -> World:
    """A meter with this relative SD."""
    return replace(plain(), name=f"meter SD {100 * sd:g} %", meter=Meter(sd=sd))


def gaps_where_wrong() -> World:
    """Readings missing rather where the sensor is wrong."""
    return replace(plain(), name="gaps where wrong", gaps=GapStyle.WHERE_WRONG)


def limit_words() -> World:
    """A wearer who runs low, and sensors that say LOW below 65 and HIGH above 270."""
    world = plain()
    return replace(
        world,
        name="LOW words",
        body=Body(level=112.0),
        sensors=tuple(replace(model, low=65.0, high=270.0) for model in world.sensors),
    )


def calibrated(when: Calibrating = Calibrating.EVERY_SECOND_DAY) -> World:
    """The second sensor is calibrated, the first is not."""
    first, second = plain().sensors
    return replace(plain(), name=f"calibrated {when}", sensors=(first, replace(second, calibrating=when)))


def driver() -> World:
    """Doses follow the second sensor: its slow errors come out in blood the other way."""
    return replace(plain(), name="driver", driver=1)


def shared_errors(size: float = 8.0) -> World:
    """A slow error both sensors share (mg/dL)."""
    return replace(plain(), name="shared errors", shared=size)


def lag(minutes: float) -> World:
    """Fluid that follows blood by this many minutes on average."""
    return replace(plain(), name=f"lag {minutes:g} min", lag=minutes)


def interval(minutes: int) -> World:
    """Sensors that keep a reading every so many minutes."""
    world = plain()
    sensors = tuple(replace(model, interval=minutes) for model in world.sensors)
    return replace(world, name=f"{minutes}-minute sensors", sensors=sensors)


def unequal_intervals() -> World:
    """A 5-minute sensor beside a 15-minute one."""
    first, second = plain().sensors
    return replace(plain(), name="5 and 15 minutes", sensors=(first, replace(second, interval=15)))


def one_wear_bad() -> World:
    """The second kind is of very uneven quality from wear to wear."""
    first, _ = plain().sensors
    uneven = replace(Kind(), vary=0.55, gain=(0.0, 0.08), offset=(0.0, 9.0))
    return replace(plain(), name="uneven kind", sensors=(first, Model("Slate", uneven)))


def honesty() -> dict[str, World]:
    """Every scenario of the honesty benchmark by name, the plain sizes first.

    >>> len(honesty()) > 25, next(iter(honesty()))
    (True, 'plain 10 days, 1 + 1 wears, 4 sticks')
    """
    worlds = (
        *sizes(), *schedules(), identical_kinds(), no_difference(), at_the_margin(), at_the_margin(-3.0),
        prompted(), prompted(told=False), meter_off(), meter_off(-0.05), gaps_where_wrong(), limit_words(),
        calibrated(), calibrated(Calibrating.WHEN_OFF), driver(), shared_errors(), lag(3.0), lag(15.0),
        meter_scatter(0.03), meter_scatter(0.08), interval(1), interval(15), unequal_intervals(), one_wear_bad(),
    )  # fmt: skip
    return {world.name: world for world in worlds}

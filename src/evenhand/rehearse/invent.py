"""Invents a trial: a life, its sensors and its sticks, and keeps the truth beside the records."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE
from evenhand.records.diary import Reason
from evenhand.rehearse import blood as lives
from evenhand.rehearse import readings as kept
from evenhand.rehearse.grid import Floats, Grid, instant_of
from evenhand.rehearse.matched import matched
from evenhand.rehearse.meter import MeterNoise
from evenhand.rehearse.recorded import Kept, Told, to_trial
from evenhand.rehearse.shapes import answer, delayed, gamma_share
from evenhand.rehearse.sticks import (
    Finger,
    Pricked,
    alarmed,
    calibrate,
    habit_minutes,
    planned_minutes,
    prompted_minutes,
)
from evenhand.rehearse.streams import Streams
from evenhand.rehearse.truth import Invented, SensorTruth, Truth
from evenhand.rehearse.wears import Faults, faults, scripted, shared_error
from evenhand.rehearse.world import World


def invent(world: World, seed: int) -> Invented:
    """The trial that this world and this seed always give, with its truth.

    >>> from evenhand.rehearse.world import World
    >>> invented = invent(World(days=2, wears=1), 1)
    >>> invented.trial.sticks == invent(World(days=2, wears=1), 1).trial.sticks, len(invented.trial.sensors)
    (True, 2)
    """
    streams = Streams(seed)
    begin = instant_of(world.start, world.zone)
    grid = Grid.over(begin, world.days * 1440, world.zone)
    found = _faults(world, grid, streams)
    shared = shared_error(world.shared, len(grid), streams.of("shared"))
    life = _life(world, found, shared, begin, streams)
    unbiased = life.blood
    shown = unbiased * (1.0 + world.meter.bias)
    noise = MeterNoise.of(world.meter)
    fluid = delayed(unbiased, world.lag)
    series = tuple(
        kept.sensed(fluid, one, shared, model.kind.delay)
        for one, model in zip(found, world.sensors, strict=True)
    )
    scene = _Scene(world, streams, Finger(grid, shown, noise, world.meter.unit))
    moved, calibrations = scene.calibrated(series, found)
    keeps, missing = scene.keep(moved, found)
    factor = 1.0
    if world.true_difference is not None:
        factor, moved, keeps = matched(world, scene.finger, (fluid, moved, keeps))
    pricked = scene.pricks(keeps, calibrations)
    trial = to_trial(Told(world, streams, grid, found, keeps, missing, pricked, life.exercise))
    factors = [factor if place == 1 else 1.0 for place in range(len(found))]
    sensors = tuple(
        SensorTruth(
            model.name, one.wears, line, lost, kept.strays(line, shown), tuple(s.minute for s in typed), times
        )
        for model, one, line, lost, typed, times in zip(
            world.sensors, found, moved, missing, calibrations, factors, strict=True
        )
    )
    truth = Truth(
        grid, shown, unbiased, fluid, noise, world.lag, sensors, life.exercise, life.meals, life.rescues
    )
    return Invented(world, seed, trial, truth)


def _faults(world: World, grid: Grid, streams: Streams) -> tuple[Faults, ...]:
    return tuple(
        scripted(faults(model, plan, grid, streams.of("faults", place)), place, world.script, grid)
        for place, (model, plan) in enumerate(zip(world.sensors, world.planned(), strict=True))
    )


def _life(
    world: World, found: tuple[Faults, ...], shared: Floats, begin: int, streams: Streams
) -> lives.Life:
    """Blood over the trial, lived from a day before it."""
    lead = lives.LEAD
    long = Grid.over(begin - MINUTE * lead, world.days * 1440 + lead, world.zone)
    pull = None
    if world.driver is not None:
        one = found[world.driver]
        wrong = one.gain * 130.0 + one.offset + one.level + one.pressed + shared * (one.worn >= 0)
        pull = -0.6 * _late(np.concatenate((np.zeros(lead), wrong)))
    life = lives.live(world.body, long, streams.of("blood"), pull)
    return lives.Life(
        life.blood[lead:],
        tuple((a - lead, b - lead) for a, b in life.exercise if a >= lead),
        tuple(at - lead for at in life.meals if at >= lead),
        tuple(at - lead for at in life.rescues if at >= lead),
    )


def _late(wrong: Floats) -> Floats:
    """What doses made on a wrong reading do to blood: later, and spread over hours (mean 90 min)."""
    return answer(wrong[None, :], (np.diff(gamma_share(90.0, 2.4, 601), prepend=0.0),))


@dataclass(frozen=True, slots=True)
class _Scene:
    """What sticks and readings are made in."""

    world: World
    streams: Streams
    finger: Finger

    def calibrated(
        self, series: tuple[Floats, ...], found: tuple[Faults, ...]
    ) -> tuple[tuple[Floats, ...], tuple[list[Pricked], ...]]:
        """Every sensor's series after its calibrations, and their sticks."""
        both = []
        for place, (line, one, model) in enumerate(zip(series, found, self.world.sensors, strict=True)):
            rng = self.streams.of("calibrations", place)
            both.append(calibrate(line, one, (place, model.calibrating), self.finger, rng))
        return tuple(line for line, _ in both), tuple(sticks for _, sticks in both)

    def keep(
        self, series: tuple[Floats, ...], found: tuple[Faults, ...]
    ) -> tuple[tuple[Kept, ...], tuple[tuple[kept.Gap, ...], ...]]:
        """What every sensor keeps, and what it misses."""
        world, grid = self.world, self.finger.grid
        keeps, missing = [], []
        for place, (line, one, model) in enumerate(zip(series, found, world.sensors, strict=True)):
            drawn = kept.gaps(world.gaps, line - self.finger.blood, one, self.streams.of("gaps", place))
            told = kept.scripted_gaps(place, world.script, grid)
            lost = tuple(sorted((*drawn, *told), key=lambda gap: gap.start))
            when = kept.slots(one, model, grid, self.streams.of("slots", place))
            present = kept.without(lost, len(grid))[when.minute]
            when = kept.Slots(when.minute[present], when.instant[present], when.noise[present])
            keeps.append(Kept(when, *kept.recorded(line, when, model), model))
            missing.append(lost)
        return tuple(keeps), tuple(missing)

    def pricks(self, keeps: tuple[Kept, ...], calibrations: tuple[list[Pricked], ...]) -> list[Pricked]:
        """Every stick in time order; never two in one minute."""
        world, grid, finger = self.world, self.finger.grid, self.finger
        rng, own = self.streams.of("sticks"), self.streams.of("habit")
        plan = finger.prick(planned_minutes(world, grid, rng), Reason.PLAN, rng)
        habit = finger.prick(habit_minutes(world, grid, own), Reason.HABIT, own)
        again = finger.again(plan, world.repeats, self.streams.of("repeats"))
        odd = self._prompted(len(plan) + len(habit), keeps) if world.prompted > 0 else []
        by_minute: dict[int, Pricked] = {}
        for stick in (*(one for typed in calibrations for one in typed), *again, *plan, *habit, *odd):
            by_minute.setdefault(stick.minute, stick)
        return [by_minute[minute] for minute in sorted(by_minute)]

    def _prompted(self, others: int, keeps: tuple[Kept, ...]) -> list[Pricked]:
        world, grid, rng = self.world, self.finger.grid, self.streams.of("prompted")
        showing = tuple(one.showing(len(grid)) for one in keeps)
        many = round(others * world.prompted / (1.0 - world.prompted))
        minutes = prompted_minutes(many, showing, grid, world.waking, rng)
        return [alarmed(stick, showing) for stick in self.finger.prick(minutes, world.prompted_as, rng)]

"""The worlds the promises are tested in: the plain ones, in which they must hold, and those that strain them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from evenhand.rehearse import scenarios
from evenhand.rehearse.world import World


@dataclass(frozen=True, slots=True)
class Case:
    """A world and the part of the table it stands in: plain, answer, strained."""

    world: World
    part: str
    peek: bool = False


def _sized(name: str, true: float, days: int, wears: int) -> World:
    world = scenarios.identical_kinds()
    return replace(world, name=name, true_difference=true, days=days, wears=wears)


def cases() -> dict[str, Case]:
    """Every case by name, in the order of the table."""
    plain = [*scenarios.sizes(), *scenarios.schedules()]
    answer = [
        scenarios.no_difference(), scenarios.at_the_margin(), scenarios.at_the_margin(-3.0),
        _sized("difference 5, 15 days", 5.0, 15, 2), _sized("difference 3, 32 days", 3.0, 32, 2),
        _sized("difference 2, 62 days", 2.0, 62, 4), _sized("no difference, 29 days", 0.0, 29, 2),
        scenarios.identical_kinds(), replace(scenarios.identical_kinds(), name="identical kinds, 30 days, 3 + 3 wears", days=30, wears=3),
        replace(scenarios.identical_kinds(), name="identical kinds, 40 days, 4 + 4 wears", days=40, wears=4),
        replace(scenarios.identical_kinds(), name="identical kinds, 10 days, 1 + 1 wear", days=10, wears=1),
    ]  # fmt: skip
    known = {world.name for world in (*plain, *answer)}
    strained = [world for name, world in scenarios.honesty().items() if name not in known]
    found = [
        *(Case(world, "plain") for world in plain),
        *(Case(world, "answer", peek=world.name == "no difference") for world in answer),
        *(Case(world, "strained") for world in strained),
    ]
    return {case.world.name: case for case in found}

"""The worlds in which the reconstruction is tested: plain ones, in which it must hold, others, and faulty ones."""

from __future__ import annotations

from dataclasses import dataclass, replace

from evenhand.rehearse import scenarios
from evenhand.rehearse.world import Model, World


@dataclass(frozen=True, slots=True)
class BetweenCase:
    """A world, the part of the table it stands in (plain, other, faulty), and how many trials it should have.

    Of the first `checked` trials the fits without each sensor are made too, and the bound.
    """

    world: World
    part: str
    trials: int
    checked: int


def between_cases() -> dict[str, BetweenCase]:
    """Every case by name, in the order of the table."""
    plain = [scenarios.plain(), scenarios.plain(10, 1, 4), scenarios.plain(20, 2, 4)]
    one, three = (
        replace(scenarios.plain(), name=name, sensors=sensors)
        for name, sensors in (
            ("one sensor", (Model("Fern", scenarios.CLOSE),)),
            (
                "three sensors",
                (Model("Fern", scenarios.CLOSE), Model("Slate", scenarios.COARSE), Model("Moss")),
            ),
        )
    )
    other = [
        one, three, scenarios.plain(20, 2, 2.2), scenarios.plain(30, 3, 5), scenarios.interval(1),
        scenarios.interval(15), scenarios.unequal_intervals(), scenarios.identical_kinds(),
    ]  # fmt: skip
    faulty = [
        scenarios.prompted(), scenarios.prompted(told=False), scenarios.meter_off(), scenarios.meter_off(-0.05),
        scenarios.meter_scatter(0.03), scenarios.meter_scatter(0.08), scenarios.gaps_where_wrong(),
        scenarios.limit_words(), scenarios.calibrated(), scenarios.driver(), scenarios.shared_errors(),
        scenarios.lag(3.0), scenarios.lag(15.0), scenarios.one_wear_bad(),
    ]  # fmt: skip
    found = [
        *(BetweenCase(world, "plain", 500, 100) for world in plain),
        *(BetweenCase(world, "other", 100, 100) for world in other),
        *(BetweenCase(world, "faulty", 100, 100) for world in faulty),
    ]
    return {case.world.name: case for case in found}

"""What a plan costs: sensors, strips, pricks, money."""

from __future__ import annotations

from dataclasses import dataclass

from evenhand.records.plan import Drawn
from evenhand.records.trial import Trial


@dataclass(frozen=True, slots=True)
class Cost:
    """What a plan takes. `sensors` by the wearer's name, spares among them; `strips` is planned sticks and repeats.

    `money` None: not every price is known (`unpriced` names what has none); spares are in it.
    """

    sensors: dict[str, int]
    spares: int
    pricks: int
    repeats: int
    money: float | None
    unpriced: tuple[str, ...]

    @property
    def strips(self) -> int:
        """One for every prick and one for every repeat."""
        return self.pricks + self.repeats


def cost_of(trial: Trial, drawn: Drawn) -> Cost:
    """The cost of what was drawn, wears that already happened among it."""
    opened = {
        sensor.name: sum(wear.sensor == sensor.id for wear in drawn.wears)
        + trial.plan.wanted.of(sensor.id).spares
        for sensor in trial.sensors
    }
    strips = len(drawn.minutes) + len(drawn.repeats)
    return Cost(
        opened,
        sum(trial.plan.wanted.of(sensor.id).spares for sensor in trial.sensors),
        len(drawn.minutes),
        len(drawn.repeats),
        *price(trial, opened, strips),
    )


def price(trial: Trial, opened: dict[str, int], strips: int) -> tuple[float | None, tuple[str, ...]]:
    """What so many sensors (by name) and strips cost, None where a price is not known, and what has no price."""
    unpriced = [sensor.name for sensor in trial.sensors if sensor.price is None and opened.get(sensor.name)]
    unpriced += ["strips"] if trial.question.strip_price is None and strips else []
    if unpriced:
        return None, tuple(unpriced)
    total = sum((sensor.price or 0.0) * opened.get(sensor.name, 0) for sensor in trial.sensors)
    return total + strips * (trial.question.strip_price or 0.0), ()

"""How many looks were taken at the same sticks beside the answer: one count for every place that tells it."""

from __future__ import annotations

from collections.abc import Iterator

from evenhand.findings.parts import Accuracy, SensorFindings


def exploratory_looks(sensors: tuple[SensorFindings, ...]) -> int:
    """How many mean absolute differences stand with an interval beside those over the whole wear."""
    return sum(part.mad.low is not None for sensor in sensors for part in _parts(sensor))


def _parts(sensor: SensorFindings) -> Iterator[Accuracy]:
    splits, phases, levels = sensor.accuracy, sensor.phases, sensor.levels
    if splits:
        yield from (splits.steady, splits.moving, splits.rising, splits.falling, splits.day, splits.night)
    if phases:
        yield from (phases.first_24h, phases.middle, phases.last_24h)
    yield from (day.accuracy for day in sensor.days or ())
    yield from (wear.accuracy for wear in sensor.wear_by_wear or ())
    for table in (levels.by_stick, levels.by_sensor) if levels else ():
        yield from (table.below, table.in_range, table.above)

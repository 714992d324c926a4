"""How many looks were taken beside the answer."""

from __future__ import annotations

from msgspec import structs
from tests.judge.making import twenty_days

from evenhand.findings.looks import exploratory_looks
from evenhand.judge.judge import judge


def test_every_interval_beside_the_whole_is_a_look():
    """Splits but 'all', phases, days, wears and both tables by level, of every sensor, where an interval stands."""
    sensors = judge(twenty_days()).sensors
    counted = 0
    for sensor in sensors:
        splits, levels = structs.asdict(sensor.accuracy), sensor.levels
        parts = [part for name, part in splits.items() if name != "all"]
        parts += structs.asdict(sensor.phases).values()
        parts += [one.accuracy for one in (*sensor.days, *sensor.wear_by_wear)]
        parts += [*structs.asdict(levels.by_stick).values(), *structs.asdict(levels.by_sensor).values()]
        counted += sum(part.mad.low is not None for part in parts)
    assert exploratory_looks(sensors) == counted > 20


def test_a_sealed_judgement_holds_no_look():
    """Where nothing is shown nothing was looked at."""
    bare = [
        structs.replace(one, accuracy=None, phases=None, days=None, wear_by_wear=None, levels=None)
        for one in judge(twenty_days()).sensors
    ]
    assert exploratory_looks(tuple(bare)) == exploratory_looks(()) == 0

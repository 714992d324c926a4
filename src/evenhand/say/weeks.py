"""The words of the picture of the weeks."""

from __future__ import annotations

from evenhand.plan.checks import both_warming, dark
from evenhand.records.plan import Drawn
from evenhand.records.trial import Trial
from evenhand.say.dates import moment, span
from evenhand.say.numbers import counted, listed

KEY = "Thin: inserted, not reading yet. Thick: reading. The number counts the wears of a sensor; left, right: the arm."


def title(trial: Trial, drawn: Drawn) -> str:
    """The finding: whether some sensor reads at every hour."""
    first = min(wear.reads.instant for wear in drawn.wears)
    ids = [sensor.id for sensor in trial.sensors]
    gaps = dark(drawn.wears, ids, first, drawn.end.instant)
    when = trial.zones.stamp
    if gaps:
        return f"Nothing reads for a time from {moment(when(gaps[0][0]).iso)}"
    if len(trial.sensors) == 1:
        return f"{trial.sensors[0].name} reads throughout"
    if both_warming(drawn.wears):
        return "Two sensors warm up at once"
    begins = (
        "After the first warm-up one" if first > min(wear.inserted.instant for wear in drawn.wears) else "One"
    )
    return f"{begins} sensor always reads, and no two warm up at once"


def caveat(trial: Trial, drawn: Drawn) -> str:
    """What stands at the foot of the picture."""
    counts = [
        (sensor.name, sum(wear.sensor == sensor.id for wear in drawn.wears)) for sensor in trial.sensors
    ]
    wears = listed(f"{counted(many, 'wear')} of {name}" for name, many in counts)
    begin = min(wear.inserted.iso for wear in drawn.wears)
    return (
        f"A plan, {span(begin, drawn.end.iso)}: {wears}, {counted(len(drawn.minutes), 'stick')}; drawn with seed {drawn.seed}. "
        "A fingerstick decides when symptoms and sensor disagree."
    )


def alternative(trial: Trial, drawn: Drawn) -> str:
    """The picture in words: the finding, then every wear."""
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    told = "; ".join(
        f"{names[wear.sensor]} {wear.number}, {wear.side}, in {moment(wear.inserted.iso)}, reads from {moment(wear.reads.iso)}, off {moment(wear.removed.iso)}"
        for wear in drawn.wears
    )
    return f"{title(trial, drawn)}. {told}. {caveat(trial, drawn)}"

"""Cautions about what was never told to Evenhand."""

from __future__ import annotations

from collections.abc import Iterator

from evenhand.clock import ZoneOrigin
from evenhand.findings.cautions import caution
from evenhand.findings.findings import Caution
from evenhand.judge.bundle import Judged
from evenhand.units import rounded


def about_settings(judged: Judged) -> Iterator[Caution]:
    """The zone, what is not known of each sensor, who drives the insulin."""
    trial = judged.trial
    if trial.header.zone_origin is ZoneOrigin.COMPUTER:
        yield caution("zone-from-computer", "trial", zone=trial.header.zone)
    for place, sensor in enumerate(trial.sensors):
        if sensor.warm_up is None:
            yield caution("unknown-warm-up", sensor.name)
        if sensor.low is None or sensor.high is None:
            yield caution("unknown-limits", sensor.name)
        if sensor.life is None:
            yield caution("unknown-life", sensor.name)
        if sensor.price is None:
            yield caution("unknown-price", sensor.name)
        interval = judged.layout.intervals[place] if judged.layout.intervals else None
        if sensor.interval is None and interval is not None:
            yield caution("unknown-interval", sensor.name, minutes=_plain(interval / 60))
        yield from _lots(judged, place)
    if trial.wears and trial.question.driver is None and not any(wear.drives for wear in trial.wears):
        yield caution("driver-not-recorded", "trial")


def _lots(judged: Judged, place: int) -> Iterator[Caution]:
    """Lots that are not recorded, and wears that all came from one."""
    sensor = judged.trial.sensors[place]
    lots = [wear.lot for wear in judged.trial.wears_of(sensor.id)]
    unknown = lots.count(None)
    if unknown:
        yield caution("sensor-lot-unknown", sensor.name, count=unknown, of=len(lots))
    elif len(lots) > 1 and len(set(lots)) == 1:
        yield caution("one-lot", sensor.name)


def _plain(minutes: float) -> str:
    return rounded(minutes, 0 if minutes == round(minutes) else 1)

"""Alarms for the contract: real and rehearsed, by sticks, and by the reconstruction where it is trusted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from evenhand.clock import MINUTE
from evenhand.compare.against import METHOD_ID, Held
from evenhand.compare.alarms import (
    Setting,
    Sounded,
    acted_on,
    by_stick,
    real,
    rehearsed,
    treated,
)
from evenhand.compare.alarms_between import Between, between
from evenhand.compare.hours import WAKING
from evenhand.compare.shapes import Instants, Layout, Mask
from evenhand.findings.parts import AlarmCounts, AlarmJudged, Alarms
from evenhand.reconstruct.path import BloodPath
from evenhand.records.trial import Trial
from evenhand.stats.estimate import Est

NO_RECONSTRUCTION = "no-reconstruction"


@dataclass(frozen=True, slots=True)
class Against:
    """What alarms are held against between sticks: the sensor's readings, and the reconstructed blood."""

    own: Held
    path: BloodPath


def alarms(
    trial: Trial, layout: Layout, place: int, night: Callable[[Instants], Mask], against: Against | None
) -> Alarms:
    """The alarms of the sensor with that place, below 70 mg/dL, without delay, 30 min of silence; `against` None where
    there is no trusted reconstruction."""
    setting = Setting()
    sounded = real(trial, place)

    def counted(these: Sounded) -> AlarmCounts:
        return _counts(trial, layout, place, these, (night, against))

    return Alarms(
        level=setting.level,
        delay=setting.delay / MINUTE,
        silence=setting.silence / MINUTE,
        real=None if sounded is None else counted(sounded),
        rehearsed=counted(rehearsed(layout.used[place], setting)),
    )


def _counts(
    trial: Trial, layout: Layout, place: int, sounded: Sounded, how: tuple[Callable[[Instants], Mask], Against | None]
) -> AlarmCounts:  # fmt: skip
    night, against = how
    after = treated(trial)
    sticks = by_stick(layout, place, sounded, Setting().level, after)
    at_night = night(sounded.at)
    told = _between(trial, sounded, at_night, acted_on(sounded, after), against)
    each = tuple(
        AlarmJudged(
            at=trial.zones.stamp(int(at)).iso,
            night=bool(at_night[row]),
            stick=("low" if sticks.true[row] else "not low") if sticks.checked[row] else None,
            chance=None if told is None else float(told.chance[row]),
            acted_on=bool(sticks.acted[row]),
        )
        for row, at in enumerate(sounded.at.tolist())
    )
    none = Est.missing(NO_RECONSTRUCTION, method=METHOD_ID)
    return AlarmCounts(
        sounded=len(sounded),
        checked=int(sticks.checked.sum()),
        true=int(sticks.true.sum()),
        true_rate=sticks.true_rate,
        events=sticks.events,
        detection_rate=sticks.detection,
        verified_share=100.0 * float(sticks.checked.mean()) if len(sounded) else None,
        acted_on=int(sticks.acted.sum()),
        false_per_night=none if told is None else told.false_per_night,
        minutes_of_warning=none if told is None else told.warning,
        true_rate_between=none if told is None else told.true_rate,
        detection_rate_between=none if told is None else told.detection,
        each=each,
    )


def _between(
    trial: Trial, sounded: Sounded, at_night: Mask, acted: Mask, against: Against | None
) -> Between | None:
    if against is None:
        return None
    waking = trial.question.waking or WAKING
    length = (1440 - (waking[1] - waking[0]) % 1440) * MINUTE
    own = against.own
    nights = _hours(own, own.night) / length if length else 0.0
    return between(sounded, own, against.path, Setting().level, acted, (at_night, nights))


def _hours(own: Held, chosen: Mask) -> float:
    """Seconds that the chosen readings stand for: each up to the next one, at most 20 min."""
    if len(own) < 2:
        return 0.0
    step = np.minimum(np.diff(own.at, append=own.at[-1]), 20 * MINUTE)
    return float(step[chosen].sum())

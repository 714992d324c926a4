"""Low alarms, real and rehearsed: when they sounded, and what sticks near them said."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from evenhand.clock import MINUTE
from evenhand.compare.shapes import Instants, Layout, Mask, Used
from evenhand.records.diary import EventKind
from evenhand.records.trial import Trial
from evenhand.stats.estimate import Est
from evenhand.stats.proportions import clopper_pearson
from evenhand.units import LOW, Unit

CLOSE = 15 * MINUTE
"""A stick, a treatment or a low belongs to an alarm at most this far from it."""
APART = 20 * MINUTE
"""A gap in the readings longer than this ends what an alarm was for."""


@dataclass(frozen=True, slots=True)
class Setting:
    """How an alarm is set: below `level` mg/dL for `delay` seconds, then silent for `silence` seconds."""

    level: float = LOW[Unit.MG_DL]
    delay: int = 0
    silence: int = 30 * MINUTE


@dataclass(frozen=True, slots=True)
class Sounded:
    """Alarms of one sensor in time order, shapes (A,): `at` instants, `until` the last reading of the event each was
    for (its own instant where that is not known)."""

    at: Instants
    until: Instants

    def __len__(self) -> int:
        return int(self.at.size)


def rehearsed(used: Used, setting: Setting) -> Sounded:
    """The alarms that these readings would have made.

    An event is a run of counting readings below the level, of one wear and without a gap over 20 min. It sounds once: at
    its first reading that lies at least the delay after its start and the silence after the alarm before it.
    """
    at, below, wear = (part[used.counts] for part in (used.instant, _below(used, setting.level), used.wear))
    breaks = (np.diff(at) > APART) | (np.diff(wear) != 0) | (np.diff(below.astype(np.int8)) != 0)
    edges = [0, *(np.flatnonzero(breaks) + 1).tolist(), at.size]
    found: list[tuple[int, int]] = []
    for first, after in pairwise(edges):
        if after == first or not below[first]:
            continue
        earliest = int(at[first]) + setting.delay
        if found:
            earliest = max(earliest, found[-1][0] + setting.silence)
        place = first + int(np.searchsorted(at[first:after], earliest))
        if place < after:
            found.append((int(at[place]), int(at[after - 1])))
    return _sounded(found)


def _below(used: Used, level: float) -> Mask:
    """Which readings lie below the level; at 70 mg/dL by the limit of the unit recorded."""
    below: Mask = used.level == 0 if level == LOW[Unit.MG_DL] else (used.mg_dl < level) | (used.flag == 1)
    return below


def real(trial: Trial, sensor: int) -> Sounded | None:
    """The low alarms of this sensor in the diary; None where none is noted. An alarm noted as 'high' is none."""
    own = [
        (event.start.instant, event.start.instant)
        for event in trial.events
        if event.kind is EventKind.ALARM
        and event.sensor == trial.sensors[sensor].id
        and not event.text.strip().casefold().startswith("high")
    ]
    return _sounded(sorted(set(own))) if own else None


def _sounded(found: list[tuple[int, int]]) -> Sounded:
    columns = np.array(found, np.int64).reshape(-1, 2)
    return Sounded(columns[:, 0], columns[:, 1])


def treated(trial: Trial) -> Instants:
    """The instants at which something was taken or done against a low."""
    found = [event.start.instant for event in trial.events if event.kind is EventKind.TREATED]
    return np.array(sorted(found), np.int64)


@dataclass(frozen=True, slots=True)
class ByStick:
    """What sticks said: `checked` (A,) alarms with a stick within 15 min, `true` (A,) those with a low one among them,
    `acted` (A,) those followed by a treatment within 15 min without a low stick. `detection`: of the judging sticks
    that were low while the sensor read, the share with an alarm within 15 min or one still going on; `events` how many."""

    checked: Mask
    true: Mask
    acted: Mask
    events: int
    detection: Est

    @property
    def true_rate(self) -> Est:
        """Of the alarms checked and not merely acted on, the share that a stick found true; percent, exact."""
        asked = self.checked & ~self.acted
        return percent(clopper_pearson(int((asked & self.true).sum()), int(asked.sum())))


def by_stick(layout: Layout, sensor: int, sounded: Sounded, level: float, after: Instants) -> ByStick:
    """Alarms held against sticks; `after` are the instants of treatments.

    Whether a sounded alarm was true is asked of every stick, prompted ones too. Whether a low was detected is asked
    of the judging ones alone: a stick that an alarm prompted would find the alarm.
    """
    pairs = layout.pairs
    low = pairs.level == 0 if level == LOW[Unit.MG_DL] else (pairs.stick < level) | (pairs.stick_flag == 1)
    near = np.asarray(np.abs(pairs.at[:, None] - sounded.at[None, :]) <= CLOSE)
    checked: Mask = np.asarray(near.any(axis=0))
    true: Mask = np.asarray((near & low[:, None]).any(axis=0))
    asked = low & pairs.judging & np.isfinite(pairs.reading[:, sensor])
    begun = sounded.at[None, :] <= pairs.at[:, None]
    heard = near | (begun & (sounded.until[None, :] >= pairs.at[:, None]))
    hits = int((asked & heard.any(axis=1)).sum())
    return ByStick(
        checked=checked,
        true=true,
        acted=acted_on(sounded, after) & ~true,
        events=int(asked.sum()),
        detection=percent(clopper_pearson(hits, int(asked.sum()))),
    )


def acted_on(sounded: Sounded, after: Instants) -> Mask:
    """Which alarms were followed by a treatment within 15 min, shape (A,)."""
    since = after[None, :] - sounded.at[:, None]
    return np.asarray(((since >= 0) & (since <= CLOSE)).any(axis=1), np.bool_)


def percent(share: Est) -> Est:
    """A share as a percentage."""
    if share.value is None or share.low is None or share.high is None:
        return share
    return Est(100 * share.value, 100 * share.low, 100 * share.high, share.level, share.n, share.method)

"""Clocks that look off, proposed with their evidence and never applied unasked.

What sticks of one time show against sticks typed and against sensors is found here, a sensor's clock in `sensor_clocks`, a wrong
year in `years`, the clock change in a file's own spacing in `own_hours`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from evenhand.clock import HOUR, MINUTE
from evenhand.intake import own_hours, sensor_clocks, years
from evenhand.intake.ask import Profile, Suggested
from evenhand.intake.reading import Read
from evenhand.intake.settings import Settings
from evenhand.intake.sticks import NEAR, Draft, agrees
from evenhand.records.files import OpenProposal
from evenhand.records.readings import Batch
from evenhand.records.trial import Trial

_FURTHEST = 13 * HOUR
_SPREAD = 4 * MINUTE
_LEAST = 4


def suggest(
    drafts: Sequence[Draft],
    batches: Sequence[Batch],
    reads: Sequence[Read],
    trial: Trial,
    settings: Settings,
    now: int,
) -> tuple[Suggested, ...]:
    """Corrections of the device's clock that the evidence at hand supports; none once a shift or a zone was said, or the clock
    was said to be right."""
    if any(settings.get(key) is not None for key in ("shift", "zone")):
        return ()
    counted = any(one.counted for one in reads)
    for found in (
        tuple(years.suggest(drafts, batches, trial, now, counted=counted)),
        (*_against_typed(drafts, trial), *sensor_clocks.suggest(batches, trial, counted=counted)),
        tuple(_against_readings(drafts, batches, trial)),
        tuple(_own_hours(reads, trial)),
    ):
        if found:
            return found
    return ()


def _own_hours(reads: Sequence[Read], trial: Trial) -> Iterator[Suggested]:
    """What the spacing of each device's own rows says; one proposal for a file."""
    for one in reads:
        if one.unzoned.size != one.owner.size:
            continue
        for owner in np.unique(one.owner).tolist():
            mine = (one.owner == owner) & (one.unzoned >= 0)
            found = list(own_hours.suggest(one.unzoned if mine.all() else one.unzoned[mine], trial.zones))
            if found:
                yield found[0]
                return


def _against_readings(drafts: Sequence[Draft], batches: Sequence[Batch], trial: Trial) -> Iterator[Suggested]:
    """A meter's clock against a sensor's: the shift at which its sticks come nearest to the readings."""
    meters = [draft for draft in drafts if draft.of_meter]
    others = [draft for draft in drafts if not draft.of_meter]
    if others or batches or len(meters) < sensor_clocks.LEAST_STICKS:
        return
    at = np.array([draft.at.instant for draft in meters], np.int64)
    value = np.array([draft.glucose.mg_dl for draft in meters])
    for sensor, held in trial.readings.items():
        found = sensor_clocks.nearest_to_sticks([held], at, value) if len(held) else None
        if found is None:
            continue
        ahead, there, written, (shifts, heights) = found
        minutes = sensor_clocks.rounded_minutes(sensor_clocks.USUAL_LAG - ahead)
        name = sensor_clocks.trial_name(trial, sensor)
        way = "ahead of" if minutes > 0 else "behind"
        profile = Profile(name, "mg/dL apart", tuple(-one for one in shifts), heights, minutes * MINUTE)
        yield Suggested(
            "clock-off",
            f"The meter's clock looks about {sensor_clocks.told_apart(minutes)} {way} {name}'s.",
            f"the sensor's average error against these sticks would be {there:.0f} mg/dL so shifted, and is {written:.0f} as written",
            f"shift={-minutes:+d}min",
            profile=profile,
        )
        return


def left_open(suggested: Sequence[Suggested]) -> tuple[OpenProposal, ...]:
    """The proposals as they stay open in the trial file."""
    return tuple(OpenProposal(one.code, one.text, one.evidence, one.set) for one in suggested)


def _against_typed(drafts: Sequence[Draft], trial: Trial) -> list[Suggested]:
    """Sticks typed with a time of their own, found in the meter's file with the same values at a constant shift."""
    typed = [stick for stick in trial.sticks if stick.source is None]
    pairs = [
        (draft.at.instant - stick.at.instant, number)
        for number, stick in enumerate(typed)
        for draft in drafts
        if draft.of_meter
        and abs(draft.at.instant - stick.at.instant) <= _FURTHEST
        and agrees(draft.glucose, stick.glucose)
    ]
    if len({number for _, number in pairs}) < _LEAST:
        return []
    shifts = np.array([shift for shift, _ in pairs])
    votes = [
        len({number for shift, number in pairs if abs(shift - centre) <= _SPREAD})
        for centre in shifts.tolist()
    ]
    best = int(np.argmax(votes))
    centre = int(np.median(shifts[np.abs(shifts - shifts[best]) <= _SPREAD]))
    rivals = [
        vote for vote, shift in zip(votes, shifts.tolist(), strict=True) if abs(shift - centre) > 2 * _SPREAD
    ]
    if (
        votes[best] < _LEAST
        or votes[best] < 0.6 * len(typed)
        or abs(centre) <= NEAR
        or votes[best] < 2 * max(rivals, default=0)
    ):
        return []
    minutes = round(centre / MINUTE)
    ahead = "ahead of" if minutes > 0 else "behind"
    return [
        Suggested(
            "clock-off",
            f"The meter's clock looks {abs(minutes)} min {ahead} the times you typed.",
            f"{votes[best]} of {len(typed)} typed sticks have the same value in this file, {abs(minutes)} min {'later' if minutes > 0 else 'earlier'}",
            f"shift={-minutes:+d}min",
        )
    ]

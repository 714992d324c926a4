"""A sensor's clock held against the other sensors and the meter: proposals with their evidence, never applied here.

Two sensors on one body go up and down together within minutes, so the shift at which they go together best tells how far apart
their clocks are. The least distance at which something is said is far above any lag.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, HOUR, MINUTE, iso_of, offset_at
from evenhand.intake import stretches
from evenhand.intake.agreement import (
    LEAST,
    MOST,
    SAID_FROM,
    STEP,
    Found,
    Ordered,
    in_time_order,
    nearest,
    shift,
)
from evenhand.intake.ask import Profile, Suggested
from evenhand.intake.shifts import Piece
from evenhand.records.readings import Batch, Readings
from evenhand.records.trial import Trial

LEAST_STICKS, STICK_GAIN, STICK_GAIN_DAYS = 20, 0.55, 0.45
"""At least so many sticks beside readings; what may be left of their distance when moved by hours, and by days."""
_DAYS = np.arange(-7, 8) * (DAY // STEP)
_TRIED = np.unique(
    np.concatenate((np.arange(-MOST, MOST + 1), (_DAYS[:, None] + np.arange(-18, 19, 2)).ravel()))
)
"""The steps tried against sticks: every one up to half a day, and around whole days up to a week."""
USUAL_LAG = 10 * MINUTE
"""By which a sensor is taken to trail the finger anyway (common practice, no source)."""

Floats = NDArray[np.float64]


def suggest(batches: Sequence[Batch], trial: Trial, *, counted: bool = False) -> Iterator[Suggested]:
    """What the readings of a file say of their device's clock; at most one proposal a sensor.

    `counted`: the file writes its times as counts of seconds, so that a time as written is the instant itself."""
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    for sensor in dict.fromkeys(batch.sensor for batch in batches):
        own = [batch.readings for batch in batches if batch.sensor == sensor and len(batch.readings)]
        others = {
            other: [*([trial.readings[other]] if other in trial.readings else []),
                    *(batch.readings for batch in batches if batch.sensor == other)]
            for other in names if other != sensor
        }  # fmt: skip
        beside = next(
            iter([(other, held) for other, held in others.items() if sum(map(len, held)) >= LEAST]), None
        )
        if not own:
            continue
        made = (
            _against_sensor(sensor, own, *beside, trial, counted=counted)
            if beside
            else _against_sticks(sensor, own, trial)
        )
        if made is not None:
            yield made


def _against_sensor(
    sensor: str, own: list[Readings], beside: str, held: list[Readings], trial: Trial, *, counted: bool
) -> Suggested | None:
    name, other = (trial_name(trial, one) for one in (sensor, beside))
    start = max(min(int(one.instant.min()) for one in part if len(one)) for part in (own, held))
    end = min(max(int(one.instant.max()) for one in part if len(one)) for part in (own, held))
    if end - start < DAY:
        return None
    change = _changes(start, end, trial)
    if change is not None:
        before, after = (shift(own, held, *span) for span in ((start, change), (change, end)))
        if before is not None and after is not None:
            around = _around_change(sensor, (name, other), (before, after), change, trial)
            if around is not None:
                return around
    found = shift(own, held, start, end)
    if found is not None and abs(found.ahead) >= SAID_FROM:
        return _said(sensor, name, other, found)
    stretch = stretches.find(own, held, start, end)
    if stretch is None or not _trusted(stretch, own, held):
        return None
    return _stretch(sensor, (name, other), stretch, own, counted=counted)


def trial_name(trial: Trial, sensor: str) -> str:
    """The wearer's name of a sensor."""
    return next(one.name for one in trial.sensors if one.id == sensor)


def rounded_minutes(seconds: int) -> int:
    """Whole minutes; the quarter of an hour where one is at most three minutes away.

    >>> rounded_minutes(58 * 60), rounded_minutes(-52 * 60), rounded_minutes(719 * 60)
    (60, -52, 720)
    """
    minutes = round(seconds / MINUTE)
    quarter = 15 * round(minutes / 15)
    return quarter if abs(minutes - quarter) <= 3 else minutes


def told_apart(minutes: int) -> str:
    """A distance of clocks in words.

    >>> told_apart(57), told_apart(720), told_apart(-1440), told_apart(2880 + 60)
    ('57 min', '720 min (12 h, as when am and pm are mixed up)', '1440 min (1 day)', '2940 min')
    """
    size = abs(minutes)
    if size == 720:
        return f"{size} min (12 h, as when am and pm are mixed up)"
    if size % 1440 == 0 and size:
        return f"{size} min ({size // 1440} day{'s' if size > 1440 else ''})"
    return f"{size} min"


def _said(sensor: str, name: str, other: str, found: Found) -> Suggested:
    minutes = rounded_minutes(found.ahead)
    way = "ahead of" if minutes > 0 else "behind"
    return Suggested(
        "clock-off",
        f"The clock of {name} looks about {told_apart(minutes)} {way} {other}'s.",
        found.evidence,
        f"shift={-minutes:+d}min",
        sensor=sensor,
        profile=found.profile(other, minutes * MINUTE),
    )


def _around_change(
    sensor: str, names: tuple[str, str], parts: tuple[Found, Found], change: int, trial: Trial
) -> Suggested | None:
    """A clock that was not put forward or back with the others goes right on one side and an hour off on the other."""
    name, other = names
    right = [abs(one.ahead) < SAID_FROM for one in parts]
    off = [abs(abs(one.ahead) - HOUR) < SAID_FROM for one in parts]
    if right[0] and off[1]:
        offset, found = offset_at(change - DAY, trial.header.zone), parts[1]
    elif right[1] and off[0]:
        offset, found = offset_at(change + DAY, trial.header.zone), parts[0]
    else:
        return None
    return Suggested(
        "clock-not-changed",
        f"The clock of {name} looks as if it was not changed when {other}'s was: an hour off on one side of the change.",
        found.evidence,
        f"zone={offset_word(offset)}",
        sensor=sensor,
        profile=found.profile(other, rounded_minutes(found.ahead) * MINUTE),
    )


def offset_word(offset: int) -> str:
    """Seconds east of UTC as `zone=` takes them.

    >>> offset_word(-12_600)
    '-03:30'
    """
    sign, minutes = ("-" if offset < 0 else "+"), abs(offset) // MINUTE
    return f"{sign}{minutes // 60:02d}:{minutes % 60:02d}"


def _trusted(stretch: stretches.Stretch, own: list[Readings], held: list[Readings]) -> bool:
    """Whether the stretch alone, searched anew, says the same shift."""
    if stretch.end - stretch.start < DAY:
        return stretch.moved > 0.85 and stretch.written < 0.5
    found = shift(own, held, stretch.start, stretch.end)
    return found is not None and abs(found.ahead - stretch.ahead) < SAID_FROM


def _stretch(
    sensor: str, names: tuple[str, str], found: stretches.Stretch, own: list[Readings], *, counted: bool
) -> Suggested:
    name, other = names
    start, end = (_offset_near(own, at) for at in (found.start, found.end))
    first, last = found.start + start, found.end + end
    shown = [iso_of(wall, 0)[:16].replace("T", " ") for wall in (first, last)]
    minutes = found.ahead // MINUTE
    span = (
        f"until {shown[1]}"
        if found.first
        else f"from {shown[0]} on"
        if found.last
        else f"from {shown[0]} to {shown[1]}"
    )
    bounds = (found.start, found.end) if counted else (first, last)
    piece = Piece(-found.ahead, None if found.first else bounds[0], None if found.last else bounds[1])
    way = "ahead of" if minutes > 0 else "behind"
    return Suggested(
        "clock-off-for-a-part",
        f"The clock of {name} looks {told_apart(minutes)} {way} {other}'s {span}, and right otherwise: a trip whose zone it kept or took, "
        "or a clock set wrong.",
        f"in that part the two go together with correlation {found.moved:.2f} so shifted, {found.written:.2f} as written",
        f"shift={piece.said}",
        sensor=sensor,
    )


def _offset_near(own: list[Readings], instant: int) -> int:
    """The offset of the reading nearest to an instant."""
    nearest = min(
        (abs(int(one.instant[at]) - instant), int(one.offset[at]))
        for one in own
        for at in {min(int(np.searchsorted(one.instant, instant)), len(one) - 1)}
    )
    return nearest[1]


def _changes(start: int, end: int, trial: Trial) -> int | None:
    """The instant (to the hour) within a span at which clocks at home changed; None where they did not, or twice."""
    days = range(start + DAY, end - DAY, DAY)
    found = [
        day for day in days if offset_at(day, trial.header.zone) != offset_at(day + DAY, trial.header.zone)
    ]
    if len(found) != 1:
        return None
    hours = range(found[0], found[0] + DAY, HOUR)
    return (
        next(
            hour
            for hour in hours
            if offset_at(hour, trial.header.zone) != offset_at(hour + HOUR, trial.header.zone)
        )
        + HOUR
    )


def _against_sticks(sensor: str, own: list[Readings], trial: Trial) -> Suggested | None:
    at = np.array([stick.at.instant for stick in trial.sticks], np.int64)
    value = np.array([stick.glucose.mg_dl for stick in trial.sticks])
    found = nearest_to_sticks(own, at, value)
    if found is None:
        return None
    ahead, there, written, profile = found
    minutes = rounded_minutes(ahead - USUAL_LAG)
    way = "ahead of" if minutes > 0 else "behind"
    return Suggested(
        "clock-off",
        f"The clock of {trial_name(trial, sensor)} looks about {told_apart(minutes)} {way} your fingersticks'.",
        f"its average error against them would be {there:.0f} mg/dL so shifted, and is {written:.0f} as written",
        f"shift={-minutes:+d}min",
        sensor=sensor,
        profile=Profile("the sticks", "mg/dL apart", *profile, minutes * MINUTE),
    )


def nearest_to_sticks(
    own: Sequence[Readings], at: NDArray[np.int64], value: Floats
) -> tuple[int, float, float, tuple[tuple[int, ...], tuple[float, ...]]] | None:
    """The shift (seconds, the readings later) at which a sensor comes nearest to sticks, where it is far nearer than as written;
    with its average distance there and as written, and the profile."""
    if at.size < LEAST_STICKS:
        return None
    shifts = _TRIED
    readings = in_time_order(own)
    off = np.array([_apart(readings, at + int(k) * STEP, value) for k in shifts])
    written = float(off[np.flatnonzero(shifts == 0)[0]])
    if not np.isfinite(written):
        return None
    best = int(np.nanargmin(off))
    ahead = int(shifts[best]) * STEP
    gain = STICK_GAIN if abs(shifts[best]) <= MOST else STICK_GAIN_DAYS
    if abs(ahead) < SAID_FROM or off[best] > gain * written:
        return None
    near = np.abs(shifts - shifts[best]) <= MOST
    profile = (tuple((shifts[near] * STEP).tolist()), tuple(off[near].tolist()))
    return ahead, float(off[best]), written, profile


def _apart(own: Ordered, at: NDArray[np.int64], value: Floats) -> float:
    """The average distance of sticks from the readings beside them; NaN with fewer than 20."""
    error = np.abs(nearest(at, own) - value)
    error = error[np.isfinite(error)]
    return float(error.mean()) if error.size >= LEAST_STICKS else float("nan")

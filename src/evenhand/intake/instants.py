"""Wall times to instants where the wearer was; the hour that comes twice and the hour that is left out."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, HOUR, Zones, offset_at, zone_info
from evenhand.errors import BadTime
from evenhand.intake.times import NO_OFFSET

OK, NONE, LEFT_OUT = 0, 1, 2
"""States of a row: an instant, no time, a wall time that no clock showed."""

_OFFSET = re.compile(r"(?:UTC|GMT)?\s*([+\-−])(\d{1,2})(?::?(\d{2}))?", re.I | re.A)


@dataclass(frozen=True, slots=True)
class Where:
    """Where the times of a file were written: zones with trips, or one fixed offset (seconds east of UTC)."""

    zones: Zones
    fixed: int | None = None
    word: str = ""


def where(said: str | None, zones: Zones) -> Where:
    """What `zone=` says, or the trial's zones; `BadTime` where it is neither a zone nor an offset.

    >>> where("+01:00", Zones("Europe/Lisbon")).fixed
    3600
    """
    if said is None:
        trips = " and those of the trips" if zones.trips else ""
        return Where(zones, None, f"{zones.home}{trips}")
    match = _OFFSET.fullmatch(said.strip())
    if match or said.strip().upper() in ("UTC", "Z", "GMT"):
        seconds = (
            (int(match[2]) * HOUR + int(match[3] or 0) * 60) * (1 if match[1] == "+" else -1) if match else 0
        )
        if abs(seconds) > 14 * HOUR:
            raise BadTime(f"'{said}' is not an offset.", "Write for example zone=+01:00.")
        return Where(zones, seconds, said.strip())
    zone_info(said.strip())
    return Where(Zones(said.strip()), None, said.strip())


@dataclass(frozen=True, slots=True)
class Placed:
    """Instants of rows, shape (n,) each: `instant` and `offset` in seconds, `state` OK, NONE or LEFT_OUT;
    `twice` marks rows in the hour that came twice. `notes` are sentences to say."""

    instant: NDArray[np.int64]
    offset: NDArray[np.int32]
    state: NDArray[np.int8]
    twice: NDArray[np.bool_]
    notes: tuple[str, ...] = ()


def place(
    wall: NDArray[np.int64],
    good: NDArray[np.bool_],
    stated: NDArray[np.int32],
    absolute: NDArray[np.bool_],
    there: Where,
    group: NDArray[np.int32],
) -> Placed:
    """The instants of wall times.

    `stated` holds the offsets the texts state, `absolute` rows whose `wall` is an instant already, `group`
    a number per device: the repeated hour is resolved along each device's own rows.
    """
    n = wall.size
    instant, offset = np.zeros(n, np.int64), np.zeros(n, np.int32)
    state = np.where(good, OK, NONE).astype(np.int8)
    twice = np.zeros(n, np.bool_)
    told = good & ~absolute & (stated != NO_OFFSET)
    instant[told], offset[told] = wall[told] - stated[told], stated[told]
    local = good & ~absolute & ~told
    notes: list[str] = []
    if there.fixed is not None:
        instant[local], offset[local] = wall[local] - there.fixed, there.fixed
    elif local.any():
        notes = _local(wall, local, there.zones, group, instant, state, twice)
        offset[local] = offsets(instant[local], there.zones)
    instant[good & absolute] = wall[good & absolute]
    if (good & absolute).any():
        offset[good & absolute] = offsets(instant[good & absolute], there.zones)
    return Placed(instant, offset, state, twice, tuple(notes))


def offsets(instant: NDArray[np.int64], zones: Zones) -> NDArray[np.int32]:
    """Seconds east of UTC where the wearer was, shape (n,); each quarter of an hour is looked up once, and a
    quarter in which something changes minute by minute."""
    quarters, back = np.unique(instant // 900, return_inverse=True)
    found = (
        np.array([offset_at(int(q) * 900, zones.at(int(q) * 900)) for q in quarters], np.int32)
        if quarters.size < 20_000
        else _by_day(quarters, zones)
    )
    result = found[back]
    edges = {edge // 900 for trip in zones.trips for edge in (trip.start, trip.end or 0)}
    for at in np.flatnonzero(np.isin(instant // 900, list(edges))) if edges else ():
        result[at] = offset_at(int(instant[at]), zones.at(int(instant[at])))
    return result.astype(np.int32)


def _by_day(quarters: NDArray[np.int64], zones: Zones) -> NDArray[np.int32]:
    """Offsets of many quarters of an hour: days without a change are looked up once."""
    days, back = np.unique(quarters // 96, return_inverse=True)
    plain = np.array([_constant(int(day), zones) for day in days], np.int64)
    found = plain[back]
    for at in np.flatnonzero(found == -(10**6)):
        instant = int(quarters[at]) * 900
        found[at] = offset_at(instant, zones.at(instant))
    return found.astype(np.int32)


def _constant(day: int, zones: Zones) -> int:
    """The one offset that holds from a day and two hours before to a day after a UTC day; -10**6 where it changes."""
    start, end = (day - 1) * DAY - 2 * HOUR, (day + 2) * DAY + 2 * HOUR
    if any(start <= edge <= end for trip in zones.trips for edge in (trip.start, trip.end or -1)):
        return -(10**6)
    zone = zones.at(start)
    seen = {offset_at(instant, zone) for instant in range(start, end + 1, 12 * HOUR)}
    return seen.pop() if len(seen) == 1 else -(10**6)


def _local(
    wall: NDArray[np.int64],
    local: NDArray[np.bool_],
    zones: Zones,
    group: NDArray[np.int32],
    instant: NDArray[np.int64],
    state: NDArray[np.int8],
    twice: NDArray[np.bool_],
) -> list[str]:
    """Fill `instant`, `state` and `twice` for wall times without an offset; notes."""
    days, back = np.unique(wall[local] // DAY, return_inverse=True)
    constant = np.array([_constant(int(day), zones) for day in days], np.int64)[back]
    rows = np.flatnonzero(local)
    plain = constant != -(10**6)
    instant[rows[plain]] = wall[rows[plain]] - constant[plain]
    second: dict[int, int] = {}
    known: dict[int, tuple[int, ...]] = {}
    for row in rows[~plain]:
        moment = int(wall[row])
        if moment not in known:
            known[moment] = zones.possible(datetime(1970, 1, 1) + timedelta(seconds=moment))  # noqa: DTZ001
        found = known[moment]
        if not found:
            state[row] = LEFT_OUT
            continue
        instant[row] = found[0]
        if len(found) > 1:
            twice[row] = True
            second[int(row)] = found[-1]
    if not second:
        return []
    return _resolve(wall, local, group, instant, twice, second)


def _resolve(
    wall: NDArray[np.int64],
    local: NDArray[np.bool_],
    group: NDArray[np.int32],
    instant: NDArray[np.int64],
    twice: NDArray[np.bool_],
    second: dict[int, int],
) -> list[str]:
    """Decide for each row of a repeated hour which pass it belongs to, along each device's own rows."""
    proven = assumed = 0
    for number in np.unique(group[twice]):
        rows = np.flatnonzero(local & (group == number))
        if rows.size > 1 and int((np.diff(wall[rows]) < 0).sum()) > rows.size // 2:
            rows = rows[::-1]
        for run in _runs(rows, twice):
            late, sure = _late_from(wall, rows, run)
            for at in range(late, run[1]):
                instant[rows[at]] = second[int(rows[at])]
            proven += (run[1] - run[0]) * sure
            assumed += (run[1] - run[0]) * (not sure)
    notes = []
    if proven:
        notes.append(
            f"{proven} rows lie in the hour that came twice; the order and spacing of the rows show which is which."
        )
    if assumed:
        notes.append(
            f"{assumed} rows lie in the hour that came twice; nothing shows which, so they are read as its first pass."
        )
    return notes


def _runs(rows: NDArray[np.int64], twice: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Stretches [start, end) of positions in `rows` that lie in a repeated hour."""
    inside = np.concatenate(([0], twice[rows].astype(np.int8), [0]))
    edges = np.flatnonzero(np.diff(inside))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _late_from(wall: NDArray[np.int64], rows: NDArray[np.int64], run: tuple[int, int]) -> tuple[int, bool]:
    """The position from which the run belongs to the second pass, and whether order or spacing show it."""
    start, end = run
    own = wall[rows[start:end]]
    falls = np.flatnonzero(np.diff(own) < 0)
    if falls.size == 1:
        return start + int(falls[0]) + 1, True
    if falls.size > 1:
        return end, False
    steps = np.diff(wall[rows])
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
    before = float(own[0] - wall[rows[start - 1]]) if start > 0 else None
    after = float(wall[rows[end]] - own[-1]) if end < rows.size else None
    near = 2.2 * usual
    if before is not None and before <= near and not (usual == 0.0 or usual > 1800):
        return end, True
    if after is not None and after <= near and before is not None and usual and usual <= 1800:
        return start, True
    return end, False

"""A column that names each row's zone: an offset, an IANA name, or a European abbreviation of one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import Zones, zone_info
from evenhand.errors import BadTime
from evenhand.intake import moments
from evenhand.intake.instants import NONE, Placed, Where, place
from evenhand.intake.times import NO_OFFSET, Times, stated_offsets

_IANA = re.compile(r"[A-Z][A-Za-z_]+(?:/[A-Za-z0-9_+\-]+){1,2}", re.ASCII)


def offset_of(cell: str) -> int | None:
    """Seconds east of UTC that a cell states, None where it states none.

    >>> offset_of("+01:00"), offset_of("CEST"), offset_of("EST")
    (3600, 7200, None)
    """
    hours = moments.HOURS.get(cell.strip().upper())
    return hours * 3600 if hours is not None else moments.read_offset(cell)


def zone_of(cell: str) -> str | None:
    """The IANA name in a cell, None where there is none.

    >>> zone_of(" Europe/Lisbon "), zone_of("Europe/Nowhere"), zone_of("summer")
    ('Europe/Lisbon', None, None)
    """
    bare = cell.strip()
    if not _IANA.fullmatch(bare):
        return None
    try:
        zone_info(bare)
    except BadTime:
        return None
    return bare


def known(cell: str) -> bool:
    """Whether a cell says a zone."""
    return offset_of(cell) is not None or zone_of(cell) is not None


def with_offsets(times: Times, cells: Sequence[str]) -> Times:
    """Times with the offsets that a column beside them states."""
    told = {cell: offset_of(cell) for cell in set(cells)}
    return stated_offsets(times, [told[cell] for cell in cells])


def place_by_zone(
    wall: NDArray[np.int64],
    good: NDArray[np.bool_],
    times: Times,
    cells: Sequence[str],
    there: Where,
    group: NDArray[np.int32],
) -> Placed:
    """The instants of rows whose zone stands in `cells`; a row that names none is where the wearer was."""
    names = {cell: zone_of(cell) for cell in set(cells)}
    zones = list(dict.fromkeys(names.values()))
    at = np.fromiter((zones.index(names[cell]) for cell in cells), np.int32, len(cells))
    made: Placed | None = None
    for number, zone in enumerate(zones):
        mine = (at == number) | ((times.offset != NO_OFFSET) & (zone is None))
        here = there if zone is None else Where(Zones(zone), None, zone)
        one = place(wall, good & mine, times.offset, times.absolute, here, group)
        made = one if made is None else _joined(made, one, mine)
    assert made is not None
    return made


def _joined(first: Placed, second: Placed, mine: NDArray[np.bool_]) -> Placed:
    use = mine & ((second.state != NONE) | (first.state == NONE))
    return replace(
        first,
        instant=np.where(use, second.instant, first.instant),
        offset=np.where(use, second.offset, first.offset).astype(np.int32),
        state=np.where(use, second.state, first.state).astype(np.int8),
        twice=np.where(use, second.twice, first.twice),
        notes=(*first.notes, *second.notes),
    )

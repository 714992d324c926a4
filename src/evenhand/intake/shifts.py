"""What `shift=` says: how far a clock was off, for the whole file or for parts of it, in wall times as written."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.errors import BadValue

_AMOUNT = re.compile(r"([+\-−]?)\s*(\d{1,10})\s*(s|sec|min|m|h|d|days?)", re.I | re.A)
_SECONDS = {"s": 1, "m": MINUTE, "h": HOUR, "d": DAY}
FURTHEST = 36_525 * DAY
"""No clock is off by more than 100 years."""
_CURE = "Write for example shift=-57min, +12h +365d, or no; for a part of the file shift=-1h@2026-03-29T02:00..2026-03-31T08:15."


@dataclass(frozen=True, slots=True)
class Piece:
    """Seconds to add to the times from `start` up to and with `end` (wall seconds as written; None: no bound)."""

    seconds: int
    start: int | None = None
    end: int | None = None

    def covers(self, wall: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Which wall times lie in the piece, shape (n,)."""
        inside = np.ones(wall.size, np.bool_)
        if self.start is not None:
            inside &= wall >= self.start
        if self.end is not None:
            inside &= wall <= self.end
        return inside

    @property
    def said(self) -> str:
        """The piece as it is written after `shift=`.

        >>> Piece(-3600, 1774749600).said, Piece(31536000, None, 1774749600).said, Piece(-90).said
        ('-60min@2026-03-29T02:00:00..', '+365d@..2026-03-29T02:00:00', '-90s')
        """
        unit, size = next((u, s) for u, s in (("d", DAY), ("min", MINUTE), ("s", 1)) if self.seconds % s == 0)
        amount = f"{self.seconds // size:+d}{unit}"
        if self.start is None and self.end is None:
            return amount
        return f"{amount}@{_iso(self.start)}..{_iso(self.end)}"


def parse(said: str | None) -> tuple[Piece, ...]:
    """The pieces of a `shift=`, parted by commas; none for 'no' (the clock was right). Raises `BadValue` for anything else, or pieces that overlap.

    >>> parse("-57min")
    (Piece(seconds=-3420, start=None, end=None),)
    >>> [piece.said for piece in parse("-1h@2026-03-29T02:00..,+1d@..2026-03-01T10:00:30")]
    ['-60min@2026-03-29T02:00:00..', '+1d@..2026-03-01T10:00:30']
    """
    if said is None or said.strip().lower() == "no":
        return ()
    pieces = tuple(_piece(part.strip(), said) for part in said.split(","))
    ordered = sorted(pieces, key=lambda one: -(10**12) if one.start is None else one.start)
    for one, after in pairwise(ordered):
        if one.end is None or after.start is None or after.start <= one.end:
            raise BadValue(f"The parts of '{said}' overlap.", "Give each time one shift.")
    return pieces


def apply(wall: NDArray[np.int64], good: NDArray[np.bool_], pieces: Sequence[Piece]) -> NDArray[np.int64]:
    """Wall times with the shifts added, shape (n,); rows that are not `good` stay."""
    moved = wall
    for piece in pieces:
        moved = np.where(good & piece.covers(wall), wall + piece.seconds, moved)
    return moved


def _piece(part: str, said: str) -> Piece:
    amount, at, span = part.partition("@")
    match = _AMOUNT.fullmatch(amount.strip())
    start, dots, end = span.partition("..")
    if match is None or (at and not dots):
        raise BadValue(f"'{said}' is not a time to shift by.", _CURE)
    seconds = int(match[2]) * _SECONDS[match[3][0].lower()]
    if seconds > FURTHEST:
        raise BadValue(f"'{said}' moves times by more than 100 years.", _CURE)
    first, last = _wall(start, said), _wall(end, said)
    if first is not None and last is not None and last < first:
        raise BadValue(f"'{part}' ends before it starts.", _CURE)
    return Piece(seconds if match[1] in ("", "+") else -seconds, first, last)


def _wall(text: str, said: str) -> int | None:
    if not text.strip():
        return None
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None:
        raise BadValue(
            f"'{text.strip()}' in '{said}' is not a time as the file writes it (without a zone).", _CURE
        )
    return int(found.replace(tzinfo=UTC).timestamp())


def _iso(wall: int | None) -> str:
    return "" if wall is None else datetime.fromtimestamp(wall, UTC).replace(tzinfo=None).isoformat()

"""Whether a file with readings of a moment was ever taken in."""

from __future__ import annotations

from pathlib import Path

from evenhand.store.session import reading

_COVERED = """
SELECT EXISTS (
    SELECT 1 FROM batch WHERE rows > 0
    AND (SELECT min(instant) FROM reading WHERE number >= first AND number < first + rows) <= :at
    AND (SELECT max(instant) FROM reading WHERE number >= first AND number < first + rows) >= :at
)
"""


def covered(path: str | Path, instant: int) -> bool:
    """Whether any batch of readings, taken back or not, spans that instant: what it showed could be known.

    Reads no reading into Python and imports no numpy.
    """
    with reading(path) as connection:
        (found,) = connection.execute(_COVERED, {"at": instant}).fetchone()
    return bool(found)

"""Times a person wrote, understood near now and where the wearer was."""

from __future__ import annotations

import re

from evenhand.clock import DAY, Stamp, Understood, Zones, understand_time
from evenhand.errors import BadTime

_BARE = re.compile(r"\d{1,2}(?:[:.h]\d{2}){0,2}\s*(?:[ap]\.?m\.?)?", re.IGNORECASE | re.ASCII)


def when(text: str | None, now: int, zones: Zones) -> Understood:
    """The moment a person wrote; now where nothing was written."""
    return Understood(zones.stamp(now)) if text is None else understand_time(text, now, zones)


def past(text: str | None, now: int, zones: Zones) -> Understood:
    """As `when`; `BadTime` where it lies in the future, since a fact is logged, not a plan."""
    understood = when(text, now, zones)
    if understood.stamp.instant > now:
        raise BadTime(
            f"'{text}' is {understood.stamp.iso}, which has not come yet.", "Write when it happened."
        )
    return understood


def end_of(text: str, start: Stamp, now: int, zones: Zones) -> Understood:
    """The end of something that began at `start`: a bare clock time is the first such after the start."""
    near = start.instant + DAY - 1 if _BARE.fullmatch(text.strip()) else now
    return understand_time(text, near, zones)

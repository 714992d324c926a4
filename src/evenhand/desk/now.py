"""The only reader of the clock, the environment, this computer's zone and its entropy.

Everything else is handed a `Now`; tests hand in a frozen one.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

from evenhand.clock import zone_info
from evenhand.errors import BadTime


class Now:
    """What a desk function may ask of the world outside the trial file."""

    def instant(self) -> int:
        """This moment, in whole seconds since the epoch."""
        return int(time.time())  # noqa: TID251

    def ticks(self) -> float:
        """Seconds on a clock that only runs forward, for telling how long something takes."""
        return time.monotonic()  # noqa: TID251

    def entropy(self, size: int) -> bytes:
        """`size` random bytes."""
        return os.urandom(size)

    def environment(self, name: str) -> str | None:
        """An environment variable, None where it is not set."""
        return os.environ.get(name)  # noqa: TID251

    def links(self) -> tuple[Path, Path]:
        """Where this computer keeps its zone: a link to the zone's rules, and a file that names it."""
        settings = Path(os.sep) / "etc"
        return settings / "localtime", settings / "timezone"

    def fresh_id(self) -> str:
        """An id that no other record has: 20 hexadecimal digits."""
        return self.entropy(10).hex()

    def ids(self) -> Iterator[str]:
        """Fresh ids without end."""
        while True:
            yield self.fresh_id()

    def seed(self) -> int:
        """A number for the random streams of a new trial, below 2^48."""
        return int.from_bytes(self.entropy(6), "big")

    def computer_zone(self) -> str | None:
        """The IANA name of this computer's zone; None where it does not tell one."""
        stated = (self.environment("TZ") or "").lstrip(":")
        if stated:
            return stated if _is_zone(stated) else None
        link, named = self.links()
        return _linked(link) or _named(named)


def _linked(link: Path) -> str | None:
    """The zone that a link into the zone rules points at."""
    try:
        parts = link.resolve(strict=True).parts
    except OSError:
        return None
    at = next((place for place, part in enumerate(parts) if part.startswith("zoneinfo")), None)
    name = "/".join(parts[at + 1 :]) if at is not None else ""
    return name if name and _is_zone(name) else None


def _named(file: Path) -> str | None:
    try:
        name = file.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError):
        return None
    return name if name and _is_zone(name) else None


def _is_zone(name: str) -> bool:
    try:
        zone_info(name)
    except BadTime:
        return False
    return True

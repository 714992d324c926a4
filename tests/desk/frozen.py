"""A world that stands still: the clock, the zone and the entropy that tests hand in."""

from __future__ import annotations

import itertools
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from evenhand.desk.now import Now

LISBON = "Europe/Lisbon"
COUNTER = itertools.count(1)
"""Shared by all, so that no two frozen worlds give the same id."""


class Frozen(Now):
    """A `Now` at a wall time in Lisbon; `tick` moves it on. Ids count up; nothing of this computer is read."""

    def __init__(self, wall: str = "2026-03-01 08:00", zone: str | None = LISBON) -> None:
        self.now = int(datetime.fromisoformat(wall).replace(tzinfo=ZoneInfo(LISBON)).timestamp())
        self.zone = zone
        self.clock = 0.0

    def instant(self) -> int:
        return self.now

    def ticks(self) -> float:
        return self.clock

    def entropy(self, size: int) -> bytes:
        return next(COUNTER).to_bytes(size, "big")

    def environment(self, name: str) -> str | None:
        return None

    def links(self) -> tuple[Path, Path]:
        return Path("nowhere"), Path("nowhere")

    def computer_zone(self) -> str | None:
        return self.zone

    def tick(self, seconds: int) -> None:
        self.now += seconds

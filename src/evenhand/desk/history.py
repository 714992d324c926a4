"""Looking back and making safe: history, undo, check, backup."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from evenhand.clock import Zones
from evenhand.desk.now import Now
from evenhand.records.change import ChangeLine
from evenhand.store import file as store
from evenhand.store.health import Health


@dataclass(frozen=True, slots=True)
class History:
    """Every change, oldest first, and the zones to tell their times in."""

    changes: tuple[ChangeLine, ...]
    zones: Zones


def history(path: Path) -> History:
    """What was done to the trial so far."""
    return History(store.history(path), store.read(path, readings=False).zones)


def undo(path: Path, number: int | None, now: Now) -> ChangeLine:
    """Take back a change, the last one where no number is given; the change that this made. `NothingToUndo`
    where there is none."""
    return store.undo(path, number, now.instant())


def backup(path: Path, to: Path | None, now: Now) -> Path:
    """Copy the trial file, beside it where no place is given; where the copy is."""
    return store.backup(path, to, now.instant())


def check(path: Path) -> Health:
    """Whether the file is whole, and where its newest good copy is if not."""
    return store.check(path)

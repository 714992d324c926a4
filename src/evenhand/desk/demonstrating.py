"""The demo's invented wearer: files to be taken in, and a world in which they are taken in the same every time."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from evenhand.clock import HOUR
from evenhand.desk.folders import fresh_folder
from evenhand.desk.now import Now
from evenhand.rehearse.demo import DEMO_SEED, demo_world
from evenhand.rehearse.files import Written, write_files
from evenhand.rehearse.invent import invent

TRIAL_FILE = "demo.trial"


class Told(Now):
    """The world of an invented trial: an hour after its last record, ids and seed drawn from its own seed, so
    that the demo's trial file, judgement and edition are the same every time."""

    def __init__(self, instant: int, seed: int) -> None:
        self._instant = instant
        self._seed = seed
        self._drawn = 0

    def instant(self) -> int:
        """The hour after the last record."""
        return self._instant

    def entropy(self, size: int) -> bytes:
        """Bytes that are the same in every run."""
        self._drawn += 1
        return hashlib.shake_256(f"demo {self._seed} {self._drawn}".encode()).digest(size)


@dataclass(frozen=True, slots=True)
class Demo:
    """What the demo starts from: its folder, the trial file to be made in it, the wearer's files, the diary's
    commands (on that trial file, without the leading 'evenhand'), how many days it lasts, the wall time of its
    last record, and the world in which the commands are run."""

    folder: Path
    trial: Path
    written: Written
    commands: tuple[tuple[str, ...], ...]
    days: int
    last: datetime
    now: Now


def prepare_demo(wanted: Path) -> Demo:
    """Invent the demo's trial and write its wearer's files into a fresh folder."""
    invented = invent(demo_world(), DEMO_SEED)
    folder = fresh_folder(wanted)
    written = write_files(invented, folder)
    trial = folder / TRIAL_FILE
    commands = tuple(
        tuple(str(trial) if word == written.trial_file else word for word in words)
        for words in written.commands()
    )
    ends = [int(readings.instant[-1]) for readings in invented.trial.readings.values() if len(readings)]
    ends += [stick.at.instant for stick in invented.trial.sticks]
    last = invented.trial.zones.stamp(max(ends)).wall
    return Demo(
        folder, trial, written, commands, invented.world.days, last, Told(max(ends) + HOUR, DEMO_SEED)
    )

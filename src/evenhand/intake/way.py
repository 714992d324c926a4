"""What every way to read a file starts from and hands on: tables, jotted lines, Evenhand's own exports."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from evenhand.intake.ask import Asked, Guess
from evenhand.intake.collect import Collected, Context
from evenhand.intake.fates import Fates
from evenhand.intake.instants import Placed
from evenhand.intake.layout import Section
from evenhand.intake.names import METER, Names
from evenhand.intake.reading import NO_KIND, NO_OWNER, Read
from evenhand.intake.roles import Roles
from evenhand.intake.settings import Settings
from evenhand.intake.table import Document
from evenhand.records.change import Record
from evenhand.records.files import LedgerRow
from evenhand.records.trial import Trial

Progress = Callable[[str, float], None]
"""Told what is being done and the share done (0 to 1)."""


@dataclass(frozen=True, slots=True)
class Task:
    """One file to be read: its document, what was said of it, and the trial it is for."""

    document: Document
    settings: Settings
    names: Names
    trial: Trial
    of: str | None
    file_id: str
    ids: Iterator[str]
    now: int
    tell: Progress

    def context(self, owner: str | None) -> Context:
        """What collecting needs to know, where the file is of `owner`."""
        sensors = {sensor.id: sensor for sensor in self.trial.sensors}
        return Context(owner, sensors, self.trial.zones, self.settings, self.file_id, self.ids, self.now)


@dataclass(slots=True)
class Way:
    """A file as read: rows with their fates so far, what they hold, what is open; `outside` are lines of no table,
    `records` what is to be kept besides sticks and diary entries, `zone` says where times were read."""

    reads: list[Read]
    collected: Collected
    owner: str | None
    zone: str
    outside: list[LedgerRow] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)
    guesses: list[Guess] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    records: list[Record] = field(default_factory=list)
    order: str | None = None
    """The order of dates that the rows proved; None where there was nothing to prove."""
    lines: bool = False
    """Whether the rows are lines that are no table."""
    against_order: str | None = None
    """What in the rows contradicts the order that was said; None where nothing does."""


def plain_read(texts: Sequence[str], lines: Sequence[int]) -> Read:
    """Rows that are no table, one text each, with their lines and without a fate yet."""
    section = Section(None, ("line",), (), (), (tuple(texts),), lines)
    n = len(lines)
    none = np.zeros(n, np.int64)
    placed = Placed(none, none.astype(np.int32), np.ones(n, np.int8), np.zeros(n, np.bool_))
    return Read(
        section, Roles(0, None, (), {}), placed, np.full(n, NO_KIND, np.int8), np.full(n, NO_OWNER, np.int16), [METER], [],
        Fates(section),
    )  # fmt: skip

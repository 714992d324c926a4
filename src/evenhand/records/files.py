"""What was taken in: files, the fate of each of their rows, and how each kind of file is read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol, runtime_checkable


class Fate(StrEnum):
    """What became of a row."""

    KEPT = "kept"
    DOUBLED = "doubled"
    SET_ASIDE = "set aside"
    WAITING = "waiting"


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """The fate of one row of one file; `line` counts from 1 in the file or sheet, header and preamble
    included. A row that holds no data (header, blank, preamble) has a fate too."""

    file: str
    sheet: str | None
    line: int
    fate: Fate
    reason: str = ""


@runtime_checkable
class InRuns(Protocol):
    """A ledger that knows its neighbouring rows of one fate and reason without making each of them."""

    def in_runs(self) -> Iterator[tuple[LedgerRow, int]]:
        """The first row of each run with the line of its last, in order."""
        ...


@dataclass(frozen=True, slots=True)
class OpenProposal:
    """Something about a file that was proposed and neither accepted nor refused (a clock that looks off)."""

    code: str
    text: str
    evidence: str
    set: str


@dataclass(frozen=True, slots=True)
class SourceFile:
    """A file that was taken in: its name (never its path), SHA-256, size in bytes, whose it was said to be
    ('meter', a sensor's id, or None), how it was read (the key's settings as text), what stays open."""

    id: str
    name: str
    sha256: str
    size: int
    of: str | None
    taken: int
    rows: int
    settings: tuple[tuple[str, str], ...] = ()
    open_proposals: tuple[OpenProposal, ...] = ()


@dataclass(frozen=True, slots=True)
class FileKey:
    """How one kind of file is read, saved to be used for the next of its kind."""

    id: str
    kind: str
    settings: tuple[tuple[str, str], ...]

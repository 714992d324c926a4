"""File keys: what was settled for one file is used for the next of its kind, as long as that one fits.

A kind is told by the form of the file and the names of its columns. What is settled: the settings a person gave, and
what the rows of that file proved (the order of its dates, a unit stated nowhere). Never kept: what holds for one file
only (whose it is, a clock that was off, answers about single lines).
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import TypeVar

import numpy as np

from evenhand.errors import EvenhandError
from evenhand.intake.layout import lay_out
from evenhand.intake.reading import Read
from evenhand.intake.settings import FOR_ONE_FILE
from evenhand.intake.settle import Settled
from evenhand.intake.source import open_document
from evenhand.intake.values import LARGE, NO_UNIT, NUMBER, SMALL, Column, Decided, stated_units
from evenhand.intake.way import Task, Way
from evenhand.intake.words import Role, fold
from evenhand.records.files import FileKey
from evenhand.records.trial import Trial

_HEAD = 1 << 16
_WHOLE = 5 * 1024 * 1024
_SHOWN = 100

_Run = TypeVar("_Run", bound=tuple[Way, Settled, Task])


@dataclass(frozen=True, slots=True)
class Used:
    """The kind of a file (None: it has none), the key it is read with (None: none, or it did not fit), and what is
    to be said about it."""

    kind: str | None = None
    key: FileKey | None = None
    notes: tuple[str, ...] = ()

    def merged(self, said: Mapping[str, str]) -> dict[str, str]:
        """The key's settings under what was said now."""
        return {**(dict(self.key.settings) if self.key else {}), **said}

    def to_save(self, file_id: str, said: Mapping[str, str], way: Way) -> tuple[FileKey, ...]:
        """The key to be written with the file: none where nothing is settled that was not."""
        if self.kind is None:
            return ()
        lasting = {
            key: value
            for key, value in said.items()
            if key.lower() not in FOR_ONE_FILE and key.partition(".")[0].lower() not in FOR_ONE_FILE
        }
        settled = {**_proven(way), **(dict(self.key.settings) if self.key else {}), **lasting}
        made = tuple(sorted(settled.items()))
        if not made or (self.key is not None and self.key.settings == made):
            return ()
        return (FileKey(f"{file_id}.key", self.kind, made),)


def _proven(way: Way) -> dict[str, str]:
    """What the rows of a file proved, as settings."""
    found = {"order": way.order} if way.order else {}
    columns = [(column, decided) for one in way.reads for column, decided, _ in one.columns]
    for column, decided in columns:
        units = np.unique(decided.unit[decided.unit != NO_UNIT])
        if decided.by_values and units.size == 1:
            key = "unit" if len(columns) == 1 else f"unit.{column.name}"
            found[key] = ("mg/dL", "mmol/L")[int(units[0])]
    return found


def latest(trial: Trial) -> dict[str, FileKey]:
    """The key that holds for each kind: that of the file taken in last."""
    taken = {file.id: file.taken for file in trial.files}
    ordered = sorted(trial.keys, key=lambda key: (taken.get(key.id.partition(".")[0], 0), key.id))
    return {key.kind: key for key in ordered}


def find(data: bytes, name: str, trial: Trial, said: Mapping[str, str]) -> Used:
    """The kind of a file and the key saved for it, as far as it says anything that was not said anew."""
    kind = kind_of(data, name)
    key = latest(trial).get(kind) if kind is not None else None
    useful = key is not None and any(setting not in said for setting, _ in key.settings)
    return Used(kind, key if useful else None)


def kind_of(data: bytes, name: str) -> str | None:
    """The kind of a file: its form, the names of its columns, and a fingerprint of them; None where it has none.

    >>> kind_of(b"Time;Glucose\\n2026-03-01 07:42;110\\n", "a.csv")
    'csv: Time | Glucose #2fc512'
    """
    try:
        document = open_document(_head(data), name, {})
        sections = [section for table in document.tables for section in lay_out(table).sections]
    except EvenhandError:
        return None
    named = [name for section in sections for name in section.names]
    if not named:
        return None
    form = PurePath(name).suffix.lower().lstrip(".") or "no extension"
    mark = hashlib.sha256("\n".join(map(fold, named)).encode()).hexdigest()[:6]
    listed = " | ".join(named)
    return f"{form}: {listed[:_SHOWN]}{'...' if len(listed) > _SHOWN else ''} #{mark}"


def _head(data: bytes) -> bytes:
    """The beginning of a file, cut at the end of a line; a packed or nested form whole, where it is not long."""
    packed = data.startswith(b"PK") or data[:4].lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in (b"[", b"{")
    if len(data) <= _HEAD or (packed and len(data) <= _WHOLE):
        return data
    if packed:
        return b""
    head = data[:_HEAD]
    return head if b"\0" in head else head[: head.rfind(b"\n") + 1] or head


def fitted(
    used: Used, said: Mapping[str, str], run: Callable[[Mapping[str, str]], _Run]
) -> tuple[_Run, Used]:
    """The file read with its key where it fits; else read anew, and said where it does not fit."""
    if used.key is None:
        return run(said), used
    listed = ", ".join(f"{setting}={value}" for setting, value in used.key.settings)
    try:
        made = run(used.merged(said))
    except EvenhandError as error:
        misfit: str | None = f"{f'line {error.place.line}: ' if error.place.line else ''}{error.found}"
    else:
        misfit = _misfit(made[0], dict(used.key.settings), said)
        if misfit is None:
            note = f"Read as the last file of this kind: {listed}. --set says otherwise."
            _credit(made[0], dict(used.key.settings), said)
            return made, replace(used, notes=(note,))
    note = f"It does not fit what was settled for the last file of its kind ({listed}): {misfit} It was read anew."
    return run(said), replace(used, key=None, notes=(note,))


def _credit(way: Way, key: Mapping[str, str], said: Mapping[str, str]) -> None:
    """Guesses that the key decided say so."""
    way.guesses[:] = [
        replace(guess, evidence="as settled for the last file of its kind")
        if guess.evidence == "you said so" and guess.what in key and guess.what not in said
        else guess
        for guess in way.guesses
    ]


def _misfit(way: Way, key: Mapping[str, str], said: Mapping[str, str]) -> str | None:
    """Where a file contradicts its key; None where it fits."""
    if "order" in key and "order" not in said and way.against_order:
        return f"{way.against_order}."
    for one in way.reads:
        for column, decided, _ in one.columns:
            names = {"unit", f"unit.{column.name}"}
            if names & key.keys() and not names & said.keys():
                found = _unit_misfit(one, column, decided)
                if found:
                    return found
    return None


def _unit_misfit(one: Read, column: Column, decided: Decided) -> str | None:
    """The first line whose value cannot be in the key's unit, or states another."""
    stated = stated_units(column, one.section, one.roles.get(Role.UNIT))
    other = np.flatnonzero((stated != NO_UNIT) & (stated != decided.unit) & (column.what == NUMBER))
    number, unit = column.number, decided.unit
    odd = np.flatnonzero(
        (column.what == NUMBER) & (((unit == 0) & (number < SMALL)) | ((unit == 1) & (number > LARGE)))
    )
    if not other.size and (odd.size < 3 and odd.size < 0.02 * max(1, int((column.what == NUMBER).sum()))):
        return None
    row = int(other[0] if other.size else odd[0])
    word = ("mg/dL", "mmol/L")[int(unit[row])]
    how = "is said to be in another unit than" if other.size else "looks like no value in"
    return f"line {one.section.lines[row]}: '{column.cells[row].strip()[:20]}' {how} {word}."

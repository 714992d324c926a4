"""Evenhand's own exports read back: sticks, diary and file keys, exactly as they were written.

Exported readings are a table like any other and are read as one; a ledger holds no values.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from evenhand.clock import Stamp
from evenhand.errors import BadFile, BadTime, BadValue, EvenhandError, Place
from evenhand.intake import columns
from evenhand.intake.ask import Guess
from evenhand.intake.collect import METER_USUAL, UNITS, Collected
from evenhand.intake.names import METER
from evenhand.intake.settings import parse
from evenhand.intake.sticks import Draft
from evenhand.intake.table import Document, blank
from evenhand.intake.way import Task, Way, plain_read
from evenhand.records.diary import Event, EventKind, Mark, MarkKind, Reason, Shown
from evenhand.records.files import Fate, FileKey
from evenhand.units import Beyond, Glucose, parse_glucose, parse_unit

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_Word = TypeVar("_Word", Reason, EventKind, MarkKind)
_KINDS = {"sticks": columns.STICKS, "diary": columns.DIARY, "keys": columns.KEYS, "ledger": columns.LEDGER}


@dataclass(frozen=True, slots=True)
class Export:
    """An export: what it is of, its rows as named cells, and their lines."""

    what: str
    rows: Sequence[Mapping[str, str]]
    lines: Sequence[int]


def kind_of(document: Document) -> Export | None:
    """Which export a document is; None where it is none of those read here."""
    if len(document.tables) != 1:
        return None
    table = document.tables[0]
    if table.names is not None:
        plain = {name.partition(".")[0] for name in table.names}
        what = next((one for one, names in _KINDS.items() if plain == set(names)), None)
        return _export(what, table.names, table.rows, table.lines) if what else None
    if not table.rows:
        return None
    head = tuple(cell.strip() for cell in table.rows[0])
    what = next((one for one, names in _KINDS.items() if head == names), None)
    if what is None:
        return None
    rows = [[_bare(cell) for cell in row] for row in table.rows[1:]]
    return _export(what, head, rows, table.lines[1:])


def _export(what: str, names: Sequence[str], rows: Sequence[Sequence[str]], lines: Sequence[int]) -> Export:
    kept = [(line, row) for line, row in zip(lines, rows, strict=True) if not blank(row)]
    cells = [dict(zip(names, row, strict=False)) for _, row in kept]
    return Export(what, cells, [line for line, _ in kept])


def _bare(cell: str) -> str:
    """A cell without the apostrophe that keeps spreadsheets from taking it for a formula."""
    return cell[1:] if cell[:1] == "'" and cell[1:2] in _FORMULA and cell[1:2] else cell


def take(task: Task, export: Export) -> Way:
    """The records of an export; a row that is none goes aside with its reason."""
    file = task.names.file
    if export.what == "ledger":
        raise BadFile(
            "This is an exported ledger: it says what became of rows and holds no values.",
            "Take in the files themselves, or an export of sticks, diary or keys.",
            Place(file=file),
        )
    if not export.rows:
        raise BadFile(
            f"The export of {export.what} has no rows.", "There is nothing to take in.", Place(file=file)
        )
    texts = [" | ".join(row.values()) for row in export.rows]
    one = plain_read(texts, export.lines)
    way = Way([one], Collected(), None, "the offsets written", lines=True)
    way.guesses.append(Guess("format", f"Evenhand's export of {export.what}", 1.0, "its columns are those"))
    kinds: dict[str, dict[str, str]] = {}
    for place, row in enumerate(export.rows):
        try:
            if export.what == "sticks":
                way.collected.drafts.append(_stick(task, row, place, export.lines[place]))
            elif export.what == "diary":
                way.collected.events.append((0, place, _event(task, row)))
            else:
                _setting(row, kinds)
                one.fates.keep_one(place)
        except EvenhandError as error:
            one.fates.set(place, Fate.SET_ASIDE, error.found)
    held = {(key.kind, key.settings) for key in task.trial.keys}
    made = [(kind, tuple(sorted(settings.items()))) for kind, settings in kinds.items()]
    way.records.extend(
        FileKey(f"{task.file_id}.{number}.key", kind, settings)
        for number, (kind, settings) in enumerate(made)
        if (kind, settings) not in held
    )
    return way


def _stamp(task: Task, text: str) -> Stamp:
    try:
        when = datetime.fromisoformat(text.strip())
    except ValueError:
        raise BadTime(f"'{text[:40]}' is not an exported time.", "Leave it as it was written.") from None
    offset = when.utcoffset()
    if offset is None:
        raise BadTime(f"'{text[:40]}' has no offset.", "Leave it as it was written.")
    instant = int(when.timestamp())
    return Stamp(text.strip(), instant, task.trial.zones.at(instant), int(offset.total_seconds()))


def _stick(task: Task, row: Mapping[str, str], place: int, line: int) -> Draft:
    unit = parse_unit(row["unit"])
    word = row["value"].strip()
    if word in tuple(Beyond):
        beyond = Beyond(word)
        glucose = Glucose(
            METER_USUAL[UNITS.index(unit), 1 if beyond is Beyond.LOW else 2], unit, word, beyond
        )
    else:
        glucose = parse_glucose(word, unit)
    reason = _one(Reason, row["reason"] or "unknown", "reason")
    meter = row.get("meter") or None
    return Draft(
        0, place, None, line, _stamp(task, row["time"]), glucose, reason, reason is not Reason.UNKNOWN,
        tuple(_mark(word) for word in row.get("marks", "").split(";") if word), None, None, False,
        row.get("flag") == "repeat", None if meter == task.trial.header.meter else meter, tuple(_shown(task, row)),
    )  # fmt: skip


def _one(kind: type[_Word], word: str, what: str) -> _Word:
    try:
        return kind(word)
    except ValueError:
        raise BadValue(f"'{word}' is no {what}.", f"Write one of: {', '.join(kind)}.") from None


def _mark(word: str) -> Mark:
    late = word.endswith(columns.SET_LATER)
    return Mark(_one(MarkKind, word.removesuffix(columns.SET_LATER), "mark"), not late)


def _shown(task: Task, row: Mapping[str, str]) -> list[Shown]:
    """What sensors showed: 'Fern=6.0 mmol/L;Slate=...' in one cell, or a cell a sensor in JSON."""
    pairs = [part.rpartition("=")[::2] for part in row.get("shown", "").split(";") if part]
    pairs += [
        (name.removeprefix("shown."), cell)
        for name, cell in row.items()
        if name.startswith("shown.") and cell
    ]
    found = []
    for name, cell in pairs:
        value, _, unit = cell.partition(" ")
        glucose = parse_glucose(value, parse_unit(unit))
        found.append(Shown(task.trial.sensor(name).id, glucose, task.now))
    places = {sensor.id: sensor.place for sensor in task.trial.sensors}
    return sorted(found, key=lambda one: places[one.sensor])


def _event(task: Task, row: Mapping[str, str]) -> Event:
    until = row.get("until", "").strip()
    sensor = row.get("sensor", "").strip()
    return Event(
        next(task.ids), _one(EventKind, row["kind"], "kind of diary entry"), _stamp(task, row["time"]), task.now,
        _stamp(task, until) if until else None, row.get("text", ""),
        task.trial.sensor(sensor).id if sensor and sensor != METER else None,
    )  # fmt: skip


def _setting(row: Mapping[str, str], kinds: dict[str, dict[str, str]]) -> None:
    """One setting of a file key, checked; a row with a kind and no setting makes a key that settles nothing."""
    kind, setting = row.get("kind", "").strip(), row.get("setting", "").strip()
    if not kind:
        raise BadValue("The row names no kind of file.", "Leave the kind as it was written.")
    if setting:
        parse({setting: row.get("value", "")})
        kinds.setdefault(kind, {})[setting] = row.get("value", "")
    else:
        kinds.setdefault(kind, {})

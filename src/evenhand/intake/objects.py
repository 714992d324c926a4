"""JSON to tables: a list of objects, an object that holds lists, JSON lines; nested values get dotted names.

Numbers stay the text they are written as; nothing is converted here.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from evenhand.errors import BadFile, Place
from evenhand.intake import bundle
from evenhand.intake.bounds import MAX_COLUMNS, MAX_DEEP, MAX_JSON
from evenhand.intake.table import Aside, Table

Json: TypeAlias = Any

_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")

TWICE = "\0twice"
"""Stands in an object for the name of a field that it states twice."""

_CURE = "Export the readings as CSV or XLSX and take that in."
_STRING = re.compile(r'"(?:[^"\\]|\\.)*"', re.S)


def like(text: str) -> bool:
    """Whether a text can only be meant as JSON: it begins with an object, or with a list of them.

    >>> like('[{"time": 1}]'), like('{"a": 1}'), like("[mg/dL]; 6.1")
    (True, True, False)
    """
    return re.match(r'\ufeff?\s*(?:\{\s*(?:"|\})|\[\s*(?:[\[{"\d\-]|\]\s*\Z))', text) is not None


def read(text: str, name: str) -> tuple[tuple[Table, ...], str]:
    """The tables of a JSON text, and a sentence on how it was read.

    The line of a row is the number of its entry in its list (of its line, for JSON lines). Raises `BadFile` for
    what is not JSON, is nested too deep, or holds no list of objects.
    """
    place = Place(file=name)
    if len(text) > MAX_JSON:
        raise BadFile(
            f"The JSON has {len(text) // 2**20} million characters; at most {MAX_JSON // 2**20} are read.",
            "Export a shorter span, or CSV.",
            place,
        )
    found = _lines(text, name)
    if found is not None:
        entries, numbers, asides = found
        if bundle.is_observation(entries):
            return (bundle.of_entries(entries, numbers, name, asides),), "each line is an Observation"
        return (_table(None, entries, numbers, "", name, asides),), "each line is a JSON object"
    whole = _parsed(text, place)
    if isinstance(whole, dict) and whole.get("resourceType") in ("Bundle", "Observation"):
        return (bundle.read(whole, name),), f"a FHIR {whole['resourceType']}"
    if isinstance(whole, list) and bundle.is_observation(whole):
        return (bundle.of_entries(whole, range(1, len(whole) + 1), name, ()),), "a list of FHIR Observations"
    lists = list(_lists(whole, ""))
    if not lists:
        raise BadFile("The JSON holds no list of objects, so no rows.", _CURE, place)
    said = "\n".join(_beside(whole, ""))
    tables = tuple(
        _table(path or None, entries, range(1, len(entries) + 1), said, name, ()) for path, entries in lists
    )
    if not any(table.rows for table in tables):
        first = next((aside for table in tables for aside in table.asides), Aside(1, "no entry"))
        raise BadFile(
            f"None of the entries can be read; entry {first.line}: {first.reason}.",
            _CURE,
            Place(file=name, line=first.line),
        )
    where = ", ".join(f"'{path}'" for path, _ in lists if path)
    return tables, f"a JSON list of objects{f' under {where}' if where else ''}"


def _parsed(text: str, place: Place) -> Json:
    deep = _depth(text)
    if deep > MAX_DEEP:
        raise BadFile(f"The JSON is nested {deep} deep; at most {MAX_DEEP} are read.", _CURE, place)
    try:
        return json.loads(text, parse_int=str, parse_float=str, parse_constant=str, object_pairs_hook=_pairs)
    except json.JSONDecodeError as error:
        raise BadFile(
            f"The JSON cannot be read at character {error.colno}: {error.msg.lower()}.",
            "Export it again.",
            Place(file=place.file, line=(place.line or 1) + error.lineno - 1),
        ) from None
    except (RecursionError, ValueError):
        raise BadFile("The JSON is nested too deep or holds a number too long.", _CURE, place) from None


def _pairs(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
    made = dict(pairs)
    if len(made) < len(pairs):
        made[TWICE] = Counter(key for key, _ in pairs).most_common(1)[0][0]
    return made


def _depth(text: str) -> int:
    """How deep brackets are nested outside of strings."""
    bare = _STRING.sub("", text) if text.count("[") + text.count("{") > MAX_DEEP else text
    deepest = now = 0
    for mark in re.findall(r"[\[\]{}]", bare):
        now += 1 if mark in "[{" else -1
        deepest = max(deepest, now)
        if deepest > MAX_DEEP:
            break
    return deepest


def _lines(text: str, name: str) -> tuple[list[Json], list[int], tuple[Aside, ...]] | None:
    """The objects of JSON lines with their lines; None where the text is no JSON lines. A line that is damaged
    goes aside."""
    lines = [(number, line) for number, line in enumerate(re.split(r"\r\n|\r|\n", text), 1) if line.strip()]
    if len(lines) < 2 or not all(line.lstrip("\ufeff ").startswith("{") for _, line in lines[:2]):
        return None
    entries: list[Json] = []
    numbers: list[int] = []
    asides: list[Aside] = []
    for number, line in lines:
        try:
            entry = _parsed(line.lstrip("\ufeff"), Place(file=name, line=number))
        except BadFile as error:
            if not entries:
                return None
            asides.append(Aside(number, f"not a JSON object: {error.found}"))
            continue
        entries.append(entry)
        numbers.append(number)
    return entries, numbers, tuple(asides)


def _lists(value: Json, path: str) -> Iterator[tuple[str, list[Json]]]:
    """Every list of objects (or of lists) outside of other lists, with its dotted path."""
    if isinstance(value, list):
        if sum(isinstance(entry, (dict, list)) for entry in value) > 0.5 * len(value) or (not path and value):
            yield path, value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _lists(inner, f"{path}.{key}" if path else key)


def _beside(value: Json, path: str) -> Iterator[str]:
    """What stands beside the lists, as lines 'name value': a unit or a device may be told there."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if key != TWICE:
                yield from _beside(inner, f"{path}.{key}" if path else key)
    elif not isinstance(value, list) and path:
        yield f"{path} {scalar(value)}"


def scalar(value: Json) -> str:
    """A value without parts as the text it is written as."""
    if value is None:
        return ""
    return ("true" if value else "false") if isinstance(value, bool) else str(value)


@dataclass(slots=True)
class _Grid:
    """Rows that grow columns as names turn up."""

    names: dict[str, int] = field(default_factory=dict)
    rows: list[list[str]] = field(default_factory=list)

    def add(self, cells: dict[str, str]) -> None:
        row = [""] * len(self.names)
        for key, text in cells.items():
            at = self.names.setdefault(key, len(self.names))
            if at >= len(row):
                row.extend([""] * (at + 1 - len(row)))
            row[at] = text
        self.rows.append(row)


def _table(
    path: str | None,
    entries: list[Json],
    numbers: list[int] | range,
    said: str,
    name: str,
    asides: tuple[Aside, ...],
) -> Table:
    """A table of one list; an entry that is no object, or states a field twice, goes aside."""
    grid, lines, aside = _Grid(), [], list(asides)
    head = _head(entries)
    for number, entry in zip(numbers, entries, strict=True):
        if head is not None and entry is entries[0]:
            continue
        cells: dict[str, str] = {}
        trouble = _flat(entry if head is None else _named(head, entry), "", cells)
        if not isinstance(entry, (dict, list)):
            trouble = f"entry {number} is '{scalar(entry)[:40]}', not an object"
        if trouble is None and len(grid.names.keys() | cells.keys()) > MAX_COLUMNS:
            raise BadFile(
                f"Entry {number} brings the fields to more than {MAX_COLUMNS}; so many are read.",
                _CURE,
                Place(file=name, sheet=path, line=number),
            )
        if trouble is not None:
            aside.append(Aside(number, trouble))
            continue
        grid.add(cells)
        lines.append(number)
    width = len(grid.names)
    for row in grid.rows:
        row.extend([""] * (width - len(row)))
    return Table(path, grid.rows, lines, None, tuple(grid.names), said, tuple(aside))


def _head(entries: list[Json]) -> list[str] | None:
    """The names in the first of a list of lists; None where the entries are objects."""
    if not entries or not all(isinstance(entry, list) for entry in entries):
        return None
    first = [scalar(cell) for cell in entries[0] if not isinstance(cell, (dict, list))]
    named = len(first) == len(entries[0]) and all(re.match(r"[^\W\d]", cell) for cell in first)
    return first if named else None


def _named(head: list[str], entry: Json) -> Json:
    if not isinstance(entry, list):
        return entry
    return {head[at] if at < len(head) else f"column {at + 1}": cell for at, cell in enumerate(entry)}


def _flat(value: Json, path: str, into: dict[str, str]) -> str | None:
    """Fill dotted names and texts; a sentence where a field stands twice."""
    if isinstance(value, dict):
        if TWICE in value:
            return f"the field '{f'{path}.' if path else ''}{value[TWICE]}' stands in it twice"
        if not value and path:
            into[path] = ""
        named = [(_CAMEL.sub(" ", key), inner) for key, inner in value.items()]
        parts = [(f"{path}.{key}" if path else key, inner) for key, inner in named]
    elif isinstance(value, list):
        if path and all(not isinstance(inner, (dict, list)) for inner in value):
            into[path] = ";".join(scalar(inner) for inner in value)
            return None
        parts = [(f"{path}.{at}" if path else f"column {at}", inner) for at, inner in enumerate(value, 1)]
    else:
        into[path] = scalar(value)
        return None
    troubles = [_flat(inner, key, into) for key, inner in parts]
    return next((trouble for trouble in troubles if trouble), None)

"""JSON to tables: lists of objects, lines of objects, and FHIR Bundles. A row's line is its entry, counted from 1."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

from evenhand.errors import BadFile, Place
from evenhand.intake import observations
from evenhand.intake.bounds import MAX_COLUMNS
from evenhand.intake.table import Table

MAX_DEPTH = 6
"""How deep lists of entries are looked for, and how deep an entry may be."""
_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")
_CURE = "Export the readings as CSV, or as a JSON list of objects."


class _Twice(ValueError):
    """An object says the same name twice."""


def tables(text: str, name: str) -> tuple[Table, ...] | None:
    """The tables in a JSON text; None where the text is no JSON at all.

    Numbers stay as they are written. Raises `BadFile` for JSON that breaks off, says a name twice in one object, is too
    deep, or holds no list of objects.

    >>> tables('[{"when": "2026-03-01T07:42", "glucoseValue": 6.10}]', "a.json")[0].rows
    [['when', 'glucose Value'], ['2026-03-01T07:42', '6.10']]
    """
    start = text.lstrip()[:1]
    if start not in ("[", "{"):
        return None
    try:
        held = _load(text)
    except json.JSONDecodeError as error:
        if start == "[" and not re.match(r"\s*\[\s*[\[{\]\"\d]", text):
            return None
        raise BadFile(
            f"The JSON cannot be read: {error.msg.lower()}.",
            "Export it again, whole.",
            Place(name, line=error.lineno),
        ) from None
    except _Twice as error:
        raise BadFile(f"The JSON says '{error}' twice in one object.", _CURE, Place(name)) from None
    except RecursionError:
        raise BadFile("The JSON is nested too deep.", _CURE, Place(name)) from None
    if observations.is_bundle(held):
        return (observations.table(held, name),)
    found = tuple(_table(path, entries, name) for path, entries in _lists(held, "", MAX_DEPTH))
    if not found:
        raise BadFile("The JSON holds no list of objects.", _CURE, Place(name))
    return found


def _load(text: str) -> object:
    """The value of a text, or the list of values of its lines."""

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        made = dict(pairs)
        if len(made) != len(pairs):
            names = [name for name, _ in pairs]
            raise _Twice(next(name for name in names if names.count(name) > 1))
        return made

    def read(part: str) -> object:
        return json.loads(part, parse_float=str, parse_int=str, parse_constant=str, object_pairs_hook=once)

    try:
        return read(text)
    except json.JSONDecodeError as error:
        lines = [line for line in text.splitlines() if line.strip()]
        if error.msg != "Extra data" or not all(line.lstrip().startswith("{") for line in lines):
            raise
    return [read(line) for line in lines]


def _lists(held: object, path: str, depth: int) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """Every list of objects, with the dotted name of where it stands ('' at the top)."""
    if isinstance(held, list) and held and all(isinstance(one, dict) for one in held):
        yield path, held
    elif isinstance(held, dict) and depth > 0:
        for name, value in held.items():
            yield from _lists(value, f"{path}.{name}" if path else name, depth - 1)


def _table(path: str, entries: list[dict[str, Any]], name: str) -> Table:
    flat = []
    for number, entry in enumerate(entries, 1):
        cells = dict(_flat(entry, "", MAX_DEPTH, Place(name, path or None, number)))
        flat.append(cells)
    names = tuple(dict.fromkeys(key for cells in flat for key in cells))
    if len(names) > MAX_COLUMNS:
        raise BadFile(
            f"The entries have {len(names)} names; at most {MAX_COLUMNS} are read.", _CURE, Place(name)
        )
    rows = [
        [_CAMEL.sub(" ", key) for key in names],
        *([cells.get(key, "") for key in names] for cells in flat),
    ]
    return Table(path or None, rows, range(len(rows)))


def _flat(held: object, path: str, depth: int, place: Place) -> Iterator[tuple[str, str]]:
    """The values of an entry by dotted name."""
    if isinstance(held, dict | list) and depth == 0:
        raise BadFile("An entry is nested too deep.", _CURE, place)
    if isinstance(held, dict):
        for name, value in held.items():
            yield from _flat(value, f"{path}.{name}" if path else name, depth - 1, place)
    elif isinstance(held, list):
        if all(not isinstance(one, dict | list) for one in held):
            yield path, "; ".join(_word(one) for one in held)
        else:
            for number, value in enumerate(held):
                yield from _flat(value, f"{path}.{number}", depth - 1, place)
    else:
        yield path, _word(held)


def _word(held: object) -> str:
    if held is None:
        return ""
    return str(held).lower() if isinstance(held, bool) else str(held)

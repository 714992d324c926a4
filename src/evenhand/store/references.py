"""Which records name which others, so that nothing is taken away that something else stands on."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping

from evenhand.store.state import BatchLine, Version

NAMING = frozenset(("sensor", "into", "file", "replaces", "of", "pair"))
"""The fields, of whatever record, that hold ids of other records."""


def named_in(plain: object) -> Iterator[str]:
    """Every id that a record, as parsed JSON, names.

    >>> sorted(named_in({"id": "x", "shown": [{"sensor": "a"}], "into": None, "pair": ["b", "c"], "of": "meter"}))
    ['a', 'b', 'c']
    """
    if isinstance(plain, list):
        for part in plain:
            yield from named_in(part)
    elif isinstance(plain, dict):
        for name, value in plain.items():
            if name == "must_haves":  # says sensors as the wearer does
                continue
            if name in NAMING:
                parts = value if isinstance(value, list) else [value]
                yield from (part for part in parts if isinstance(part, str) and part != "meter")
            else:
                yield from named_in(value)


def named_by(version: Version, lines: Mapping[str, BatchLine]) -> frozenset[str]:
    """Every id that a version names; of a batch its file and sensor."""
    if version.kind == "batch":
        return frozenset((lines[version.id].file, lines[version.id].sensor))
    return frozenset(named_in(json.loads(version.body))) if version.body else frozenset()


def loose(
    now: Mapping[str, Version], lines: Iterable[BatchLine], there: Mapping[str, Version] | None = None
) -> set[tuple[str, str]]:
    """Pairs (id, id it names) of what is in `now`, where the second does not hold (is not in `there`,
    by default `now` itself)."""
    by_id = {line.id: line for line in lines}
    known = now if there is None else there
    return {
        (name, other)
        for name, version in now.items()
        for other in named_by(version, by_id)
        if other not in known
    }

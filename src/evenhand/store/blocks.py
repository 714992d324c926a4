"""Readings in bulk: arrays to rows and back, their content hash, and batches merged in time order.

The one module of the store that needs numpy; it is imported only where readings are read or written.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterable, Iterator

import numpy as np

from evenhand.records.readings import Batch, Readings
from evenhand.store.state import BatchLine

_CHUNK = 20_000
_INSERT = 'INSERT INTO reading (number, instant, "offset", value, mmol, flag, line, text) VALUES (?, ?, ?, ?, ?, ?, ?, ?)'
_SELECT = 'SELECT instant, "offset", value, mmol, flag, line, text FROM reading WHERE number >= ? AND number < ? ORDER BY number'


def content_hash(readings: Readings) -> str:
    """SHA-256 of what the readings are: every column, little end first, and the texts as recorded."""
    made = hashlib.sha256()
    for column, form in (
        (readings.instant, "<i8"),
        (readings.offset, "<i4"),
        (readings.value, "<f8"),
        (readings.mmol, "u1"),
        (readings.flag, "i1"),
        (readings.line, "<i4"),
    ):
        made.update(np.ascontiguousarray(column.astype(form, copy=False)).tobytes())
    encoded = {text: text.encode("utf-8", "surrogatepass") for text in set(readings.text)}
    texts = readings.text
    made.update(np.fromiter((len(encoded[text]) for text in texts), "<i4", len(texts)).tobytes())
    for start in range(0, len(texts), _CHUNK):
        made.update(b"".join(encoded[text] for text in texts[start : start + _CHUNK]))
    return made.hexdigest()


def insert(connection: sqlite3.Connection, batch: Batch, change: int) -> None:
    """Writes one batch; its readings keep their order."""
    readings = batch.readings
    (first,) = connection.execute("SELECT coalesce(max(number), 0) + 1 FROM reading").fetchone()
    connection.execute(
        "INSERT INTO batch (id, change, file, sheet, sensor, first, rows, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (
            batch.id,
            change,
            batch.file,
            batch.sheet,
            batch.sensor,
            first,
            len(readings),
            content_hash(readings),
        ),
    )
    for start in range(0, len(readings), _CHUNK):
        connection.executemany(_INSERT, _columns(readings, first, start, min(start + _CHUNK, len(readings))))


def _columns(readings: Readings, first: int, start: int, end: int) -> Iterator[tuple[object, ...]]:
    """The rows of the table for readings [start, end)."""
    part = slice(start, end)
    return zip(
        range(first + start, first + end),
        readings.instant[part].tolist(),
        readings.offset[part].tolist(),
        readings.value[part].tolist(),
        readings.mmol[part].astype(np.int8).tolist(),
        readings.flag[part].tolist(),
        readings.line[part].tolist(),
        readings.text[part],
        strict=True,
    )


def load(connection: sqlite3.Connection, line: BatchLine) -> Readings:
    """The readings of one batch, in the order they were written."""
    found = connection.execute(_SELECT, (line.first, line.first + line.rows)).fetchall()
    if not found:
        return Readings.none()
    instant, offset, value, mmol, flag, rows, text = zip(*found, strict=True)
    return Readings(
        np.array(instant, np.int64),
        np.array(offset, np.int32),
        np.array(value, np.float64),
        np.array(mmol, np.bool_),
        np.array(flag, np.int8),
        np.array(rows, np.int32),
        text,
    )


def merged(parts: Iterable[tuple[str, Readings]]) -> Readings:
    """One sensor's batches, as (content hash, readings), in time order.

    Readings of one instant stand in the order of their batches' hashes, then as they were written: never in
    the order in which the batches came.
    """
    ordered = [readings for _, readings in sorted(parts, key=lambda part: part[0])]
    if not ordered:
        return Readings.none()
    joined = ordered[0] if len(ordered) == 1 else _joined(ordered)
    if bool((np.diff(joined.instant) >= 0).all()):
        return joined
    order = np.argsort(joined.instant, kind="stable")
    text = joined.text
    return Readings(
        joined.instant[order],
        joined.offset[order],
        joined.value[order],
        joined.mmol[order],
        joined.flag[order],
        joined.line[order],
        tuple([text[place] for place in order.tolist()]),
    )


def _joined(parts: list[Readings]) -> Readings:
    return Readings(
        np.concatenate([part.instant for part in parts]),
        np.concatenate([part.offset for part in parts]),
        np.concatenate([part.value for part in parts]),
        np.concatenate([part.mmol for part in parts]),
        np.concatenate([part.flag for part in parts]),
        np.concatenate([part.line for part in parts]),
        tuple([text for part in parts for text in part.text]),
    )

"""The same file taken in again, read another way: what the first reading brought is replaced, never kept beside it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from evenhand.records.diary import Event, Stick
from evenhand.records.files import SourceFile
from evenhand.records.readings import Batch, Readings
from evenhand.records.trial import Trial
from evenhand.store import file as store

REREADS = ("shift", "zone", "order", "unit", "decimal", "time", "date", "value")
"""Settings that make other readings of the same rows. (`of` does not: the same file of another device adds to it.)"""


def without_earlier(
    path: Path, trial: Trial, data: bytes, settings: Mapping[str, str]
) -> tuple[Trial, tuple[str, ...]]:
    """The trial without what the very same file brought when it was read another way, and the ids that stood for it.

    The trial itself and no ids where the file is new, or was read as it is to be read now. Undoing the change that replaces them brings
    them back.
    """
    sha256 = hashlib.sha256(data).hexdigest()
    earlier = [one for one in trial.files if one.sha256 == sha256 and _reads_otherwise(one, settings)]
    if not earlier:
        return trial, ()
    gone = {one.id for one in earlier}
    batches = store.batches(path)
    sticks = tuple(stick for stick in trial.sticks if not _from(stick, gone))
    events = tuple(event for event in trial.events if not _from(event, gone))
    every: tuple[Stick | Event, ...] = (*trial.sticks, *trial.events)
    records = [record for record in every if _from(record, gone)]
    ids = (*(batch.id for batch in batches if batch.file in gone), *(record.id for record in records), *gone)
    left = replace(
        trial, sticks=sticks, events=events, files=tuple(one for one in trial.files if one.id not in gone),
        readings=_readings([batch for batch in batches if batch.file not in gone]),
    )  # fmt: skip
    return left, ids


def _reads_otherwise(file: SourceFile, settings: Mapping[str, str]) -> bool:
    """Whether something was said now that was not said then, and that reads the rows another way."""
    then = dict(file.settings)
    return any(key in settings and settings[key] != then.get(key) for key in REREADS)


def _from(record: Stick | Event, files: set[str]) -> bool:
    return record.source is not None and record.source.file in files


def _readings(batches: Sequence[Batch]) -> dict[str, Readings]:
    """The readings of batches, by sensor, in time order."""
    found = {}
    for sensor in dict.fromkeys(batch.sensor for batch in batches):
        parts = [batch.readings for batch in batches if batch.sensor == sensor]
        order = np.argsort(np.concatenate([part.instant for part in parts]), kind="stable")
        texts = [text for part in parts for text in part.text]
        found[sensor] = Readings(
            np.concatenate([part.instant for part in parts])[order],
            np.concatenate([part.offset for part in parts])[order],
            np.concatenate([part.value for part in parts])[order],
            np.concatenate([part.mmol for part in parts])[order],
            np.concatenate([part.flag for part in parts])[order],
            np.concatenate([part.line for part in parts])[order],
            tuple(texts[place] for place in order.tolist()),
        )
    return found

"""Invented trials as trial files, for benchmarks."""

from __future__ import annotations

from pathlib import Path

from evenhand.records.change import Change
from evenhand.records.files import SourceFile
from evenhand.records.readings import Batch
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import World
from evenhand.store import file as store


def save(world: World, seed: int, path: Path) -> None:
    """Write an invented trial to a new trial file, as one change after the one that makes it."""
    trial = invent(world, seed).trial
    at = trial.header.made
    store.create(path, trial.header, Change("made", at, records=trial.sensors))
    batches, files = [], []
    for sensor, readings in trial.readings.items():
        files.append(SourceFile(f"file-{sensor}", f"{sensor}.csv", "0" * 64, 0, sensor, at, len(readings)))
        batches.append(Batch(f"batch-{sensor}", f"file-{sensor}", None, sensor, readings))
    records = (*trial.wears, *trial.sticks, *trial.events, *files)
    store.write(path, Change("taken in", at, records=(*records, trial.question), batches=tuple(batches)))

"""Inventing a trial whose truth is known: as a trial file, as the files its wearer would have, and the truth."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from evenhand.desk.folders import fresh_folder
from evenhand.desk.now import Now
from evenhand.desk.rehearsal import RehearsalSaid
from evenhand.desk.replacing import replace_file
from evenhand.errors import BadValue
from evenhand.records.change import Change, Record
from evenhand.records.files import SourceFile
from evenhand.records.readings import Batch
from evenhand.rehearse.files import write_files
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain
from evenhand.rehearse.truth import Invented, SensorTruth
from evenhand.store import file as store

MOST_DAYS, MOST_STICKS = 365, 48


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """Where the invented trial lies, the folder of its messy files, the file of its truth, and its seed."""

    trial: Path
    files: Path
    truth: Path
    seed: int


def rehearse(folder: Path, said: RehearsalSaid, now: Now) -> Rehearsed:
    """Invent a trial and write it into a fresh folder; `BadValue` for what cannot be worn or pricked."""
    if not 1 <= said.days <= MOST_DAYS:
        raise BadValue(f"{said.days} days cannot be rehearsed.", f"Give 1 to {MOST_DAYS}.")
    if not 1 <= said.wears <= said.days:
        raise BadValue(
            f"{said.wears} wears in {said.days} days cannot be rehearsed.", "Give at most one a day."
        )
    if not 0 < said.sticks <= MOST_STICKS:
        raise BadValue(f"{said.sticks:g} sticks a day cannot be rehearsed.", f"Give up to {MOST_STICKS}.")
    seed = now.seed() if said.seed is None else said.seed
    if not 0 <= seed < 2**53:
        raise BadValue(f"{seed} cannot be a seed.", "Give a whole number from 0 up, at most 15 digits.")
    invented = invent(plain(said.days, said.wears, said.sticks), seed)
    made = fresh_folder(folder)
    written = write_files(invented, made / "files")
    trial = made / written.trial_file
    store_invented(invented, trial)
    truth = made / "truth.json"
    replace_file(truth, (json.dumps(truth_of(invented), indent=1) + "\n").encode(), now)
    return Rehearsed(trial, made / "files", truth, seed)


def store_invented(invented: Invented, path: Path) -> None:
    """Write an invented trial as a trial file, its readings as if they had come from one file a sensor."""
    trial = invented.trial
    at = trial.header.made
    header = replace(trial.header, name=path.stem)
    store.create(path, header, Change("invented the trial", at, trial.sensors))
    files: list[SourceFile] = []
    batches: list[Batch] = []
    for sensor in trial.sensors:
        readings = trial.readings.get(sensor.id)
        if readings is None or not len(readings):
            continue
        digest = hashlib.sha256(readings.instant.tobytes() + readings.value.tobytes()).hexdigest()
        name = f"{sensor.id}-readings"
        files.append(
            SourceFile(name, f"invented readings of {sensor.name}", digest, 0, sensor.id, at, len(readings))
        )
        batches.append(Batch(f"{sensor.id}-batch", name, None, sensor.id, readings))
    records: tuple[Record, ...] = (*trial.wears, *trial.sticks, *trial.events, trial.question, *files)
    store.write(path, Change("invented its records", at, records, tuple(batches)))


def truth_of(invented: Invented) -> dict[str, object]:
    """What is true of an invented trial, for a file: what each sensor's error against this meter is expected
    to be over every minute it was worn and read (mg/dL), the lag (minutes) and the meter's own error."""
    truth, meter = invented.truth, invented.world.meter
    return {
        "world": invented.world.name,
        "seed": invented.seed,
        "unit": "mg/dL",
        "lag_minutes": truth.lag,
        "meter": {"sd_percent": 100 * meter.sd, "bias_percent": 100 * meter.bias},
        "sensors": {sensor.name: _errors(invented, sensor) for sensor in truth.sensors},
    }


def _errors(invented: Invented, sensor: SensorTruth) -> dict[str, float | int | None]:
    truth = invented.truth
    worn = np.isfinite(sensor.series)
    at, series = truth.at[worn], sensor.series[worn]
    if not series.size:
        return {"expected_mad": None, "expected_bias": None, "wears": len(sensor.wears), "strays": 0}
    return {
        "expected_mad": float(np.mean(truth.expected_abs_error(at, series))),
        "expected_bias": float(np.mean(truth.expected_error(at, series))),
        "wears": len(sensor.wears),
        "strays": len(sensor.strays),
    }

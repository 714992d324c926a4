"""A file that was said to be one device's and looks like another's: asked before it is taken in, never let through with --yes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from evenhand.clock import MINUTE
from evenhand.intake.ask import Asked
from evenhand.intake.settings import Settings
from evenhand.intake.sticks import Draft
from evenhand.records.readings import Batch
from evenhand.records.trial import Trial

SPARSE, DENSE = 100 * MINUTE, 16 * MINUTE
"""Readings further apart than any sensor keeps them; fingersticks closer than anybody takes them (common practice, no source)."""
FEW_READINGS, MANY_STICKS = 24, 100
HELD_SHARE, HELD_LEAST = 0.5, 20


def ask(
    batches: Sequence[Batch], drafts: Sequence[Draft], trial: Trial, settings: Settings
) -> Iterator[Asked]:
    """What a person has to confirm with `sure=yes`, or to say otherwise with `of=`."""
    if (settings.get("sure") or "").casefold() == "yes":
        return
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    for batch in batches:
        name = names[batch.sensor]
        for other, count in _held_for(batch, trial):
            yield _asked(
                "held-for-another",
                f"{count} of these {len(batch.readings)} readings are held already for {names[other]}. Is this really {name}'s file?",
            )
        step = _step([batch.readings.instant])
        if len(batch.readings) >= FEW_READINGS and step > SPARSE:
            yield _asked(
                "sparse-readings",
                f"One reading every {step // MINUTE} min: this looks like fingersticks, not like {name}.",
            )
    times = np.array([draft.at.instant for draft in drafts if draft.of_meter], np.int64)
    if times.size >= MANY_STICKS and _step([times]) < DENSE:
        yield _asked(
            "dense-sticks",
            f"{times.size} fingersticks, one every {_step([times]) // MINUTE} min: this looks like a sensor's file.",
        )


def _asked(code: str, text: str) -> Asked:
    return Asked(code, text, ("yes",), "sure=yes")


def _step(parts: list[np.ndarray[tuple[int], np.dtype[np.int64]]]) -> int:
    """The median step between neighbours, seconds; 0 with fewer than two."""
    times = np.sort(np.concatenate(parts))
    return int(np.median(np.diff(times))) if times.size > 1 else 0


def _held_for(batch: Batch, trial: Trial) -> Iterator[tuple[str, int]]:
    """Other sensors that hold most of these readings already: the same instants with the same values."""
    own = batch.readings
    for other, held in trial.readings.items():
        if other == batch.sensor or not len(held):
            continue
        place = np.clip(np.searchsorted(held.instant, own.instant), 0, len(held) - 1)
        same = (held.instant[place] == own.instant) & (np.abs(held.mg_dl[place] - own.mg_dl) < 0.5)
        count = int(same.sum())
        if count >= HELD_LEAST and count >= HELD_SHARE * len(own):
            yield other, count

"""What of a file is new to the trial: readings, sticks and diary entries become records, the rest is doubled."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from evenhand.intake import sticks
from evenhand.intake.ask import Asked
from evenhand.intake.collect import Block, Collected, Context
from evenhand.intake.merge import DOUBLED, NEW, OTHER_VALUE, Entries, sort_out
from evenhand.intake.names import METER
from evenhand.intake.reading import Read
from evenhand.intake.sticks import Draft
from evenhand.intake.words import Role
from evenhand.records.change import Record
from evenhand.records.diary import Event, EventKind, Row, Stick
from evenhand.records.files import Fate
from evenhand.records.readings import Batch, Readings
from evenhand.records.trial import Trial


@dataclass(slots=True)
class Settled:
    """Records and batches to write, questions, and what was counted: `doubled` per owner."""

    records: list[Record] = field(default_factory=list)
    batches: list[Batch] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)
    new_drafts: list[Draft] = field(default_factory=list)
    doubled: dict[str, int] = field(default_factory=lambda: defaultdict(int))


def settle(collected: Collected, reads: list[Read], trial: Trial, context: Context) -> Settled:
    """Hold everything collected against the trial; each row gets its fate."""
    made = Settled()
    sensors = dict.fromkeys(block.sensor for block in collected.blocks)
    for sensor in sensors:
        blocks = [block for block in collected.blocks if block.sensor == sensor]
        _readings(blocks, sensor, reads, trial.readings.get(sensor), made, context)
    _sticks(collected, reads, trial, made, context)
    _events(collected, reads, trial, made, context)
    return made


def _readings(
    blocks: list[Block],
    sensor: str,
    reads: list[Read],
    held: Readings | None,
    made: Settled,
    context: Context,
) -> None:
    """All blocks of one sensor together, so that rows of one sheet can double those of another."""
    joined = Entries(
        np.concatenate([block.entries.instant for block in blocks]),
        np.concatenate([block.entries.value for block in blocks]),
        np.concatenate([block.entries.mmol for block in blocks]),
        np.concatenate([block.entries.flag for block in blocks]),
    )
    outcome, meets = sort_out(joined, held)
    starts = np.cumsum([0, *(block.rows.size for block in blocks)])
    for block, start, end in zip(blocks, starts[:-1].tolist(), starts[1:].tolist(), strict=True):
        own = outcome[start:end]
        fates = reads[block.section].fates
        if (own == NEW).any():
            fates.keep(block.rows[own == NEW])
            made.batches.append(_batch(block, own == NEW, reads[block.section], sensor, context))
        twice = (own == DOUBLED) & (meets[start:end] < 0)
        fates.double(block.rows[twice], "held already: the same time and value")
        made.doubled[sensor] += int((own == DOUBLED).sum())
        for at in np.flatnonzero((own != NEW) & ~twice).tolist():
            meet = int(meets[start + at])
            what = _met(meet, blocks, starts, reads, held)
            if own[at] == OTHER_VALUE:
                fates.set(
                    int(block.rows[at]),
                    Fate.SET_ASIDE,
                    f"another value ({block.texts[at]}) at the time of {what}, which stays",
                )
            else:
                fates.set(int(block.rows[at]), Fate.DOUBLED, f"the same time and value as {what}")


def _met(
    meet: int, blocks: list[Block], starts: NDArray[np.int64], reads: list[Read], held: Readings | None
) -> str:
    """What a reading meets, for a person: a line of this file with its value, or a reading held already."""
    if meet < 0:
        assert held is not None
        return f"a reading held already ({held.text[-1 - meet]})"
    which = int(np.searchsorted(starts, meet, side="right")) - 1
    block = blocks[which]
    at = meet - int(starts[which])
    return f"line {reads[block.section].section.lines[int(block.rows[at])]} ({block.texts[at]})"


def _batch(block: Block, new: NDArray[np.bool_], one: Read, sensor: str, context: Context) -> Batch:
    places = np.flatnonzero(new)
    order = places[np.argsort(block.entries.instant[places], kind="stable")]
    lines = np.asarray(one.section.lines, np.int32)[block.rows[order]]
    entries = block.entries
    readings = Readings(
        entries.instant[order], block.offset[order], entries.value[order], entries.mmol[order], entries.flag[order], lines,
        tuple(block.texts[at] for at in order.tolist()),
    )  # fmt: skip
    return Batch(next(context.ids), context.file, one.section.sheet, sensor, readings)


def _sticks(collected: Collected, reads: list[Read], trial: Trial, made: Settled, context: Context) -> None:
    meter_files = frozenset(file.id for file in trial.files if file.of == METER)
    sorted_out = sticks.sort_out(collected.drafts, trial.sticks, meter_files, context.settings)
    made.asked += sorted_out.asked
    made.new_drafts += sorted_out.new
    for draft in sorted_out.new:
        one = reads[draft.section]
        one.fates.keep(np.array([draft.row]))
        made.records.append(_stick(draft, trial, context))
        note = one.cell(Role.NOTE, draft.row)
        if note:
            row = Row(context.file, draft.sheet, draft.line)
            made.records.append(
                Event(next(context.ids), EventKind.OTHER, draft.at, context.now, None, note, None, row)
            )
    for draft, reason in sorted_out.doubled:
        reads[draft.section].fates.set(draft.row, Fate.DOUBLED, reason)
        made.doubled[METER] += 1
    for stick, draft in sorted_out.amended:
        made.records.append(replace(stick, reason=draft.reason, stated=True, into=draft.into))
    waiting = {(draft.section, draft.row) for draft in collected.drafts} - {
        (draft.section, draft.row) for draft in (*sorted_out.new, *(draft for draft, _ in sorted_out.doubled))
    }
    for section, place in waiting:
        reads[section].fates.set(place, Fate.WAITING, "may be a stick you typed before: asked")


def _stick(draft: Draft, trial: Trial, context: Context) -> Stick:
    """The stick of a draft. Its marks are early only where no readings of that time had been taken in."""
    at = draft.at.instant
    known = any(len(held) and held.instant[0] <= at <= held.instant[-1] for held in trial.readings.values())
    marks = tuple(replace(mark, early=not known) for mark in draft.marks)
    return Stick(
        next(context.ids), draft.at, draft.glucose, draft.reason, context.now, draft.stated, None, draft.lot, marks,
        into=draft.into, source=Row(context.file, draft.sheet, draft.line),
    )  # fmt: skip


def _events(collected: Collected, reads: list[Read], trial: Trial, made: Settled, context: Context) -> None:
    """Diary entries: the same kind, minute, text and sensor is the same entry."""
    held = {_key(event) for event in trial.events}
    for section, row, event in collected.events:
        fates = reads[section].fates
        if _key(event) in held:
            fates.set(row, Fate.DOUBLED, f"the diary's entry of {event.start.iso}")
            made.doubled["diary"] += 1
            continue
        held.add(_key(event))
        fates.keep(np.array([row]))
        where = reads[section].section
        made.records.append(replace(event, source=Row(context.file, where.sheet, where.lines[row])))


def _key(event: Event) -> tuple[EventKind, int, str, str | None]:
    return event.kind, event.start.instant // 60, event.text, event.sensor

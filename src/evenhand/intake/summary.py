"""A file in figures for a person: first rows as read, counts, spans, gaps, units."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence

import numpy as np

from evenhand.clock import Stamp, wall_of
from evenhand.intake.collect import Collected
from evenhand.intake.ledger import Ledger
from evenhand.intake.names import METER, Names
from evenhand.intake.proposal import Part, RowRead
from evenhand.intake.reading import Read
from evenhand.intake.settle import Settled
from evenhand.intake.values import BARE_HIGH, BARE_LOW, NUMBER
from evenhand.records.diary import Event, Stick
from evenhand.records.files import Fate
from evenhand.records.readings import Batch
from evenhand.records.trial import Trial
from evenhand.units import Beyond, Unit

FIRST_ROWS = 5
MOST_GAPS = 10


def count(ledger: Ledger) -> dict[Fate, int]:
    """How many rows have each fate; the sum is the number of rows."""
    return {fate: ledger.count(fate) for fate in Fate}


def first_rows(reads: Sequence[Read], names: Names) -> tuple[RowRead, ...]:
    """The first rows of each table, with what was understood."""
    return tuple(
        RowRead(
            one.section.sheet,
            one.section.lines[row],
            tuple(column[row] for column in one.section.columns),
            _understood(one, row, names),
        )
        for one in reads
        for row in range(min(FIRST_ROWS, len(one.section.lines)))
    )


def _understood(one: Read, row: int, names: Names) -> str:
    if one.placed.state[row] != 0:
        return "no time"
    wall = wall_of(int(one.placed.instant[row]), int(one.placed.offset[row]))
    parts = [f"{wall:%a %Y-%m-%d %H:%M:%S}".removesuffix(":00")]
    for column, decided, owner in one.columns:
        if column.what[row] not in (NUMBER, BARE_LOW, BARE_HIGH):
            continue
        unit = ("mg/dL", "mmol/L", "unit not known")[int(decided.unit[row])]
        beyond = ("", "at most ", "at least ")[int(column.flag[row])]
        value = "the limit" if np.isnan(column.number[row]) else f"{column.number[row]:g} {unit}"
        parts.append(f"{beyond}{value}" + (f" ({names.shown(owner)})" if owner is not None else ""))
    return ", ".join(parts)


def first_lines(one: Read, collected: Collected) -> tuple[RowRead, ...]:
    """The first rows of lines that are no table, with the stick, the entry or the fate each became."""
    told = {row: f"{_moment(event.start)}, {event.kind}" for _, row, event in collected.events}
    for draft in collected.drafts:
        words = [f"{_moment(draft.at)}, {draft.glucose}", *(mark.kind for mark in draft.marks)]
        words += [draft.reason] if draft.stated else []
        told[draft.row] = ", ".join(words)
    reasons, why = one.fates.reasons(), one.fates.why()
    lines = one.section.lines
    return tuple(
        RowRead(
            None,
            lines[row],
            (one.section.columns[0][row],),
            told.get(row) or reasons[int(why[row])] or "kept",
        )
        for row in range(min(FIRST_ROWS, len(lines)))
    )


def _moment(stamp: Stamp) -> str:
    return f"{stamp.wall:%a %Y-%m-%d %H:%M:%S}".removesuffix(":00")


def parts(settled: Settled, trial: Trial, names: Names) -> tuple[Part, ...]:
    """What the file holds for each owner: sensors in the trial's order, then the meter, then the diary."""
    made = []
    by_sensor: dict[str, list[Batch]] = defaultdict(list)
    for batch in settled.batches:
        by_sensor[batch.sensor].append(batch)
    for sensor, name in names.sensors.items():
        if by_sensor[sensor] or settled.doubled.get(sensor):
            made.append(_sensor_part(name, by_sensor[sensor], settled.doubled.get(sensor, 0), trial))
    for owner, kind in ((METER, Stick), ("diary", Event)):
        records = [record for record in settled.records if isinstance(record, kind)]
        if records or settled.doubled.get(owner):
            made.append(_record_part(owner, records, settled.doubled.get(owner, 0)))
    return tuple(made)


def _sensor_part(name: str, batches: Sequence[Batch], doubled: int, trial: Trial) -> Part:
    if not batches:
        return Part(name, 0, doubled, None, None, None, (), {}, 0, 0)
    parts = [batch.readings for batch in batches]
    instant, mmol, flag = parts[0].instant, parts[0].mmol, parts[0].flag
    if len(parts) > 1:
        instant = np.sort(np.concatenate([part.instant for part in parts]))
        mmol = np.concatenate([part.mmol for part in parts])
        flag = np.concatenate([part.flag for part in parts])
    steps = np.diff(instant)
    step = int(np.median(steps)) if steps.size else None
    gaps: list[tuple[int, int]] = []
    if step:
        wide = np.flatnonzero(steps > 3 * step)
        longest = wide[np.argsort(-steps[wide], kind="stable")][:MOST_GAPS]
        gaps = [(int(instant[at]), int(instant[at + 1])) for at in longest.tolist()]
    units = {
        str(unit): total
        for unit, total in ((Unit.MG_DL, int((~mmol).sum())), (Unit.MMOL_L, int(mmol.sum())))
        if total
    }
    first, last = (trial.zones.stamp(int(instant[at])) for at in (0, -1))
    return Part(
        name,
        int(instant.size),
        doubled,
        first,
        last,
        step,
        tuple(gaps),
        units,
        int((flag == 1).sum()),
        int((flag == 2).sum()),
    )


def _record_part(owner: str, records: Sequence[Stick | Event], doubled: int) -> Part:
    stamps = sorted((_when(record) for record in records), key=lambda stamp: stamp.instant)
    values = [record.glucose for record in records if isinstance(record, Stick)]
    units = dict(Counter(str(value.unit) for value in values))
    low, high = (_beyond(values, side) for side in (Beyond.LOW, Beyond.HIGH))
    return Part(
        owner,
        len(records),
        doubled,
        stamps[0] if stamps else None,
        stamps[-1] if stamps else None,
        None,
        (),
        units,
        low,
        high,
    )


def _when(record: Stick | Event) -> Stamp:
    return record.at if isinstance(record, Stick) else record.start


def _beyond(values: Iterable[object], side: Beyond) -> int:
    return sum(1 for value in values if getattr(value, "beyond", None) is side)

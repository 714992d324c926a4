"""A small trial and shorthands for the tests of intake."""

import itertools
from collections.abc import Iterator

from evenhand.clock import ZoneOrigin
from evenhand.intake.proposal import Proposal
from evenhand.intake.propose import propose
from evenhand.records.change import Change
from evenhand.records.diary import Event, Stick
from evenhand.records.files import SourceFile
from evenhand.records.readings import Readings
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Header, Trial
from evenhand.units import Unit

NOW = 1_780_315_200
"""2026-06-01T12:00:00Z."""


def a_trial(zone: str = "Europe/Berlin", **parts) -> Trial:
    """A trial of two sensors, 'Fern' and 'Slate', and a meter called 'Kitchen'."""
    header = Header("t", "Trial", zone, ZoneOrigin.GIVEN, Unit.MG_DL, "Kitchen", 1, 0)
    return Trial(header, (Sensor("s1", "Fern", 0), Sensor("s2", "Slate", 1)), **parts)


def new_ids(prefix: str = "id") -> Iterator[str]:
    """Ids that count up."""
    return (f"{prefix}{number}" for number in itertools.count())


def take(
    data,
    name: str = "a.csv",
    of: str | None = None,
    trial: Trial | None = None,
    prefix: str = "id",
    **settings,
) -> Proposal:
    """A proposal for a file given as text or bytes."""
    raw = data.encode() if isinstance(data, str) else data
    return propose(raw, name, trial or a_trial(), of, settings, new_ids(prefix), NOW)


def after(trial: Trial, change: Change) -> Trial:
    """The trial with a change applied, as the store would hand it back (superseding by id)."""
    import dataclasses

    import numpy as np

    def merged(kind, held):
        by_id = {record.id: record for record in held}
        by_id.update({record.id: record for record in change.records if isinstance(record, kind)})
        return tuple(by_id.values())

    readings = dict(trial.readings)
    for batch in change.batches:
        parts = [part for part in (readings.get(batch.sensor), batch.readings) if part is not None]
        order = np.argsort(np.concatenate([part.instant for part in parts]), kind="stable")
        texts = [text for part in parts for text in part.text]
        readings[batch.sensor] = Readings(
            *(
                np.concatenate([getattr(part, name) for part in parts])[order]
                for name in ("instant", "offset", "value", "mmol", "flag", "line")
            ),
            tuple(texts[at] for at in order),
        )
    return dataclasses.replace(
        trial,
        sticks=merged(Stick, trial.sticks),
        events=merged(Event, trial.events),
        files=merged(SourceFile, trial.files),
        readings=readings,
    )


def readings_of(proposal: Proposal, trial: Trial) -> dict[str, list[str]]:
    """The readings a proposal would write, by sensor: 'ISO value unit' with 'low' or 'high' before the value."""
    from evenhand.clock import iso_of

    told: dict[str, list[tuple[int, str]]] = {}
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    for batch in proposal.change.batches if proposal.change else ():
        block = batch.readings
        for at in range(len(block)):
            side = ("", "low ", "high ")[block.flag[at]]
            when = iso_of(int(block.instant[at]), int(block.offset[at]))
            told.setdefault(names[batch.sensor], []).append(
                (int(block.instant[at]), f"{when} {side}{block.value[at]:g} {block.unit(at)}")
            )
    return {name: [text for _, text in sorted(rows)] for name, rows in told.items()}


def sticks_of(proposal: Proposal) -> list[str]:
    """The sticks a proposal would write: 'ISO value unit reason marks'."""
    records = proposal.change.records if proposal.change else ()
    found = sorted(
        (record for record in records if isinstance(record, Stick)), key=lambda stick: stick.at.instant
    )
    return [
        " ".join(
            [
                stick.at.iso,
                *([stick.glucose.beyond] if stick.glucose.beyond else []),
                f"{stick.glucose.value:g}",
                stick.glucose.unit,
                stick.reason,
                *(mark.kind for mark in stick.marks),
            ]
        )
        for stick in found
    ]


def events_of(proposal: Proposal) -> list[str]:
    """The diary entries a proposal would write: 'kind ISO text'."""
    records = proposal.change.records if proposal.change else ()
    found = sorted(
        (record for record in records if isinstance(record, Event)), key=lambda event: event.start.instant
    )
    return [f"{event.kind} {event.start.iso} {event.text}" for event in found]

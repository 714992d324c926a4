"""Bytes to a proposal: the one way in. Nothing is written here."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import PurePath

from evenhand.errors import BadFile, Place
from evenhand.intake import clocks, doubts, filekey, jottings, own, summary, tabled
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.ledger import Ledger
from evenhand.intake.names import Names, names_of
from evenhand.intake.proposal import Proposal, RowRead
from evenhand.intake.settings import parse
from evenhand.intake.settle import Settled, settle
from evenhand.intake.source import open_document
from evenhand.intake.way import Progress, Task, Way
from evenhand.records.change import Change, Record
from evenhand.records.files import Fate, SourceFile
from evenhand.records.trial import Trial


def propose(
    data: bytes,
    name: str,
    trial: Trial,
    of: str | None,
    settings: Mapping[str, str],
    ids: Iterator[str],
    now: int,
    progress: Progress | None = None,
) -> Proposal:
    """What a file would add to a trial.

    `name` is the file's (a path is cut to its last part), `of` 'meter' or a sensor's name (None: found out),
    `settings` what `--set` says (see `settings.KEYS`), `ids` yields new ids, `now` is an instant. The trial must
    hold its readings, for what is doubled. What was settled for the last file of its kind (`trial.keys`) is used
    again where it fits. Raises an `EvenhandError` where the file cannot be read or a setting is wrong; a question
    is no error.
    """
    tell: Progress = progress or _silent
    parse(settings)
    names = names_of(trial, PurePath(name.replace("\\", "/")).name or "file")
    tell("reading", 0.05)
    file_id = next(ids)
    used = filekey.find(data, names.file, trial, settings)

    def run(said: Mapping[str, str]) -> tuple[Way, Settled, Task]:
        checked = parse(said)
        document = open_document(data, names.file, checked.plain)
        task = Task(document, checked, names, trial, of, file_id, ids, now, tell)
        way = _way(task)
        return way, settle(way.collected, way.reads, trial, task.context(way.owner)), task

    (way, settled, task), used = filekey.fitted(used, settings, run)
    way.collected.blocks.clear()  # their arrays are in the batches now
    tell("comparing", 0.85)
    asked = [*way.asked, *settled.asked]
    asked += doubts.ask(settled.batches, settled.new_drafts, trial, task.settings)
    ledger = Ledger(file_id, way.outside, [one.fates for one in way.reads])
    _refuse_nothing(ledger, asked, names.file)
    source = SourceFile(
        file_id, names.file, hashlib.sha256(data).hexdigest(), len(data), way.owner, now, len(ledger),
        tuple(sorted(used.merged(settings).items())),
    )  # fmt: skip
    suggested = clocks.suggest(settled.new_drafts, settled.batches, way.reads, trial, task.settings, now)
    source = replace(source, open_proposals=clocks.left_open(suggested))
    change = None if asked else _change(source, settled, way.records, ledger, trial, names)
    if change is not None:
        change = replace(change, records=(*change.records, *used.to_save(file_id, settings, way)))
    tell("done", 1.0)
    return Proposal(
        names.file, source.sha256, source.size, len(ledger), summary.count(ledger), ledger,
        _first(way, names), summary.parts(settled, trial, names), tuple(way.guesses),
        _once(asked), suggested, tuple(dict.fromkeys([*used.notes, *way.notes])), way.zone, change, trial.edition,
    )  # fmt: skip


def _first(way: Way, names: Names) -> tuple[RowRead, ...]:
    if way.lines:
        return summary.first_lines(way.reads[0], way.collected)
    return summary.first_rows(way.reads, names)


def _silent(what: str, share: float) -> None:
    """Progress nobody watches."""
    del what, share


def _way(task: Task) -> Way:
    """Read the file the one way that fits it: as Evenhand's own export, as jotted lines, or as tables."""
    exported = own.kind_of(task.document)
    if exported is not None:
        return own.take(task, exported)
    laid, outside = tabled.lay(task.document, task.settings, task.file_id)
    has_header = any(section.header for one in laid for section in one.sections)
    said = task.of if task.of is not None else task.settings.get("of")
    sensors = said is not None and task.names.whose(said) in task.names.sensors
    context = task.context(None)
    if jottings.are(task.document, context, has_header, sensors):
        read = jottings.as_read(task.document)
        made = jottings.read(read, task.trial, task.names, context)
        guesses = [
            Guess(
                "format",
                "jotted lines",
                1.0,
                "there is no header, and most lines are a time, a value and words",
            )
        ]
        return Way(
            [read],
            made.collected,
            None,
            _zone(task),
            [],
            made.asked,
            guesses=guesses,
            notes=made.collected.assumed,
            lines=True,
        )
    way = tabled.take(task, laid)
    way.outside = [*outside, *way.outside]
    return way


def _zone(task: Task) -> str:
    zones = task.trial.zones
    return f"{zones.home}{' and those of the trips' if zones.trips else ''}"


def _refuse_nothing(ledger: Ledger, asked: list[Asked], file: str) -> None:
    """A file of which no row can be read is refused."""
    if asked or ledger.count(Fate.SET_ASIDE) < len(ledger):
        return
    first = next((row for row in ledger if not row.reason.startswith("before the table")), ledger[0])
    raise BadFile(
        f"None of the {len(ledger)} rows can be read; the first: {first.reason}.",
        "Look at the columns with intake without --yes, and name them with --set.",
        Place(file=file, sheet=first.sheet, line=first.line),
    )


def _change(
    source: SourceFile,
    settled: Settled,
    more: list[Record],
    ledger: Ledger,
    trial: Trial,
    names: Names,
) -> Change | None:
    """What is to be written: None where the file adds nothing. Rows that wait are worth keeping, once."""
    waiting = ledger.count(Fate.WAITING) > 0
    again = any(file.sha256 == source.sha256 for file in trial.files)
    if not settled.records and not settled.batches and not more and (again or not waiting):
        return None
    whom = names.shown(source.of) if source.of is not None else "several devices"
    kept = ledger.count(Fate.KEPT)
    return Change(
        f"took in {names.file} of {whom}: {kept} of {len(ledger)} rows kept",
        source.taken,
        (source, *settled.records, *more),
        tuple(settled.batches),
        ledger,
    )


def _once(asked: list[Asked]) -> tuple[Asked, ...]:
    """Questions without doubles (the same one from several sheets)."""
    return tuple({(one.code, one.set): one for one in asked}.values())

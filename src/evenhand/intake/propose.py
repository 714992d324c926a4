"""Bytes to a proposal: the one way in. Nothing is written here."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import PurePath

from evenhand.errors import BadFile, Place, UnknownName
from evenhand.intake import clocks, doubts, facts, jotted, keys, roles, summary, whose
from evenhand.intake import collect as collecting
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.instants import where
from evenhand.intake.layout import lay_out, role_of
from evenhand.intake.names import Names, names_of
from evenhand.intake.numerals import Reader
from evenhand.intake.proposal import Proposal
from evenhand.intake.reading import Read, Sheet, in_utc, read, read_sheet_times
from evenhand.intake.settings import Settings, did_you_mean, parse
from evenhand.intake.settle import Settled, settle
from evenhand.intake.source import open_document
from evenhand.intake.table import Document, Table, blank
from evenhand.intake.times import OrderFound, find_order
from evenhand.intake.words import Role
from evenhand.records.change import Change
from evenhand.records.files import Fate, LedgerRow, SourceFile
from evenhand.records.trial import Trial

Progress = Callable[[str, float], None]
"""Told what is being done and the share done (0 to 1)."""


@dataclass(frozen=True, slots=True)
class _Understood:
    """The file's tables as read, with what was found and asked on the way; `outside` are lines of no table."""

    sheets: list[Sheet]
    outside: list[LedgerRow]
    guesses: list[Guess]
    asked: list[Asked]
    unread: list[str]


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
    hold its readings, for what is doubled. Raises an `EvenhandError` where the file cannot be read as a table or
    a setting is wrong; a question is no error. What was settled for the last file of this kind (`trial.keys`) is used
    again, and what is settled now is kept in the change.
    """
    kinds: list[str] = []

    def once(said: Mapping[str, str]) -> Proposal:
        made, kind = _read_once(data, name, trial, of, said, ids, now, progress or _silent)
        kinds.append(kind)
        return made

    first = once(settings)
    found, used = keys.with_key(first, kinds[0], trial.keys, settings, once)
    return keys.saved(found, kinds[0], trial.keys, {**settings, **used}, ids)


def _read_once(
    data: bytes,
    name: str,
    trial: Trial,
    of: str | None,
    settings: Mapping[str, str],
    ids: Iterator[str],
    now: int,
    tell: Progress,
) -> tuple[Proposal, str]:
    """One reading of a file with these settings, and what kind of file it is."""
    checked = parse(settings)
    names = names_of(trial, PurePath(name.replace("\\", "/")).name or "file")
    tell("reading", 0.05)
    said_of = of if of is not None else checked.get("of")
    jots = jotted.document(data, names, checked.plain, said_of, trial, now)
    document = jots or open_document(data, names.file, checked.plain)
    file_id = next(ids)
    understood = _understand(document, checked, names, file_id)
    tell("times", 0.35)
    order = _order(understood, checked, now)
    there = where(checked.get("zone"), trial.zones)
    reader = Reader(checked.decimal)
    reads = [
        read(sheet, order.order or order.left[0], there, checked, names, reader)
        for sheet in understood.sheets
    ]
    tell("values", 0.6)
    owner = whose.find(
        said_of if said_of is not None or jots is None else "meter",
        names,
        [sheet.section.preamble for sheet in understood.sheets],
    )
    reads = _owned_by_sheet(reads, names)
    sensors = {sensor.id: sensor for sensor in trial.sensors}
    context = collecting.Context(owner.owner, sensors, trial.zones, checked, file_id, ids, now)
    collected = collecting.collect(reads, context)
    settled = settle(collected, reads, trial, context)
    tell("comparing", 0.85)
    asked = [*understood.asked, *_order_question(order), *(one for each in reads for one in each.asked)]
    open_columns = any(one.code == "sensor-columns" for one in asked)
    asked += [*(() if open_columns else whose.ask(reads, names, collected.ownerless)), *settled.asked]
    asked += doubts.ask(settled.batches, settled.new_drafts, trial, checked)
    guesses = [Guess(*how) for how in _how(document)] + understood.guesses
    guesses += [Guess("order", str(order.order), 1.0, order.evidence)] if order.order else []
    guesses += [owner.guess] if owner.guess else []
    guesses += [guess for each in reads for guess in each.guesses]
    ledger = _ledger(understood.outside, reads, file_id)
    _refuse_nothing(ledger, asked, names.file)
    source = SourceFile(
        file_id, names.file, hashlib.sha256(data).hexdigest(), len(data), owner.owner, now, len(ledger),
        tuple(sorted(settings.items())),
    )  # fmt: skip
    suggested = clocks.suggest(settled.new_drafts, settled.batches, trial, checked, now)
    source = replace(source, open_proposals=clocks.left_open(suggested))
    change = None if asked else _change(source, settled, ledger, names)
    tell("done", 1.0)
    kind = keys.kind_of(names.file, [sheet.section for sheet in understood.sheets])
    return Proposal(
        names.file, source.sha256, source.size, len(ledger), summary.count(ledger), ledger,
        summary.first_rows(reads, names), summary.parts(settled, trial, names), tuple(guesses),
        _once(asked), suggested, _notes(reads, collected, understood.unread), there.word, change, trial.edition,
    ), kind  # fmt: skip


def _silent(what: str, share: float) -> None:
    """Progress nobody watches."""
    del what, share


def _how(document: Document) -> Iterator[tuple[str, str, float, str]]:
    for what, chosen, evidence in document.how:
        yield what, chosen, 1.0, evidence


def _understand(document: Document, settings: Settings, names: Names, file_id: str) -> _Understood:
    """Find the tables and what their columns are; sheets and sections without a table are set aside."""
    made = _Understood([], [], [], [], [])
    reader = Reader(settings.decimal)
    failures: list[BadFile] = []
    for table in _chosen(document, settings, made, file_id):
        laid = lay_out(table, settings.get("header"))
        made.outside.extend(LedgerRow(file_id, table.sheet, *known) for known in table.aside)
        made.outside.extend(
            LedgerRow(file_id, laid.sheet, aside.line, Fate.SET_ASIDE, aside.reason) for aside in laid.asides
        )
        if laid.sections:
            table.rows.clear()  # its cells live on in the sections; a long file would be held twice
        for section in laid.sections:
            found, said = roles.find(section, facts.gather(section, reader), settings, names, names.file)
            failure = roles.require(found, section, names.file)
            if found is None:
                assert failure is not None
                failures.append(failure)
                made.outside.extend(
                    LedgerRow(
                        file_id,
                        section.sheet,
                        line,
                        Fate.SET_ASIDE,
                        "in a table without a column of times and values",
                    )
                    for line in section.lines
                )
                continue
            made.guesses.extend(said.guesses)
            made.asked.extend(said.asked)
            made.unread.extend(said.unread)
            if in_utc(section.names[found.time]) and settings.get("zone") is None:
                made.guesses.append(
                    Guess("zone", "UTC", 1.0, "the name of the time column says so", section.sheet)
                )
            times = read_sheet_times(section, found, header_zone=settings.get("zone") is None)
            made.sheets.append(Sheet(section, found, times))
    if not made.sheets:
        raise failures[0] if failures else _no_table(document, names.file)
    return made


def _chosen(document: Document, settings: Settings, made: _Understood, file_id: str) -> list[Table]:
    """The tables to read: all, or the sheet that was named."""
    said = settings.get("sheet")
    if said is None:
        return list(document.tables)
    titles = [table.sheet or "" for table in document.tables]
    if said.casefold() not in [title.casefold() for title in titles]:
        raise UnknownName(
            f"There is no sheet '{said}'.", did_you_mean(said, titles), Place(file=document.name)
        )
    chosen = []
    for table in document.tables:
        if (table.sheet or "").casefold() == said.casefold():
            chosen.append(table)
            continue
        made.outside.extend(
            LedgerRow(file_id, table.sheet, line, Fate.SET_ASIDE, "on a sheet that was not chosen")
            for line, row in zip(table.lines, table.rows, strict=True)
            if not blank(row)
        )
    return chosen


def _no_table(document: Document, file: str) -> BadFile:
    """Why there is no table: nothing but a header, or nothing like one."""
    for table in document.tables:
        filled = [(line, row) for line, row in zip(table.lines, table.rows, strict=True) if not blank(row)]
        for line, row in filled:
            if sum(1 for cell in row if cell.strip()) >= 2 and any(
                role_of(cell, role) for cell in row[:60] for role in Role
            ):
                return BadFile(
                    "The file has a header and no rows that hold a time and a value.",
                    "Export it again with a span that holds readings.",
                    Place(file=file, sheet=table.sheet, line=line),
                )
    return BadFile(
        "The file holds no table of times and values.",
        "Export the readings as CSV or XLSX and take that in.",
        Place(file=file),
    )


def _order(understood: _Understood, settings: Settings, now: int) -> OrderFound:
    if settings.order is not None:
        return OrderFound(settings.order, "you said so")
    return find_order(
        [sheet.times for sheet in understood.sheets],
        [sheet.section.lines for sheet in understood.sheets],
        now,
    )


def _order_question(order: OrderFound) -> list[Asked]:
    if order.order is not None:
        return []
    return [
        Asked(
            "day-month-order",
            f"The dates can be read in more than one order: {order.evidence}. Which order are they in?",
            tuple(str(one) for one in order.left),
            "order=ORDER",
        )
    ]


def _owned_by_sheet(reads: list[Read], names: Names) -> list[Read]:
    """Rows of a sheet that is called like a device are that device's, unless they name another."""
    for one in reads:
        owner = names.whose(one.section.sheet or "")
        if owner is not None:
            one.owner[one.owner == -1] = one.owners.index(owner)
    return reads


def _ledger(outside: list[LedgerRow], reads: list[Read], file_id: str) -> tuple[LedgerRow, ...]:
    """The fate of every row, in the order of the file where it has one sheet."""
    rows = [*outside, *(row for one in reads for row in one.fates.rows(file_id))]
    if len({row.sheet for row in rows}) <= 1 and outside:
        rows.sort(key=lambda row: row.line)
    return tuple(rows)


def _refuse_nothing(ledger: tuple[LedgerRow, ...], asked: list[Asked], file: str) -> None:
    """A file of which no row can be read is refused."""
    if asked or any(row.fate is not Fate.SET_ASIDE for row in ledger):
        return
    first = next((row for row in ledger if not row.reason.startswith("before the table")), ledger[0])
    raise BadFile(
        f"None of the {len(ledger)} rows can be read; the first: {first.reason}.",
        "Look at the columns with intake without --yes, and name them with --set.",
        Place(file=file, sheet=first.sheet, line=first.line),
    )


def _change(
    source: SourceFile, settled: Settled, ledger: tuple[LedgerRow, ...], names: Names
) -> Change | None:
    if not settled.records and not settled.batches:
        return None
    whom = names.shown(source.of) if source.of is not None else "several devices"
    kept = sum(1 for row in ledger if row.fate is Fate.KEPT)
    return Change(
        f"took in {names.file} of {whom}: {kept} of {len(ledger)} rows kept",
        source.taken,
        (source, *settled.records),
        tuple(settled.batches),
        ledger,
    )


def _once(asked: list[Asked]) -> tuple[Asked, ...]:
    """Questions without doubles (the same one from several sheets)."""
    return tuple({(one.code, one.set): one for one in asked}.values())


def _notes(reads: list[Read], collected: collecting.Collected, unread: list[str]) -> tuple[str, ...]:
    left = [
        f"The column '{name}' holds numbers and is not read; if it is glucose, write --set sensor.{name}=NAME."
        for name in unread
    ]
    return tuple(
        dict.fromkeys([*(note for one in reads for note in one.placed.notes), *collected.assumed, *left])
    )

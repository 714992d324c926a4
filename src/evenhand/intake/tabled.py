"""Tables to rows read: sections found, their columns understood, the order of dates proven or asked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from evenhand.errors import BadFile, Place, UnknownName
from evenhand.intake import collect as collecting
from evenhand.intake import enough, facts, half_days, named_zones, roles, whose, zoned
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.instants import where
from evenhand.intake.layout import Laid, lay_out, role_of
from evenhand.intake.names import Names
from evenhand.intake.numerals import Reader
from evenhand.intake.reading import Read, Sheet, read, read_sheet_times
from evenhand.intake.settings import Settings, did_you_mean
from evenhand.intake.table import Document, Table, blank
from evenhand.intake.times import NO_OFFSET, OrderFound, find_order
from evenhand.intake.way import Task, Way
from evenhand.intake.words import Role
from evenhand.records.files import Fate, LedgerRow


@dataclass(frozen=True, slots=True)
class _Understood:
    """The file's tables as read, with what was found and asked on the way; `outside` are lines of no table."""

    sheets: list[Sheet]
    outside: list[LedgerRow]
    guesses: list[Guess]
    asked: list[Asked]
    unread: list[str]


def take(task: Task, laid: list[Laid]) -> Way:
    """Read the tables of a file, laid out already (`laid`, one for each table that was chosen)."""
    document, settings, names = task.document, task.settings, task.names
    understood = _understand(document, laid, settings, names, task.file_id)
    task.tell("times", 0.35)
    order = _order(understood, settings, task.now)
    zone = _zone_beside(understood, settings)
    said_zone = settings.get("zone")
    if said_zone is None and zone is not None and zone.sure and zone.zone is not None:
        understood.guesses.append(named_zones.guess(zone))
        said_zone = zone.zone
    elif said_zone is None and zone is not None and zone.zone != task.trial.zones.home:
        understood.asked.append(named_zones.ask(zone, task.trial.zones.home))
    if settings.get("hours") != "24":
        understood.asked.extend(
            half_days.ask(
                [one.times for one in understood.sheets], [one.section.lines for one in understood.sheets]
            )
        )
    there = where(said_zone, task.trial.zones)
    reader = Reader(settings.decimal)
    reads = [
        read(sheet, order.order or order.left[0], there, settings, names, reader)
        for sheet in understood.sheets
    ]
    task.tell("values", 0.6)
    against = _against(understood, settings, task.now)
    understood.sheets.clear()  # the times as read are not needed any more
    owner = whose.find(
        task.of if task.of is not None else settings.get("of"),
        names,
        [one.section.preamble for one in reads],
    )
    reads = _owned_by_sheet(reads, names)
    collected = collecting.collect(reads, task.context(owner.owner))
    asked = [*understood.asked, *_order_question(order), *(one for each in reads for one in each.asked)]
    open_columns = any(one.code == "sensor-columns" for one in asked)
    asked += () if open_columns else whose.ask(reads, names, collected.ownerless)
    guesses = [Guess(*how) for how in _how(document)] + understood.guesses
    guesses += [Guess("order", str(order.order), 1.0, order.evidence)] if order.order else []
    guesses += [owner.guess] if owner.guess else []
    guesses += [guess for each in reads for guess in each.guesses]
    return Way(
        reads, collected, owner.owner, there.word, understood.outside, asked, guesses=guesses,
        notes=_notes(document, reads, collected, understood.unread),
        order=str(order.order) if order.order and order.proven else None,
        against_order=against,
    )  # fmt: skip


def lay(document: Document, settings: Settings, file_id: str) -> tuple[list[Laid], list[LedgerRow]]:
    """The tables that were chosen, laid out; the rows of sheets that were not chosen."""
    outside: list[LedgerRow] = []
    return [
        lay_out(table, settings.get("header")) for table in _chosen(document, settings, outside, file_id)
    ], outside


def _how(document: Document) -> Iterator[tuple[str, str, float, str]]:
    for what, chosen, evidence in document.how:
        yield what, chosen, 1.0, evidence


def _understand(
    document: Document, laid: list[Laid], settings: Settings, names: Names, file_id: str
) -> _Understood:
    """Find what the columns of each table are; sheets and sections without a table are set aside."""
    made = _Understood([], [], [], [], [])
    reader = Reader(settings.decimal)
    failures: list[BadFile] = []
    if any(one.sections for one in laid):
        for table in document.tables:
            table.rows.clear()  # its cells live on in the sections; a long file would be held twice
    for one in laid:
        made.outside.extend(
            LedgerRow(file_id, one.sheet, aside.line, Fate.SET_ASIDE, aside.reason) for aside in one.asides
        )
        for section in one.sections:
            gathered = facts.gather(section, reader)
            found, said = roles.find(section, gathered, settings, names, names.file)
            failure = enough.require(
                found, section, gathered, names.file, unit_said=settings.get("unit") is not None
            )
            if found is None or failure is not None:
                assert failure is not None
                failures.append(failure)
                made.outside.extend(
                    LedgerRow(file_id, section.sheet, line, Fate.SET_ASIDE, "in a table without a column of times and values")
                    for line in section.lines
                )  # fmt: skip
                continue
            made.guesses.extend(said.guesses)
            made.asked.extend(said.asked)
            made.unread.extend(said.unread)
            zone = named_zones.of_name(section.names[found.time]) if settings.get("zone") is None else None
            if zone is not None and zoned.offset_of(zone.zone or "") is not None:
                made.guesses.append(
                    Guess("zone", zone.zone or "", 1.0, "the name of the time column says so", section.sheet)
                )
            times = read_sheet_times(section, found, header_zone=settings.get("zone") is None)
            made.sheets.append(Sheet(section, found, times))
    if not made.sheets:
        raise failures[0] if failures else _no_table(document, names.file)
    return made


def _chosen(document: Document, settings: Settings, outside: list[LedgerRow], file_id: str) -> list[Table]:
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
        outside.extend(
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


def _zone_beside(understood: _Understood, settings: Settings) -> named_zones.Named | None:
    """The zone that the lines before the tables, or the name of a time column, name; None where every time states its own."""
    if settings.get("zone") is not None:
        return None
    open_sheets = [
        one
        for one in understood.sheets
        if bool(((one.times.offset == NO_OFFSET) & (one.times.day >= 0)).any())
        and one.roles.get(Role.ZONE) is None
    ]
    for one in open_sheets:
        told = named_zones.of_name(one.section.names[one.roles.time])
        if told is not None:
            return told
    return named_zones.before([one.section.preamble for one in open_sheets])


def _order(understood: _Understood, settings: Settings, now: int) -> OrderFound:
    if settings.order is not None:
        return OrderFound(settings.order, "you said so")
    return find_order(
        [sheet.times for sheet in understood.sheets],
        [sheet.section.lines for sheet in understood.sheets],
        now,
    )


def _against(understood: _Understood, settings: Settings, now: int) -> str | None:
    """What proves another order than the one that was said, or that some dates are none in it."""
    if settings.order is None:
        return None
    proven = _order(understood, replace(settings, order=None), now)
    if proven.order is not None:
        told = proven.evidence.replace("can only be read so", f"can only be {proven.order}")
        return told if proven.proven and proven.order is not settings.order else None
    return None if settings.order in proven.left else proven.evidence


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


def _notes(
    document: Document, reads: list[Read], collected: collecting.Collected, unread: list[str]
) -> list[str]:
    left = [
        f"The column '{name}' holds numbers and is not read; if it is glucose, write --set sensor.{name}=NAME."
        for name in unread
    ]
    return [
        *(note for table in document.tables for note in table.notes),
        *(note for one in reads for note in one.placed.notes),
        *collected.assumed,
        *left,
    ]

"""File keys: what was settled for one file, used again for the next of its kind, and said.

A key never overrules what a file itself proves: what a person *answered* (an order of dates, a unit, whose columns) answers only a
question that would be open again, and what a person *pointed out* (a column, a delimiter, a zone) is pointed out again. Whose file
it is, a clock's shift and single rows are never reused: the next file may be another device's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import PurePath

from evenhand.errors import EvenhandError
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.layout import Section
from evenhand.intake.proposal import Proposal
from evenhand.records.files import FileKey

POINTED_OUT = frozenset(
    (
        "encoding",
        "delimiter",
        "sheet",
        "header",
        "time",
        "date",
        "value",
        "decimal",
        "zone",
        "kind",
        "device",
        "reason",
        "marks",
        "note",
        "lot",
        "offset",
    )
)
ANSWERED = frozenset(("order", "unit", "low", "high"))
FAMILIES = ("sensor.", "device.", "kind.", "unit.")
Once = Callable[[Mapping[str, str]], Proposal]


def kind_of(file: str, sections: Sequence[Section]) -> str:
    """What files that are read alike have in common: their suffix and the names of their columns."""
    tables = [
        f"{section.sheet + ': ' if section.sheet else ''}{', '.join(section.names)}" for section in sections
    ]
    return f"{PurePath(file).suffix.lower().lstrip('.') or 'text'}: {' / '.join(tables)}"


def reusable(settings: Mapping[str, str]) -> dict[str, str]:
    """The settings that may serve another file of the same kind.

    >>> reusable({"of": "Fern", "order": "day-month", "shift": "-1h", "stick.4": "new"})
    {'order': 'day-month'}
    """
    known = POINTED_OUT | ANSWERED
    return {
        key: said
        for key, said in settings.items()
        if key.lower() in known or key.lower().startswith(FAMILIES)
    }


def with_key(
    first: Proposal, kind: str, held: Sequence[FileKey], said: Mapping[str, str], once: Once
) -> tuple[Proposal, dict[str, str]]:
    """The proposal read again with what the key of its kind says, and the settings that were reused.

    `first` was read with `said` alone. What the person says now goes before the key. Where the file no longer fits
    the key, the first reading stays and a note says where.
    """
    key = next((one for one in held if one.kind == kind), None)
    if key is None:
        return first, {}
    known = {name: value for name, value in key.settings if name not in said}
    used: dict[str, str] = {}
    found = first
    for _ in range(len(known) + 1):
        more = {
            name: value for name, value in known.items() if name not in used and _fits(name, found.questions)
        }
        if not more:
            break
        try:
            found = once({**said, **used, **more})
        except EvenhandError as error:
            return replace(
                first,
                notes=(*first.notes, f"The saved way to read this kind of file no longer fits: {error}"),
            ), {}
        used |= more
    if used:
        told = ", ".join(f"{name}={value}" for name, value in used.items())
        found = replace(
            found,
            guesses=(
                *found.guesses,
                Guess("file key", told, 1.0, "as settled for the last file of this kind"),
            ),
        )
    return found, used


def _fits(name: str, questions: Sequence[Asked]) -> bool:
    """Whether a setting is to be reused now: always where it points something out, else where it answers a question."""
    if name.lower() in POINTED_OUT:
        return True
    head = name.partition(".")[0] + "." if "." in name else f"{name}="
    return any(asked.set.lower().startswith(head.lower()) for asked in questions)


def saved(
    found: Proposal, kind: str, held: Sequence[FileKey], settings: Mapping[str, str], ids: Iterator[str]
) -> Proposal:
    """The proposal with the key to keep in its change, where there is one to keep and it says something new."""
    worth = tuple(sorted(reusable(settings).items()))
    key = next((one for one in held if one.kind == kind), None)
    if found.change is None or not worth or (key is not None and key.settings == worth):
        return found
    made = FileKey(key.id if key else next(ids), kind, worth)
    return replace(found, change=replace(found.change, records=(*found.change.records, made)))

"""A proposal as a person reads it: what the file holds, how it was read, what is open, what to do next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from evenhand.cli.saying import duration, moment
from evenhand.cli.streams import line, words
from evenhand.clock import Zones
from evenhand.desk.intaking import TakenIn
from evenhand.intake.proposal import Part, Proposal
from evenhand.records.files import Fate, LedgerRow

LINES_NAMED = 4
"""So many lines are named for each reason; `--json` has them all."""


def show(taken: TakenIn, now: int, *, wanted: bool) -> None:
    """The whole proposal; `wanted` where it was to be written."""
    found, zones = taken.proposal, taken.trial.zones
    words(_counts(found))
    words(f"Times were read in {found.zone}.")
    for part in found.parts:
        words(_part(part, now, zones))
    if found.first_rows:
        line("")
        line("The first rows, as read:")
        for row in found.first_rows:
            sheet = f"{row.sheet}, " if row.sheet else ""
            words(f"{sheet}line {row.line}: {' | '.join(row.cells)}", "  ")
            words(row.understood, "      ")
    _section("How it was read:", (f"{one.what}: {one.chosen} ({one.evidence})" for one in found.guesses))
    _section("Set aside, held already or waiting:", _reasons(found.not_kept()))
    _section("Also:", found.notes)
    _section(
        "Questions to answer before it can be taken in:",
        (
            f"{one.text} Possible: {', '.join(one.choices)}. Answer with --set {one.set}"
            for one in found.questions
        ),
    )
    _section(
        "Proposed, not done unless you say so:",
        (f"{one.text} {one.evidence} Accept with --set {one.set}" for one in found.proposals),
    )
    line("")
    words(_end(taken, wanted=wanted))


def _counts(found: Proposal) -> str:
    told = [f"{found.kept} kept"]
    for fate, said in (
        (Fate.DOUBLED, "held already or twice in the file"),
        (Fate.WAITING, "waiting"),
        (Fate.SET_ASIDE, "set aside"),
    ):
        told += [f"{found.counts[fate]} {said}"] if found.counts.get(fate, 0) else []
    return f"{found.name}: {found.rows} rows, {', '.join(told)}."


def _part(part: Part, now: int, zones: Zones) -> str:
    told = [f"{part.kept} new"]
    told += [f"{part.doubled} held already"] if part.doubled else []
    if part.first is not None and part.last is not None:
        told.append(f"from {moment(part.first, now, zones)} to {moment(part.last, now, zones)}")
    told += [f"one every {duration(part.step)}"] if part.step else []
    told += [f"{count} in {unit}" for unit, count in part.units.items() if count]
    told += [f"{part.low} low"] if part.low else []
    told += [f"{part.high} high"] if part.high else []
    said = f"{part.owner}: {', '.join(told)}."
    if not part.gaps:
        return said
    longest = max(end - start for start, end in part.gaps)
    begun = next(start for start, end in part.gaps if end - start == longest)
    many = f"{len(part.gaps)} gaps" if len(part.gaps) > 1 else "1 gap"
    return f"{said} {many}, the longest {duration(longest)} from {moment(zones.stamp(begun), now, zones)}."


def _reasons(rows: Iterable[LedgerRow]) -> list[str]:
    """Every reason once, most frequent first, with its first lines."""
    kept = list(rows)
    counts = Counter((row.fate, row.reason) for row in kept)
    told = []
    for (fate, reason), count in counts.most_common():
        lines = [str(row.line) for row in kept if (row.fate, row.reason) == (fate, reason)]
        more = ", ..." if count > LINES_NAMED else ""
        plural = "lines" if count > 1 else "line"
        told.append(f"{count} {fate}: {reason} ({plural} {', '.join(lines[:LINES_NAMED])}{more})")
    return told


def _section(heading: str, told: Iterable[str]) -> None:
    sentences = list(told)
    if sentences:
        line("")
        line(heading)
        for sentence in sentences:
            words(sentence, "  ")


def _end(taken: TakenIn, *, wanted: bool) -> str:
    if taken.change is not None:
        return f"Taken in, as change {taken.change}. 'evenhand undo' takes it back."
    found = taken.proposal
    if found.questions:
        many = f"{len(found.questions)} questions are" if len(found.questions) > 1 else "1 question is"
        return f"Nothing was written: {many} open."
    if found.adds_nothing:
        return "Nothing was written: the file adds nothing to the trial."
    return "Nothing was written." if wanted else "Nothing was written yet. Take it in with --yes."

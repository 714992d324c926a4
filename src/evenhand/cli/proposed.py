"""A proposal as a person reads it: what the file holds, how it was read, what is open, what to do next."""

from __future__ import annotations

from collections.abc import Iterable

from evenhand.cli.saying import duration, moment
from evenhand.cli.streams import line, words
from evenhand.clock import Zones
from evenhand.desk.intaking import TakenIn
from evenhand.intake.proposal import Part, Proposal
from evenhand.records.files import Fate, LedgerRow

LINES_NAMED, REASONS_NAMED = 4, 20
"""So many lines are named for each reason, and so many reasons; `--json` has them all."""

MOST_GAPS = 10
"""So many gaps a proposal names at most."""


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
    _proposals(found)
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
    many = "1 gap" if len(part.gaps) == 1 else f"{len(part.gaps)} gaps"
    more = " or more" if len(part.gaps) >= MOST_GAPS else ""
    return (
        f"{said} {many}{more}, the longest {duration(longest)} from {moment(zones.stamp(begun), now, zones)}."
    )


def _reasons(rows: Iterable[LedgerRow]) -> list[str]:
    """The reasons, most frequent first, each with its first lines; the rarest are only counted."""
    lines: dict[tuple[Fate, str], list[str]] = {}
    for row in rows:
        lines.setdefault((row.fate, row.reason), []).append(str(row.line))
    ordered = sorted(lines.items(), key=lambda item: -len(item[1]))
    told = []
    for (fate, reason), named in ordered[:REASONS_NAMED]:
        more = ", ..." if len(named) > LINES_NAMED else ""
        plural = "lines" if len(named) > 1 else "line"
        told.append(f"{len(named)} {fate}: {reason} ({plural} {', '.join(named[:LINES_NAMED])}{more})")
    rest = sum(len(named) for _, named in ordered[REASONS_NAMED:])
    return [*told, f"{rest} more, for other reasons; --json lists every one."] if rest else told


def _section(heading: str, told: Iterable[str]) -> None:
    sentences = list(told)
    if sentences:
        line("")
        line(heading)
        for sentence in sentences:
            words(sentence, "  ")


def _proposals(found: Proposal) -> None:
    """Each proposal with its evidence, the agreement at some shifts as a small table, and how to accept or refuse it."""
    if not found.proposals:
        return
    line("")
    line("Proposed, not done unless you say so:")
    for one in found.proposals:
        words(f"{one.text} {one.evidence[:1].upper()}{one.evidence[1:]}.", "  ")
        if one.profile is not None and one.profile.table():
            line(f"    {'moved by':>10}  {one.profile.unit} ({one.profile.against})")
            for shift, height in one.profile.table():
                told = f"{-shift // 60:+d} min" if shift else "as written"
                line(f"    {told:>10}  {height:.2f}" if abs(height) < 2 else f"    {told:>10}  {height:.0f}")
        words(f"Accept with --set {one.set}; refuse with --set {one.refuse}.", "    ")


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

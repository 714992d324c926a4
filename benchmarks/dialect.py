"""How often a delimiter is guessed right: ours, the standard library's, one of a package's where it is at hand, and no guess at all:
`python -m benchmarks.dialect [TABLES]` (the package is looked for, never required).

Tables are invented: readings and sticks with preambles, decimal commas, notes with delimiters, quotes, ragged rows and footers. The right
delimiter is the one they were written with. For the quirk files of the tests the right one is what their expectation is read with.
"""

from __future__ import annotations

import csv
import datetime as dt
import importlib.util
import random
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from evenhand.intake import dialect
from evenhand.intake.encoding import decode

MARKS = (",", ";", "\t", "|")
Guess = Callable[[str], str | None]


def invented(seed: int) -> tuple[str, str, str]:
    """A table, the mark it was written with, and what is odd about it."""
    chance = random.Random(seed)
    mark = chance.choice(MARKS)
    decimal = chance.choice((".", ","))
    wide = chance.random() < 0.5
    odd = chance.choice(
        ("plain", "preamble", "notes", "quoted", "ragged", "footer", "short", "decimal comma unquoted")
    )
    if odd == "decimal comma unquoted":
        decimal, mark = ",", chance.choice(MARKS[1:])
    form = chance.choice(
        ("%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M", "%d/%m/%Y %H:%M:%S", "%Y-%m-%dT%H:%M:%SZ", "%b %d, %Y %I:%M %p")
    )
    names = ["Time", "Glucose", "Note"] + (["Device", "Kind"] if wide else [])
    lines = [mark.join(names)]
    if odd == "preamble":
        lines[:0] = [
            f"Export of {chance.choice('abc')}, made on 3 May; all rights: none",
            "Name: Jo, Doe",
            "",
        ][: chance.randint(1, 3)]
    begin = dt.datetime(2026, 3, 1, chance.randrange(24), chance.randrange(60))
    for number in range(2 if odd == "short" else chance.randint(4, 60)):
        when = (begin + dt.timedelta(minutes=5 * number)).strftime(form)
        value = (
            f"{chance.uniform(3, 15):.1f}".replace(".", decimal)
            if chance.random() < 0.5 or decimal == ","
            else str(chance.randint(50, 300))
        )
        note = ""
        if odd == "notes" and chance.random() < 0.5:
            note = chance.choice(("felt fine, went out", "bread; butter", "low | washed", "a, b; c, d; e"))
        row = [when, value, note] + (["Fern", "Reading"] if wide else [])
        quote = odd == "quoted"
        cells = [f'"{cell}"' if quote or mark in cell else cell for cell in row]
        if odd == "ragged" and chance.random() < 0.3:
            cells = cells[: chance.randint(2, len(cells))]
        lines.append(mark.join(cells))
    if odd == "footer":
        lines += ["", f"End of export, {len(lines)} rows; thank you"]
    return "\n".join(lines) + "\n", mark, odd


def ours(text: str) -> str | None:
    """Evenhand's."""
    return dialect.choose(dialect.lines_of(text)).delimiter


def sniffed(text: str) -> str | None:
    """The standard library's `csv.Sniffer`, told the four marks."""
    try:
        return csv.Sniffer().sniff(text, delimiters="".join(MARKS)).delimiter
    except csv.Error:
        return None


def packaged(text: str) -> str | None:
    """`clevercsv`, a package made for messy files (consistency of cells and patterns)."""
    import clevercsv

    try:
        found = clevercsv.Sniffer().sniff(text, delimiters="".join(MARKS))
    except clevercsv.exceptions.Error:
        return None
    return found.delimiter if found is not None else None


def none_at_all(text: str) -> str | None:
    """A comma, always."""
    del text
    return ","


def quirks() -> list[tuple[str, str, str]]:
    """The text tables among the test files, with the mark in which their header is written (read by hand where it is not plain)."""
    folder = Path(__file__).parents[1] / "tests" / "files"
    found = []
    for path in sorted([*folder.glob("*/*.csv"), *folder.glob("*/*.tsv"), *folder.glob("*/*.txt")]):
        try:
            text = decode(path.read_bytes(), path.name, None).text
        except Exception:  # noqa: BLE001
            continue
        head = next(
            (
                line
                for line in text.replace("\r", "\n").split("\n")
                if sum(line.count(mark) for mark in MARKS)
            ),
            "",
        )
        marks = [mark for mark in MARKS if mark in head]
        if len(marks) == 1:
            found.append((text, marks[0], path.name))
    return found


def score(guess: Guess, tables: list[tuple[str, str, str]]) -> tuple[int, Counter[str], float]:
    """How many are right, what was odd about the wrong ones, and milliseconds a table."""
    wrong: Counter[str] = Counter()
    start = time.perf_counter()
    for text, mark, odd in tables:
        if guess(text) != mark:
            wrong[odd] += 1
    return (
        len(tables) - sum(wrong.values()),
        wrong,
        1000 * (time.perf_counter() - start) / max(len(tables), 1),
    )


def main() -> None:
    """Measure and print."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    guesses: dict[str, Guess] = {"ours": ours, "csv.Sniffer": sniffed, "always a comma": none_at_all}
    if importlib.util.find_spec("clevercsv") is not None:
        guesses["clevercsv"] = packaged
    made = [invented(10_000 + seed) for seed in range(many)]
    kept = quirks()
    for title, tables in (("invented", made), ("quirk files", kept)):
        for name, guess in guesses.items():
            right, wrong, each = score(guess, tables)
            print(
                f"| {title} | {name} | {right} of {len(tables)} | {each:.2f} ms | {', '.join(f'{odd} {n}' for odd, n in wrong.most_common(6))} |"
            )


if __name__ == "__main__":
    main()

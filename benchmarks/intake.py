"""A long file guessed, checked and written to a trial file, beside the fastest general reader told everything beforehand, followed by
a plain bulk insert: `python -m benchmarks.intake` writes docs/speed-intake.md.

Whole processes in turn (A B A B ...), medians of processor time, so that the machine's own speed and what else it does cancel in the ratios.
"""

from __future__ import annotations

import datetime as dt
import importlib.util
import random
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from benchmarks.speed import ROOT, evenhand, spent

ROWS = 400_000
RUNS = 3

BASELINE = """
import sqlite3, sys
path, out, engine = sys.argv[1:4]
if engine == "pyarrow":
    import pyarrow as pa
    from pyarrow import csv
    table = csv.read_csv(path, convert_options=csv.ConvertOptions(
        include_columns=["Time", "Glucose mg/dL"], column_types={"Time": pa.timestamp("s"), "Glucose mg/dL": pa.float64()}))
    instants = table.column(0).cast(pa.int64()).to_pylist()
    values = table.column(1).to_pylist()
else:
    import pandas
    table = pandas.read_csv(path, usecols=["Time", "Glucose mg/dL"], dtype={"Time": "str", "Glucose mg/dL": "float64"}, engine="c")
    times = pandas.to_datetime(table["Time"], format="%Y-%m-%d %H:%M:%S")
    instants = times.astype("datetime64[s]").astype("int64").tolist()
    values = table["Glucose mg/dL"].tolist()
file = sqlite3.connect(out)
with file:
    file.execute("CREATE TABLE reading (instant INTEGER, value REAL)")
    file.executemany("INSERT INTO reading VALUES (?, ?)", zip(instants, values))
file.close()
"""
"""Time and value only, no zone, no check, no row accounted for: as little as such a program can do."""


def table(path: Path, rows: int, *, wide: bool) -> None:
    """A file of readings every minute, in one wear after the other; `wide` with device, kind and note columns."""
    chance = random.Random(rows)
    begin = dt.datetime(2025, 1, 1)
    value = 140.0
    with path.open("w", encoding="utf-8") as out:
        out.write("Time,Glucose mg/dL,Device,Type,Note,Serial\n" if wide else "Time,Glucose mg/dL\n")
        for number in range(rows):
            value = min(max(value + chance.gauss(0, 3) + 0.02 * (140 - value), 42), 390)
            when = begin + dt.timedelta(minutes=number, seconds=number % 7)
            more = (
                f",Fern,Reading,{'' if number % 500 else 'felt fine'},X-{number // 14_400:04d}"
                if wide
                else ""
            )
            out.write(f"{when:%Y-%m-%d %H:%M:%S},{value:.0f}{more}\n")


def take(trial: Path, path: Path, fresh: Path) -> list[str]:
    """The command that takes the file into a copy of an empty trial, made anew in the same process."""
    script = (
        f"import shutil, sys; shutil.copy({str(fresh)!r}, {str(trial)!r})\n"
        f"sys.argv = ['evenhand', 'intake', {str(trial)!r}, {str(path)!r}, '--of', 'Fern', '--yes']\n"
        "from evenhand.cli.main import main; sys.exit(main())"
    )
    return [sys.executable, "-c", script]


def baseline(path: Path, out: Path, engine: str) -> list[str]:
    """The general reader with a known schema and the bulk insert, into a new file each time."""
    script = f"import os, sys\nif os.path.exists({str(out)!r}): os.remove({str(out)!r})\n{BASELINE}"
    return [sys.executable, "-c", script, str(path), str(out), engine]


def engines() -> list[str]:
    """The general readers at hand."""
    return [name for name in ("pandas", "pyarrow") if importlib.util.find_spec(name) is not None]


def in_turn(commands: dict[str, list[str]], runs: int) -> dict[str, tuple[float, float, float]]:
    """Median wall seconds, memory and processor seconds of each command, run in turn after one warm-up."""
    found: dict[str, list[tuple[float, float, float]]] = {name: [] for name in commands}
    for turn in range(runs + 1):
        for name, command in commands.items():
            one = spent(command)
            if turn:
                found[name].append(one)
    return {
        name: (
            statistics.median(one[0] for one in each),
            statistics.median(one[1] for one in each),
            statistics.median(one[2] for one in each),
        )
        for name, each in found.items()
    }


def measure(folder: Path, rows: int, *, wide: bool, runs: int) -> tuple[str, float]:
    """A row of the page for one kind of file, and the ratio to the fastest reader."""
    path = folder / f"{'wide' if wide else 'plain'}.csv"
    table(path, rows, wide=wide)
    fresh = folder / "fresh.trial"
    if not fresh.exists():
        import subprocess

        from benchmarks.speed import quiet

        subprocess.run(
            evenhand("new", str(fresh), "--sensor", "Fern", "--sensor", "Slate", "--zone", "Europe/Lisbon"),
            check=True, capture_output=True, env=quiet(),
        )  # fmt: skip
    commands = {
        "evenhand": take(folder / "taken.trial", path, fresh),
        **{name: baseline(path, folder / f"{name}.db", name) for name in engines()},
        "imports": [
            sys.executable,
            "-c",
            "import numpy, rich.console, sqlite3, cyclopts, evenhand.intake.propose",
        ],
        "bare": [sys.executable, "-c", "pass"],
    }
    found = in_turn(commands, runs)
    best = min(engines(), key=lambda name: found[name][2])
    ratio = found["evenhand"][2] / found[best][2]
    size = path.stat().st_size / 2**20
    memory = (found["evenhand"][1] - found["imports"][1]) / size
    what = "six columns, with device, kind, notes and a serial" if wide else "two columns"
    readers = " / ".join(f"{name} {found[name][2]:.2f} s ({found[name][0]:.2f} s)" for name in engines())
    told = f"| {rows} rows, {what} ({size:.1f} MB) | {found['evenhand'][2]:.2f} s ({found['evenhand'][0]:.2f} s) | {readers} | {ratio:.2f} "
    return f"{told}| {found['evenhand'][1]:.0f} MB | {memory:.1f} |", ratio


def page(folder: Path, rows: int = ROWS, runs: int = RUNS) -> str:
    """The page."""
    lines = []
    ratios = []
    for wide in (False, True):
        told, ratio = measure(folder, rows, wide=wide, runs=runs)
        lines.append(told)
        ratios.append(ratio)
    return "\n".join(
        [
            "# Speed and memory of intake, measured",
            "",
            "<!-- written by python -m benchmarks.intake; change that, not this page -->",
            "",
            f"Whole processes, in turn, medians of {runs} in seconds of the processor (on the wall in brackets; the machine had other work). The general readers are told the columns, their types and the",
            "form of the times beforehand, read nothing else, check nothing, and put time and value into a new SQLite file with executemany.",
            "Evenhand guesses all of it, places every time in its zone, gives every row its fate, and writes readings and ledger.",
            "",
            "| file | `intake --yes` | reader with a known schema, plain insert | over the fastest (goal 2, at most 4) | memory | over the imports, in sizes of the file (goal at most 10) |",
            "|---|---|---|---|---|---|",
            *lines,
            "",
            f"Worst ratio: {max(ratios):.2f}.",
            "",
        ]
    )


def main() -> None:
    """Measure and write docs/speed-intake.md."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    folder = Path(tempfile.mkdtemp())
    try:
        text = page(folder, rows)
    finally:
        shutil.rmtree(folder)
    if rows == ROWS:
        (ROOT / "docs" / "speed-intake.md").write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()

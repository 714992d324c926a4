"""Speed and memory as ratios, side by side in one run: `python -m benchmarks.speed` writes docs/speed.md.

Whole processes in turn (A B A B ...), medians; the machine's own speed cancels in the ratios.
"""

from __future__ import annotations

import math
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[1]
RUNS = 7
DAYS = (10, 20, 40, 90)
IMPORTS = "import numpy, scipy.special, msgspec, rich.console, sqlite3, cyclopts"


def evenhand(*words: str) -> list[str]:
    return [sys.executable, "-m", "evenhand.cli.main", *words]


LAUNCHER = """
import os, subprocess, sys, time
start = time.perf_counter()
child = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL)
_, status, used = os.wait4(child.pid, 0)
print(time.perf_counter() - start, used.ru_maxrss / 1024, used.ru_utime + used.ru_stime, status)
"""
"""Starts the command from a small process: a child's peak memory is never told as less than its parent's."""


def timed(command: Sequence[str]) -> tuple[float, float]:
    """Wall seconds and peak memory in MB of one run of a command."""
    return spent(command)[:2]


def spent(command: Sequence[str]) -> tuple[float, float, float]:
    """Wall seconds, peak memory in MB and processor seconds of one run of a command."""
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", LAUNCHER, *command],
        capture_output=True,
        text=True,
        check=True,
        env=quiet(),
    )
    seconds, memory, processor, status = done.stdout.split()
    if status != "0":
        raise SystemExit(f"{command}: {done.stderr}")
    return float(seconds), float(memory), float(processor)


def quiet() -> dict[str, str]:
    return {**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": str(ROOT / "src"), "NO_COLOR": "1"}


def in_turn(commands: dict[str, Sequence[str]], runs: int = RUNS) -> dict[str, tuple[float, float]]:
    """Median seconds and memory of each command, run in turn after one warm-up."""
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in commands}
    for turn in range(runs + 1):
        for name, command in commands.items():
            one = timed(command)
            if turn:
                found[name].append(one)
    return {
        name: (statistics.median(s for s, _ in each), statistics.median(m for _, m in each))
        for name, each in found.items()
    }


def trial_file(days: int, folder: Path) -> Path:
    """A trial of so many days, 2 sensors and 7 sticks a day, as a trial file and as exported tables."""
    from benchmarks.trials import save
    from evenhand.rehearse.scenarios import plain

    path = folder / f"days{days}.trial"
    save(plain(days, max(1, days // 10), 7.0), 1, path)
    tables = folder / f"days{days}"
    tables.mkdir()
    for what in ("readings", "sticks"):
        done = subprocess.run(
            evenhand("export", str(path), what, "--format", "csv"),
            capture_output=True,
            check=True,
            env=quiet(),
        )
        (tables / f"{what}.csv").write_bytes(done.stdout)
    return path


def growth(seconds: dict[int, float], floor: float) -> float:
    """The exponent of time over days, the interpreter and its imports taken off."""
    days = sorted(seconds)
    x = [math.log(day) for day in days]
    y = [math.log(max(seconds[day] - floor, 1e-3)) for day in days]
    mx, my = statistics.mean(x), statistics.mean(y)
    return sum((a - mx) * (b - my) for a, b in zip(x, y, strict=True)) / sum((a - mx) ** 2 for a in x)


def run(folder: Path) -> str:
    paths = {days: trial_file(days, folder) for days in DAYS}
    bare = [sys.executable, "-c", "pass"]
    sides = in_turn(
        {
            "judge": _clearing(paths[20]),
            "notebook": [sys.executable, str(ROOT / "benchmarks" / "notebook.py"), str(folder / "days20")],
            "imports": [sys.executable, "-c", IMPORTS],
        },
        runs=3,
    )
    sizes = {
        days: in_turn({"judge": _clearing(path), "imports": [sys.executable, "-c", IMPORTS]}, 3)
        for days, path in paths.items()
    }
    stick = in_turn(
        {"stick": evenhand("stick", str(paths[10]), "110", "--at", "2026-02-05 12:00"), "bare": bare}, runs=20
    )
    return page(sides, sizes, stick)


def _clearing(path: Path) -> list[str]:
    """`judge` in a fresh process, with the Findings stored by the run before taken out first."""
    script = (
        "import sqlite3, sys; from contextlib import closing\n"
        f"with closing(sqlite3.connect({str(path)!r})) as file, file: file.execute('DELETE FROM findings')\n"
        f"sys.argv = ['evenhand', 'judge', {str(path)!r}, '--json', '--sticks-only']\n"
        "from evenhand.cli.main import main; main()"
    )
    return [sys.executable, "-c", script]


def page(
    sides: dict[str, tuple[float, float]],
    sizes: dict[int, dict[str, tuple[float, float]]],
    stick: dict[str, tuple[float, float]],
) -> str:
    judge, notebook, imports = (sides[name] for name in ("judge", "notebook", "imports"))
    floor = statistics.median(each["imports"][0] for each in sizes.values())
    exponent = growth({days: each["judge"][0] for days, each in sizes.items()}, floor)
    rows = [
        f"| {days} | {each['judge'][0] / each['imports'][0]:.2f} | {each['judge'][1]:.0f} MB |"
        for days, each in sizes.items()
    ]
    return "\n".join(
        [
            "# Speed and memory, measured",
            "",
            "<!-- written by `make bench`; change benchmarks/speed.py, not this page -->",
            "",
            "Whole processes, in turn, medians. Ratios are what counts; seconds are of one machine (2 cores, one BLAS thread).",
            "",
            "| what | value | goal |",
            "|---|---|---|",
            f"| `judge`, 20 days, 2 sensors, 140 sticks, everything computed | {judge[0]:.2f} s | at most 1 s |",
            f"| the same over interpreter and imports | {judge[0] / imports[0]:.2f} | at most 2 |",
            f"| the same over a plain notebook (merges, loops, {2000} bootstrap draws a number) | 1/{notebook[0] / judge[0]:.0f} | - |",
            f"| memory of `judge`; of the notebook | {judge[1]:.0f} MB; {notebook[1]:.0f} MB | - |",
            f"| growth exponent of `judge` from 10 to 90 days, imports taken off | {exponent:.2f} | at most 1.1 |",
            f"| `stick 110`, whole command | {1000 * stick['stick'][0]:.0f} ms | under 150 ms |",
            f"| a bare interpreter beside it | {1000 * stick['bare'][0]:.0f} ms | - |",
            "",
            "| days | `judge` over interpreter and imports | memory |",
            "|---|---|---|",
            *rows,
            "",
        ]
    )


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        text = run(Path(name))
    (ROOT / "docs" / "speed.md").write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()

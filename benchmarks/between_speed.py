"""Speed and memory of the reconstruction, side by side in one run: `python -m benchmarks.between_speed` writes
docs/speed-between.md.

Whole processes in turn, medians. `--days 20,40` chooses sizes, `--no-notebook` leaves the slow side out.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

from benchmarks.speed import growth, in_turn, trial_file
from benchmarks.trials import save
from evenhand.rehearse.scenarios import interval

ROOT = Path(__file__).parents[1]
GOAL, LIMIT = 3.0, 6.0


def judging(path: Path, *words: str) -> list[str]:
    """`judge` in a fresh process, with the findings stored by the run before taken out first."""
    given = ["evenhand", "judge", str(path), "--json", *words]
    script = (
        "import sqlite3, sys; from contextlib import closing\n"
        f"with closing(sqlite3.connect({str(path)!r})) as file, file: file.execute('DELETE FROM findings')\n"
        f"sys.argv = {given!r}\n"
        "from evenhand.cli.main import main; main()"
    )
    return [sys.executable, "-c", script]


def fitting(path: Path) -> list[str]:
    """The joint fit, the numbers of every sensor against it and the held-out check, without the fits that check them."""
    script = (
        "import evenhand.judge.between as between\n"
        "between._submit = lambda pool, trial, layout, asked: lambda: between.nothing('not-defined')\n"
        "from pathlib import Path\n"
        "from evenhand.judge.judge import judge\n"
        "from evenhand.store import file as store\n"
        f"judge(store.read(Path({str(path)!r})))"
    )
    return [sys.executable, "-c", script]


def run(folder: Path, days: tuple[int, ...], *, notebook: bool) -> str:
    paths = {size: trial_file(size, folder) for size in days}
    first = paths[days[0]]
    minute = folder / "minute.trial"
    save(replace(interval(1), days=20), 1, minute)
    sides = {
        "without the checks": fitting(first),
        "judge": judging(first),
        "by sticks only": judging(first, "--sticks-only"),
        "one-minute sensors": judging(minute),
    }
    if notebook:
        tables = folder / f"days{days[0]}"
        sides["notebook"] = [sys.executable, str(ROOT / "benchmarks" / "between_notebook.py"), str(tables)]
    found = in_turn(sides, runs=3)
    sizes = {size: in_turn({"judge": judging(path)}, 1)["judge"] for size, path in paths.items()}
    return page(found, sizes, days[0])


def page(found: dict[str, tuple[float, float]], sizes: dict[int, tuple[float, float]], days: int) -> str:
    core, whole = found["without the checks"], found["judge"]
    lines = [
        "# Speed of the reconstruction", "",
        "<!-- written by `python -m benchmarks.between_speed`; change benchmarks, not this page -->", "",
        f"Cold processes side by side in one run, medians of three; {days} days, two sensors every five minutes, seven sticks a day.", "",
        "| what | seconds | memory, MB |", "|---|---|---|",
        f"| joint fit, numbers and held-out check, in a whole judgement without the fits that check it | {core[0]:.1f} | {core[1]:.0f} |",
        f"| `judge`, those fits on a second core | {whole[0]:.1f} | {whole[1]:.0f} |",
    ]  # fmt: skip
    for name in ("by sticks only", "one-minute sensors"):
        lines.append(f"| `judge`, {name} | {found[name][0]:.1f} | {found[name][1]:.0f} |")
    if "notebook" in found:
        seconds, memory = found["notebook"]
        lines += [
            f"| a notebook with statsmodels and loops (fewer parameters, none of them drawn) | {seconds:.1f} | {memory:.0f} |", "",
            f"The fit takes {core[0] / seconds:.3f} of the notebook's time, the whole judgement {whole[0] / seconds:.3f}.",
        ]  # fmt: skip
    verdict = "kept" if core[0] <= LIMIT else "not kept"
    lines += [
        "",
        f"At most {LIMIT:g} s for the first line: {verdict}; the goal of {GOAL:g} s: {'reached' if core[0] <= GOAL else 'not reached'}.",
        "",
    ]
    if len(sizes) > 1:
        lines += ["| days | seconds | memory, MB |", "|---|---|---|"]
        lines += [f"| {size} | {seconds:.1f} | {memory:.0f} |" for size, (seconds, memory) in sizes.items()]
        exponent = growth({size: seconds for size, (seconds, _) in sizes.items()}, 0.5)
        lines += ["", f"Time grows with days to the power of {exponent:.2f}."]
    return "\n".join(lines) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.between_speed")
    parser.add_argument("--days", default="20,40,90")
    parser.add_argument("--no-notebook", action="store_true")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        text = run(
            Path(name), tuple(int(one) for one in given.days.split(",")), notebook=not given.no_notebook
        )
    (ROOT / "docs" / "speed-between.md").write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()

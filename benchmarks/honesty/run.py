"""Runs what is missing, two processes side by side, a line of JSON a trial; may be stopped at any moment."""

from __future__ import annotations

import ast
import hashlib
import json
import os
import re
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from benchmarks.honesty.measure import Row, measure
from benchmarks.honesty.worlds import Case, cases

ROOT = Path(__file__).parents[2]
RESULTS = ROOT / "bench-results" / "honesty"
CHUNK = 40
FIRST_SEED = 70_000


def stamp() -> str:
    """What the results depend on: the code that invents, pairs and estimates, comments and docstrings aside."""
    digest = hashlib.sha256()
    rooms = ("clock.py", "units.py", "records", "stats", "rehearse", "compare")
    for room in rooms:
        top = ROOT / "src" / "evenhand" / room
        for path in [top] if top.is_file() else sorted(top.rglob("*.py")):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            for node in ast.walk(tree):
                if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node):
                    node.body = node.body[1:]
            digest.update(ast.dump(tree).encode())
    for part in ("expected.py", "measure.py"):
        digest.update((ROOT / "benchmarks" / "honesty" / part).read_bytes())
    return digest.hexdigest()[:12]


def path_of(name: str, folder: Path) -> Path:
    """The results file of a world; a sign before a number is kept as a word, so that +3 and -3 are two files."""
    name = re.sub(r"\+(?=\d)", "plus ", re.sub(r"(?<![\w])-(?=\d)", "minus ", name))
    return folder / (re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") + ".jsonl")


def rows(name: str, folder: Path) -> list[Row]:
    """What is there; a line cut off by a stop is left out."""
    path = path_of(name, folder)
    if not path.exists():
        return []
    found = []
    for line in path.read_text(encoding="utf-8").splitlines():
        try:
            found.append(json.loads(line))
        except json.JSONDecodeError:
            continue
    return list({row["seed"]: row for row in found}.values())


def one(case: Case, seed: int) -> str:
    return json.dumps(measure(case.world, seed, peek=case.peek), allow_nan=True)


def chunk(case: Case, seeds: list[int]) -> list[str]:
    return [one(case, seed) for seed in seeds]


def run(trials: int, folder: Path, wanted: list[str], workers: int) -> None:
    """Invent and measure until every wanted case has `trials` trials."""
    folder.mkdir(parents=True, exist_ok=True)
    table = cases()
    with ProcessPoolExecutor(workers) as pool:
        for place, name in enumerate(wanted, 1):
            have = {int(row["seed"] or 0) for row in rows(name, folder)}
            missing = [seed for seed in range(FIRST_SEED, FIRST_SEED + trials) if seed not in have]
            chunks = [missing[start : start + CHUNK] for start in range(0, len(missing), CHUNK)]
            done = len(have)
            with path_of(name, folder).open("a", encoding="utf-8") as out:
                out.write("\n")  # a line cut off by a stop ends here
                for lines in pool.map(chunk, [table[name]] * len(chunks), chunks):
                    out.write("".join(line + "\n" for line in lines))
                    out.flush()
                    done += len(lines)
                    print(f"\r{place}/{len(wanted)} {name}: {done}/{trials}   ", end="", file=sys.stderr)
            print(file=sys.stderr)


def main(trials: int = 2000, workers: int | None = None) -> Path:
    folder = RESULTS / stamp()
    run(trials, folder, list(cases()), workers or os.cpu_count() or 1)
    return folder

"""Runs what is missing of the reconstruction's worlds, a line of JSON a trial; may be stopped at any moment.

`python -m benchmarks.honesty.between_run [--workers N] [--share PERCENT] [--page] [WORLD ...]`: every world, or those whose
name contains one of the words given. `--share 20` stops at a fifth of each world's trials, so that all of them have
some early; more can be added later. `--page` writes docs/honesty-between.md from what is there and runs nothing; a run writes it at its end.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import json
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")

from benchmarks.honesty.between import measure  # noqa: E402
from benchmarks.honesty.between_page import write  # noqa: E402
from benchmarks.honesty.between_worlds import BetweenCase, between_cases  # noqa: E402
from benchmarks.honesty.run import ROOT, path_of, rows  # noqa: E402

RESULTS = ROOT / "bench-results" / "between"
CHUNK = 2
FIRST_SEED = 190_000


def stamp() -> str:
    """What the results depend on: every module of Evenhand that measuring one trial imports, and the measuring,
    comments and docstrings aside. A new room or a new page changes nothing."""
    digest = hashlib.sha256()
    for name, tree in sorted(_imported("benchmarks.honesty.between").items()):
        for node in ast.walk(tree):
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node):
                node.body = node.body[1:]
        digest.update((name + ast.dump(tree)).encode())
    return digest.hexdigest()[:12]


def _imported(first: str) -> dict[str, ast.Module]:
    """The module and every one of Evenhand's that it imports, directly or not, parsed; the shapes of findings aside."""
    found: dict[str, ast.Module] = {}
    waiting = [first]
    while waiting:
        name = waiting.pop()
        path = _file(name)
        if path is None or name in found or name.startswith("evenhand.findings"):
            continue
        found[name] = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(found[name]):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("evenhand"):
                waiting += [node.module, *(f"{node.module}.{one.name}" for one in node.names)]
    return found


def _file(name: str) -> Path | None:
    top = ROOT / "src" if name.startswith("evenhand") else ROOT
    path = top.joinpath(*name.split("."))
    for one in (path.with_suffix(".py"), path / "__init__.py"):
        if one.is_file():
            return one
    return None


def chunk(case: BetweenCase, seeds: list[int]) -> list[str]:
    """The lines of these trials."""
    return [
        json.dumps(
            measure(
                case.world,
                seed,
                alone=seed < FIRST_SEED + case.checked,
                bound=seed < FIRST_SEED + case.checked and case.part == "plain",
            )
        )
        for seed in seeds
    ]


def missing(case: BetweenCase, share: float, folder: Path) -> list[int]:
    """The seeds of a case that are not there yet."""
    have = {int(row["seed"] or 0) for row in rows(case.world.name, folder)}
    upto = max(1, round(case.trials * share))
    return [seed for seed in range(FIRST_SEED, FIRST_SEED + upto) if seed not in have]


def run(share: float, folder: Path, wanted: list[str], workers: int) -> None:
    """Measure until every wanted case has its share of trials; says how far it is on standard error."""
    folder.mkdir(parents=True, exist_ok=True)
    table = between_cases()
    work = {name: missing(table[name], share, folder) for name in wanted}
    total, done, began = sum(map(len, work.values())), 0, time.monotonic()
    with ProcessPoolExecutor(workers) as pool:
        for name, seeds in work.items():
            with path_of(name, folder).open("a", encoding="utf-8") as out:
                out.write("\n")  # a line cut off by a stop ends here
                waiting = [
                    pool.submit(chunk, table[name], seeds[start : start + CHUNK])
                    for start in range(0, len(seeds), CHUNK)
                ]
                for ready in as_completed(waiting):
                    lines = ready.result()
                    out.write("".join(line + "\n" for line in lines))
                    out.flush()
                    done += len(lines)
                    left = (time.monotonic() - began) / done * (total - done) / 60
                    print(
                        f"{name}: {done} of {total} trials in all, about {left:.0f} min to go",
                        file=sys.stderr,
                    )


def main(arguments: list[str]) -> Path:
    """As the module says; the folder of the results."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.honesty.between_run")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--share", type=float, default=100.0)
    parser.add_argument("--page", action="store_true")
    parser.add_argument("world", nargs="*")
    given = parser.parse_args(arguments)
    folder = RESULTS / stamp()
    names = [name for name in between_cases() if not given.world or any(word in name for word in given.world)]
    if not given.page:
        run(given.share / 100.0, folder, names, given.workers)
    return folder


if __name__ == "__main__":
    write(main(sys.argv[1:]))

"""How often a winner is named by chance alone: with the seal, with declared looks, and with a look every evening.

Trials are invented in which the two sensors' true errors are equal over the whole trial. Each is judged as its wearer would
have: once at its declared end; at two or three declared looks with their corrected levels, stopping as declared; and every
evening from the seventh day on at 95 %, stopping at the first winner. `python -m benchmarks.honesty.looking [TRIALS]` runs what
is missing and writes docs/looking.md; it may be stopped at any moment.
"""

from __future__ import annotations

import json
import math
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

from benchmarks.honesty.measure import BOTH, MARGIN, terms, true_difference, true_over
from benchmarks.honesty.run import CHUNK, FIRST_SEED, RESULTS, path_of, rows, stamp
from evenhand.compare.common import asked, common
from evenhand.compare.head_to_head import difference, lacking
from evenhand.compare.layout import lay_out
from evenhand.compare.splits import Split
from evenhand.findings import METHOD
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import no_difference
from evenhand.stats.decision import Confidence, Verdict, confidence, decide
from evenhand.stats.quantiles import t_quantile
from evenhand.stats.visits import VisitMean

ROOT = Path(__file__).parents[2]
NAME = "looking"
Row = dict[str, int | None]


def look(seed: int) -> Row:
    """One trial: for each way of looking, the sign of the winner it names (0: none), against nothing (`_named`), and taken off
    the truth of the days so far (`_chance`) and of the whole trial (`_whole`)."""
    invented = invent(no_difference(), seed)
    layout = lay_out(invented.trial)
    split = asked(layout, BOTH, terms())
    told = difference(common(layout, split), terms())
    whole = (true_difference(layout, told, invented.truth), told.k)
    days = np.unique(layout.pairs.day)
    row: Row = {"seed": seed}
    for looks in (1, 2, 3):
        last = int(days[-1])
        ends = [
            int(days[0]) + (last - int(days[0]) + 1) * number // looks - 1 for number in range(1, looks + 1)
        ]
        row |= _way(
            f"looks_{looks}", layout, split, invented.truth, (ends, confidence(looks), whole), settles=True
        )
    evenings = [int(day) for day in days]
    row |= _way("evenings", layout, split, invented.truth, (evenings, confidence(1), whole), settles=False)
    return row


def _way(name, layout, split, truth, plan, *, settles) -> Row:
    """Looks on the given days until one ends the trial: at declared looks an answer that settles (closer by more than the
    margin, or equal), every evening any winner."""
    days, levels, (whole, k) = plan
    found = {}
    for kind in ("named", "chance", "whole"):
        found[f"{name}_{kind}"] = 0
        for day in days:
            until = _until(layout, split, day)
            pairs = common(layout, until)
            mean = pairs.visits.mean(pairs.farther)
            if lacking(pairs, mean) is not None:
                continue
            true = {"named": 0.0, "whole": whole}.get(kind)
            verdict = _verdict(
                mean, -(true_over(layout, truth, until, mean) if true is None else true), levels, k
            )
            ends = (
                verdict.beyond_margin == "yes" or verdict.state == "equal" if settles else verdict.sign != 0
            )
            if ends or day == days[-1]:
                found[f"{name}_{kind}"] = verdict.sign
                break
    return found


def _until(layout, split: Split, day: int) -> Split:
    assert split.minutes is not None
    return replace(
        split,
        pairs=split.pairs & (layout.pairs.day <= day),
        minutes=split.minutes & (layout.minutes.day <= day),
    )


def _verdict(found: VisitMean, by: float, levels: Confidence, k: float | None) -> Verdict:
    """The verdict if the difference had come out `by` mg/dL higher."""

    def limits(level: float) -> tuple[float, float] | None:
        if found.value is None or found.variance is None or found.df is None:
            return None
        half = t_quantile(0.5 + level / 2, found.df) * math.sqrt(found.variance)
        return found.value + by - half, found.value + by + half

    return decide(limits, MARGIN, k, levels)


def run(trials: int, folder: Path, workers: int) -> None:
    """Look at every trial that is not looked at yet."""
    folder.mkdir(parents=True, exist_ok=True)
    have = {int(row["seed"] or 0) for row in rows(NAME, folder)}
    missing = [seed for seed in range(FIRST_SEED, FIRST_SEED + trials) if seed not in have]
    with ProcessPoolExecutor(workers) as pool, path_of(NAME, folder).open("a", encoding="utf-8") as out:
        for done, row in enumerate(pool.map(look, missing, chunksize=CHUNK // 4), len(have) + 1):
            out.write(json.dumps(row) + "\n")
            out.flush()
            print(f"\r{done}/{trials} trials", end="", file=sys.stderr)


def shares(found: list[Row], key: str) -> tuple[float, float]:
    """The share of trials that name a winner, in percent, with its Monte Carlo standard error."""
    share = float(np.mean([bool(row[key]) for row in found]))
    return 100 * share, 100 * math.sqrt(share * (1 - share) / len(found))


PAGE = """# Looking early, simulated

<!-- written by python -m benchmarks.honesty.looking; change benchmarks/honesty/looking.py, not this page -->

{trials:,} invented trials of 20 days, two wears of each sensor, seven planned sticks a day, in which the two sensors' true errors
are equal over the whole trial. Whoever names a winner names it by chance. METHOD {method}, code {stamp}, ± one Monte Carlo
standard error.

| how it is looked at | a winner named | against the truth of the days looked at | against the truth of the whole trial |
|---|---|---|---|
{rows}

*A winner named* is what the wearer would read. The truth of the first days is not that of the whole trial: a sensor may have been the
closer one in the first week and not in the end. The second column takes that away and leaves chance alone; the third holds every
early look against where the trial would have ended.

With the seal, one look at the declared end, the share is meant to be 5 % and comes out lower because planned sticks are told too
widely (decision 0060): it lies at the low edge of the 2.5 to 6 % that were promised. Two and three declared looks pay for themselves: the trial ends early only where the answer is settled. A look
every evening does not: {evening_named:.0f} % of such trials would have stopped with a winner where there is none in the end.

Declared looks are judged at {two} and {three} instead of 95 % (Pocock 1977; `tests/judge/test_looks.py` integrates the constants anew).
"""

WAYS = (
    ("looks_1", "sealed: once, at the declared end"),
    ("looks_2", "two declared looks"),
    ("looks_3", "three declared looks"),
    ("evenings", "every evening from the seventh day with a stick on, stopping at the first winner"),
)


def write(found: list[Row], target: Path, code: str) -> str:
    """The page."""
    lines = []
    for key, words in WAYS:
        cells = [
            f"{share:.1f} % ± {error:.1f}"
            for share, error in (shares(found, f"{key}_{kind}") for kind in ("named", "chance", "whole"))
        ]
        lines.append(f"| {words} | {' | '.join(cells)} |")
    levels = [f"{100 * confidence(looks).difference:.2f} %" for looks in (2, 3)]
    page = PAGE.format(
        trials=len(found), method=METHOD, stamp=code, rows="\n".join(lines), two=levels[0], three=levels[1],
        evening_named=shares(found, "evenings_named")[0],
    )  # fmt: skip
    target.write_text(page, encoding="utf-8")
    return page


def main(trials: int = 2000) -> None:
    code = stamp()
    folder = RESULTS / code
    run(trials, folder, os.cpu_count() or 1)
    print(write(rows(NAME, folder), ROOT / "docs" / "looking.md", code))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)

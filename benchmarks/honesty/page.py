"""Writes docs/honesty.md around the tables."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from benchmarks.honesty import table
from evenhand.findings import METHOD

ROOT = Path(__file__).parents[2]

HEAD = """# Honesty, measured

<!-- written by `make bench`; change benchmarks/honesty, not this page -->

Does a 95 % interval of Evenhand hold the truth in 95 of 100 trials? Nobody can see that in a real trial, where the truth is
not known. So trials are invented whose truth is known (`evenhand.rehearse`, which shares no model with anything that estimates),
judged by the same code as any trial, and counted. Made under METHOD {method} at commit {commit}, code {stamp}, {trials} trials a
world. Anyone can run it again: `make bench` (an hour or two on two cores; it can be stopped and resumed), and `python -m
benchmarks.honesty --check` says whether this page is of the code beside it.

What is held to be true is what the page says it estimates: what *this meter* would have given on average, its random error included, had
a stick been taken at every eligible minute of *these wears*. So a meter that reads 5 % high is no error of the interval here; it is a
limit of the question, and the meter span stands beside every answer for it. What is said between the sticks is measured in
[honesty-between.md](honesty-between.md).

How to read: observed coverage in percent ± Monte Carlo standard error. A promise is kept between 93 and 97; `!` marks 91-93 and 97-98.5
(a weakness), `!!` what lies beyond (a defect in a plain world; in a strained world, how far the promise falls). Trials that gave no
interval (too few visits) are not counted: where they are more than one in a hundred, the number of trials behind a cell stands in
brackets.
"""


MADE = re.compile(r"Made under METHOD (\d+)(?: at commit (\w+))?, code (\w+)")
STALE = "**Stale:**"


def stale(text: str, stamp: str) -> str | None:
    """Why a page is not of this code, in one line; None where it is."""
    made = MADE.search(text)
    if made is None:
        return f"{STALE} this page does not say which code it is of."
    if made[3] == stamp:
        return None
    words = f"{STALE} the numbers below were made under METHOD {made[1]}, code {made[3]}."
    if int(made[1]) == METHOD:
        return (
            f"{words} The code that invents, pairs and estimates has changed since; the method is the same."
        )
    return f"{words} The method is {METHOD} now, and they have not been run again yet."


def marked(text: str, stamp: str) -> str:
    """The page with the line that it is stale under its heading, or without."""
    lines = [line for line in text.split("\n") if not line.startswith(STALE)]
    why = stale(text, stamp)
    plain = "\n".join(lines).replace("\n\n\n", "\n\n")
    return plain if why is None else plain.replace("\n\n", f"\n\n{why}\n\n", 1)


def commit() -> str:
    """The commit the code stands at, 12 figures; 'unknown' outside a checkout."""
    found = subprocess.run(
        ["git", "rev-parse", "--short=12", "HEAD"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    return found.stdout.strip() or "unknown"


def check(stamp: str) -> str | None:
    """Why docs/honesty.md is stale; it is marked so, or the mark is taken off."""
    path = ROOT / "docs" / "honesty.md"
    text = path.read_text(encoding="utf-8")
    path.write_text(marked(text, stamp), encoding="utf-8")
    return stale(text, stamp)


def write(folder: Path) -> None:
    """The whole page, from the results in `folder`."""
    parts = [
        HEAD.format(method=METHOD, commit=commit(), stamp=folder.name, trials=table.trials(folder)),
        "## Plain worlds: here the promises must hold\n", *table.coverage_table(("plain",), folder), "",
        *table.verdicts(folder), "",
        "## The answer\n",
        "Margin 3 mg/dL. 'Wrong side named' counts a winner that truly was the farther one of these wears.\n",
        *table.answer_table(folder), "",
        ("The kinds in *identical kinds* are the same, but the wears differ: naming the closer of *these wears* is then no false "
        "answer, and says nothing of the next pair. That is why both stand in one sentence, and why a wearer "
        "should not read the first half alone."), "",
        "### Looking early\n", table.peeking(folder), "",
        "## The next one out of the box\n",
        ("Another pair of wears of the same kinds is invented and its truth held against what was said: the chance that the next one is closer "
        "(told only from three wears of each on, never above 85 %), and the interval of the ratio of their mean differences.\n"),
        *table.next_table(folder), "",
        "## Strained worlds: how far each promise falls\n",
        "Each is the plain world of 20 days, 2 + 2 wears and 7 sticks a day with one thing changed.\n",
        *table.coverage_table(("strained",), folder), "",
        "### Meter and sensors told apart (mg²/dL²)\n",
        ("Error variances from three-way separation. Both sensors sit in the same fluid: what they share, their lag and any error in common, "
        "counts as the meter's and is missing from the sensors. So 'meter, told' is the meter and all that both sensors share; the table says "
        "how much more that is than the meter's own error, and how often an interval read as the meter's would hold it.\n"),
        *table.apart_table(folder), "",
        "### Error of the difference itself (mg/dL)\n", *table.error_table(folder), "",
    ]  # fmt: skip
    (ROOT / "docs" / "honesty.md").write_text("\n".join(parts), encoding="utf-8")

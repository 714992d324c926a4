"""Writes docs/honesty.md around the tables."""

from __future__ import annotations

from pathlib import Path

from benchmarks.honesty import table
from evenhand.findings import METHOD

ROOT = Path(__file__).parents[2]

HEAD = """# Honesty, measured

<!-- written by `make bench`; change benchmarks/honesty, not this page -->

Does a 95 % interval of Evenhand hold the truth in 95 of 100 trials? Nobody can see that in a real trial, where the truth is
not known. So trials are invented whose truth is known (`evenhand.rehearse`, which shares no model with anything that estimates),
judged by the same code as any trial, and counted. Made under METHOD {method}, code {stamp}. Anyone can run it again: `make bench`
(about an hour on two cores; it can be stopped and resumed).

What is held to be true is what the page says it estimates: what *this meter* would have given on average, its random error included, had
a stick been taken at every eligible minute of *these wears*. So a meter that reads 5 % high is no error of the interval here; it is a
limit of the question, and the meter span stands beside every answer for it. What is said between the sticks is measured in
[honesty-between.md](honesty-between.md).

How to read: observed coverage in percent ± Monte Carlo standard error. A promise is kept between 93 and 97; `!` marks 91-93 and 97-98.5
(a weakness), `!!` what lies beyond (a defect in a plain world; in a strained world, how far the promise falls). Trials that gave no
interval (too few visits) are not counted.
"""


def write(folder: Path) -> None:
    """The whole page, from the results in `folder`."""
    parts = [
        HEAD.format(method=METHOD, stamp=folder.name),
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
        "### Error of the difference itself (mg/dL)\n", *table.error_table(folder), "",
    ]  # fmt: skip
    (ROOT / "docs" / "honesty.md").write_text("\n".join(parts), encoding="utf-8")

"""The honesty benchmark's plumbing: 40 trials with fixed seeds, resumable, and a table that says what was counted.

Forty trials cannot show that an interval covers; the 2,000 in docs/honesty.md do. They show that nothing is broken.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from benchmarks.honesty import __main__ as command
from benchmarks.honesty import page, run, table
from benchmarks.honesty.measure import measure, next_seed
from benchmarks.honesty.worlds import cases

from evenhand.findings import METHOD
from evenhand.rehearse.scenarios import no_difference, plain

TRIALS = 40
FIRST = 900


@pytest.fixture(scope="module")
def found():
    """Forty trials of the plain world of 20 days."""
    return [measure(plain(), seed) for seed in range(FIRST, FIRST + TRIALS)]


@pytest.mark.parametrize("column", ["d", "mad_all", "bias", "within"])
def test_most_intervals_hold_the_truth(found, column):
    """Of 40 intervals at 95 % at least 34 hold (fewer has a chance below one in a thousand)."""
    hits = table.covered(found, column)
    assert len(hits) == TRIALS
    assert sum(hits) >= 34


def test_the_estimates_are_not_off_on_average(found):
    """The mean error of the difference lies within four standard errors of nought."""
    off = [row["d"] - row["d_true"] for row in found]
    mean = sum(off) / TRIALS
    sd = math.sqrt(sum((one - mean) ** 2 for one in off) / (TRIALS - 1))
    assert abs(mean) < 4 * sd / math.sqrt(TRIALS)


def test_a_trial_is_measured_the_same_again(found):
    """The same world and seed, the same line."""
    again = measure(plain(), FIRST)
    assert json.dumps(again) == json.dumps(found[0])


def test_the_difference_asked_for_is_the_truth():
    """A world that asks for no difference has none over the eligible minutes, to a tenth of a mg/dL."""
    row = measure(no_difference(), 5, peek=True)
    assert abs(row["d_true"]) < 0.1
    assert row["peeked"] in (0, 1)
    assert row["peeked_whole"] >= 0


def test_meter_and_sensor_are_held_against_their_own_errors(found):
    """The meter's variance told is at least the meter's own on average (what both sensors share comes on top), and the
    sensor's at most its scatter about blood."""
    meter, sensor = (
        [np.mean([row[f"{what}_{end}"] for row in found]) for end in ("value", "true")]
        for what in ("var_meter", "var_a")
    )
    assert 30 < meter[1] < 80  # 5 % of glucose about 150 mg/dL, squared
    assert meter[0] > 0.9 * meter[1]
    assert sensor[0] < 1.1 * sensor[1]


def test_the_table_of_meter_and_sensors(tmp_path, found):
    """A row for each plain world that was run with at least a hundred trials."""
    rows = [{**row, "seed": row["seed"] + 1000 * copy} for copy in range(3) for row in found]
    run.path_of(plain().name, tmp_path).write_text("".join(json.dumps(row) + "\n" for row in rows))
    *_, line = table.apart_table(tmp_path)
    assert line.startswith(f"| {plain().name} | ")
    assert line.count("±") == 2


def test_next_wears_are_told_only_from_three_on():
    """With two wears no chance is given; with three it is, and never above 0.85."""
    assert measure(plain(), FIRST)["chance"] is None
    row = measure(replace(plain(), days=30, wears=3), 4)
    assert 0.5 <= row["chance"] <= 0.85
    assert row["ratio_low"] < row["ratio_high"]


def test_what_is_there_is_not_run_again(tmp_path, monkeypatch):
    """A file with a line cut off is completed: kept lines stay, the broken one is made again."""
    name = "sticks random"
    kept = {"seed": run.FIRST_SEED, "marker": 1}
    path = run.path_of(name, tmp_path)
    path.write_text(json.dumps(kept) + "\n" + '{"seed": 70001, "d": 1', encoding="utf-8")
    monkeypatch.setattr(run, "chunk", lambda case, seeds: [json.dumps({"seed": seed}) for seed in seeds])
    monkeypatch.setattr(run, "ProcessPoolExecutor", Inline)
    run.run(4, tmp_path, [name], 1)
    rows = run.rows(name, tmp_path)
    assert sorted(row["seed"] for row in rows) == [run.FIRST_SEED + n for n in range(4)]
    assert kept in rows


class Inline:
    """An executor that runs in this process."""

    def __init__(self, workers: int) -> None:
        self.workers = workers

    def __enter__(self):
        return self

    def __exit__(self, *raised) -> None:
        pass

    def map(self, function, *lists):
        return map(run.chunk, *lists)


def test_coverage_is_marked_where_it_is_weak_and_where_it_fails():
    """93 to 97 is kept; beyond 91 to 98.5 is a defect; few trials say nothing."""
    assert table.cell([True] * 95 + [False] * 5).endswith("± 2.2")
    assert table.cell([True] * 98 + [False] * 2).endswith(" !")
    assert table.cell([True] * 100).endswith(" !!")
    assert table.cell([True] * 85 + [False] * 15).endswith(" !!")
    assert table.cell([True] * 50) == "- (50)"
    assert table.cell([]) == "-"


def test_a_cell_says_how_many_gave_an_interval():
    """Where more than one trial in a hundred gave none, the number behind a cell stands beside it."""
    hits = [True] * 190 + [False] * 10
    assert table.cell(hits, 200) == "95.0 ± 1.5"
    assert table.cell(hits, 2000) == "95.0 ± 1.5 (200)"


def test_a_page_of_other_code_says_so():
    """Stale by method, stale by code, current; the mark comes and goes without another trace."""
    page_of = "# Honesty\n\nMade under METHOD {} at commit abc, code {}. More.\n\nEnd.\n"
    current = page_of.format(METHOD, "feed")
    assert page.stale(current, "feed") is None
    assert page.marked(current, "feed") == current
    assert "has changed since" in page.stale(current, "beef")
    old = page.marked(page_of.format(METHOD - 1, "feed"), "beef")
    assert old.startswith(f"# Honesty\n\n{page.STALE} the numbers below were made under METHOD {METHOD - 1}")
    assert old.count(page.STALE) == page.marked(old, "beef").count(page.STALE) == 1
    assert page.marked(page.marked(current, "beef"), "feed") == current
    assert "does not say" in page.stale("# Honesty", "feed")


def test_the_page_in_the_docs_is_of_this_method_or_says_that_it_is_not():
    """Nobody reads figures of an older method without being told."""
    text = (page.ROOT / "docs" / "honesty.md").read_text(encoding="utf-8")
    made = page.MADE.search(text)
    assert made is not None
    assert int(made[1]) == METHOD or page.STALE in text


def test_the_check_marks_the_page(tmp_path, monkeypatch, capsys):
    """`--check` says why, marks the page, and fails."""
    (tmp_path / "docs").mkdir()
    where = tmp_path / "docs" / "honesty.md"
    where.write_text("# Honesty\n\nMade under METHOD 1, code feed.\n", encoding="utf-8")
    monkeypatch.setattr(page, "ROOT", tmp_path)
    assert command._check() == 1
    assert capsys.readouterr().out.startswith(page.STALE)
    assert page.STALE in where.read_text(encoding="utf-8")
    where.write_text(f"# Honesty\n\nMade under METHOD 1, code {run.stamp()}.\n", encoding="utf-8")
    assert command._check() == 0
    assert page.STALE not in where.read_text(encoding="utf-8")


def test_next_wears_are_others_in_every_world():
    """The seed of the next pair of wears depends on the world: no two rows of the table share theirs."""
    seeds = [next_seed(case.world, 70_000) for case in cases().values()]
    assert len(set(seeds)) == len(seeds)
    assert next_seed(plain(), 5) - next_seed(plain(), 4) == 1


def test_a_share_of_nothing_seen_still_has_an_error():
    """No Monte Carlo error is ever told as nought."""
    p, error = table.share([False] * 100)
    assert (p, error > 0) == (0.0, True)


def test_every_world_has_a_part_and_a_file_of_its_own(tmp_path):
    """No two worlds share a name or a results file; at least nine sizes stand in the plain part."""
    every = cases()
    assert len({run.path_of(name, tmp_path) for name in every}) == len(every)
    assert {case.part for case in every.values()} == {"plain", "answer", "strained"}
    assert sum(case.part == "plain" for case in every.values()) >= 9


def test_the_page_says_what_was_counted(tmp_path, monkeypatch, found):
    """The table holds the trials that are there, with the promise and the parts that were not run left out."""
    name = next(name for name, case in cases().items() if case.world == plain())
    lines = "".join(json.dumps(row) + "\n" for row in found * 3)
    run.path_of(name, tmp_path).write_text(lines, encoding="utf-8")
    monkeypatch.setattr(page, "ROOT", tmp_path)
    (tmp_path / "docs").mkdir()
    page.write(tmp_path)
    text = (tmp_path / "docs" / "honesty.md").read_text(encoding="utf-8")
    assert f"| {name} | {TRIALS} |" in text
    assert "identical kinds, 30 days" not in text
    assert "meter and all that both sensors share" in text
    assert f"METHOD {METHOD} at commit" in text
    assert f"{3 * TRIALS}" not in text  # a seed counts once
    assert f", {TRIALS} trials a" in text


def test_the_stamp_changes_with_the_code_and_not_with_its_words(tmp_path, monkeypatch):
    """A docstring is no reason to run two thousand trials again; a formula is."""
    source = tmp_path / "src" / "evenhand"
    for room in ("records", "stats", "rehearse", "compare"):
        (source / room).mkdir(parents=True)
    (source / "clock.py").write_text('"""One."""\nx = 1\n')
    (source / "units.py").write_text("y = 1\n")
    (tmp_path / "benchmarks" / "honesty").mkdir(parents=True)
    for part in ("expected.py", "measure.py"):
        (tmp_path / "benchmarks" / "honesty" / part).write_text("")
    monkeypatch.setattr(run, "ROOT", tmp_path)
    first = run.stamp()
    (source / "clock.py").write_text('"""Two."""\nx = 1  # same\n')
    assert run.stamp() == first
    (source / "clock.py").write_text('"""Two."""\nx = 2\n')
    assert run.stamp() != first

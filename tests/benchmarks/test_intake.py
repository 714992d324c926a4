"""The benchmark of intake and the one of delimiters: they run, and say what they measured."""

from pathlib import Path

from benchmarks import clocks, dialect, intake


def test_a_small_run_makes_the_page(tmp_path: Path):
    """Two kinds of file, both readers, ratios."""
    text = intake.page(tmp_path, rows=300, runs=1)
    assert text.count("| 300 rows") == 2
    assert "pandas" in text
    assert "Worst ratio" in text


def test_the_table_is_the_same_each_time(tmp_path: Path):
    """Made from its number of rows alone."""
    for name in ("a", "b"):
        intake.table(tmp_path / name, 50, wide=True)
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()
    assert (tmp_path / "a").read_text().count("\n") == 51


def test_delimiters_are_guessed_as_well_as_the_record_says():
    """Ours on fresh tables: at most one in a hundred wrong; the simplest guess is far worse."""
    tables = [dialect.invented(50_000 + seed) for seed in range(200)]
    right, wrong, _ = dialect.score(dialect.ours, tables)
    assert right >= 198, wrong
    assert dialect.score(dialect.none_at_all, tables)[0] < 100
    assert dialect.score(dialect.sniffed, tables)[0] < right


def test_clocks_are_counted():
    """A few trials: a right clock is never spoken of, an hour is found."""
    trials = [clocks.invent(clocks.worlds(seed), seed + 1).trial for seed in range(4)]
    assert clocks.count(trials, 0, clocks.constant(0), alone=False) == "0 | 0 | 4"
    assert clocks.count(trials, -60, clocks.constant(-60), alone=False) == "4 | 0 | 0"
    assert clocks.count(trials, -360, clocks.part(-360, 2, 5), alone=False) == "4 | 0 | 0"

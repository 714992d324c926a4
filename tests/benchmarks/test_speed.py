"""The speed benchmark's arithmetic and its notebook."""

from __future__ import annotations

import sys

import pytest
from benchmarks.trials import save

from benchmarks import notebook, speed
from evenhand.rehearse.scenarios import plain
from evenhand.store import file


def test_growth_is_the_exponent_of_what_the_imports_leave():
    """Time that grows with the days has exponent 1, a constant 0, a square 2."""
    days = (10, 20, 40, 90)
    assert speed.growth({day: 0.3 + 0.01 * day for day in days}, 0.3) == pytest.approx(1)
    assert speed.growth(dict.fromkeys(days, 0.5), 0.3) == pytest.approx(0)
    assert speed.growth({day: 0.3 + 1e-4 * day**2 for day in days}, 0.3) == pytest.approx(2)


def test_a_command_is_timed_with_its_own_memory():
    """The memory is the command's, not that of the process that measures."""
    seconds, small = speed.timed([sys.executable, "-c", "pass"])
    _, large = speed.timed(
        [sys.executable, "-c", "x = bytearray(80_000_000); x[::4096] = b'x' * len(x[::4096])"]
    )
    assert seconds > 0
    assert large - small > 50


def test_a_command_that_fails_is_no_measurement():
    """It ends the benchmark with what the command said."""
    with pytest.raises(SystemExit, match="never"):
        speed.timed([sys.executable, "-c", "import sys; sys.exit('never')"])


def test_the_notebook_agrees_with_judge_on_plain_means(tmp_path, capsys):
    """Both sides of the race run the same course: MAD, bias and agreement over all are the same numbers."""
    from evenhand.desk.exporting import What  # the export the notebook reads
    from evenhand.judge.judge import judge

    path = tmp_path / "a.trial"
    save(plain(10, 1, 6), 3, path)
    trial = file.read(path)
    for what in (What.READINGS, What.STICKS):
        from evenhand.cli.main import main

        capsys.readouterr()
        assert main(("export", str(path), str(what), "--format", "csv")) == 0
        (tmp_path / f"{what}.csv").write_text(capsys.readouterr().out)
    monkey = pytest.MonkeyPatch()
    monkey.setattr(notebook, "REPEATS", 3)
    found = notebook.judge(tmp_path)
    monkey.undo()
    for sensor in judge(trial).sensors:
        whole = sensor.accuracy
        assert whole is not None
        if whole.all.at_least or whole.all.left_out:
            continue
        assert found[f"{sensor.name} all bias"][0] == pytest.approx(whole.all.bias.value, abs=0.8)
        assert found[f"{sensor.name} all mad"][0] == pytest.approx(whole.all.mad.value, abs=0.8)

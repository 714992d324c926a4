"""Slips of a tired hand, from the command line: what is refused, what is asked, and what the eye meets last."""

from __future__ import annotations

import pytest
from tests.cli.running import Desk

TREAT = "Treat first. This can wait."
SERIOUS = "Serious low. Treat now; get help if you need it."


def readings(step: int, n: int) -> str:
    """A table of n readings, `step` minutes apart, in mmol/L."""
    rows = []
    for k in range(n):
        minute = k * step
        rows.append(
            f"2026-02-{20 + minute // 1440:02d} {minute % 1440 // 60:02d}:{minute % 60:02d};{5 + k * 7 % 30 / 10:.1f}"
        )
    return "time;glucose mmol/L\n" + "\n".join(rows) + "\n"


@pytest.fixture
def files(trial: Desk):
    """Fern's file of two days and a meter's of as many, in the folder of a trial in mmol/L."""
    (trial.folder / "fern.csv").write_text(readings(5, 500))
    (trial.folder / "meter.csv").write_text(readings(150, 40))
    return trial


@pytest.mark.parametrize("typed", ["34", "40", "57", "60"])
def test_a_low_typed_in_the_other_unit_is_refused_and_warned_of(trial, typed):
    """Nothing is kept; the cure is the other unit; the safety line is the last thing on the screen."""
    said = trial("stick", typed)
    assert said.code == 1
    assert f"'{typed} mg/dL'" in said.err
    assert said.out.strip().splitlines()[-1] in (TREAT, SERIOUS)
    assert typed not in trial.done("export", "sticks").out


@pytest.mark.parametrize(
    ("typed", "line"), [("57 mg/dL", TREAT), ("40 mg/dL", SERIOUS), ("3.8", TREAT), ("2,9", SERIOUS)]
)
def test_the_same_low_with_its_unit_is_kept(trial, typed, line):
    """Saved first, then only the safety line."""
    said = trial.done("stick", typed)
    assert said.out.strip().splitlines()[-1] == line
    assert trial.done("export", "sticks").out.count("\n") == 2


@pytest.mark.parametrize("typed", ["33.4", "61", "110", "0.9", "1.110", "6.1.2", "six"])
def test_numbers_no_meter_shows_are_refused(trial, typed):
    """In mmol/L nothing above 33.3 or below 1.1 is a value."""
    assert trial("stick", typed).code == 1


@pytest.mark.parametrize(
    "setting", ["Fern.low=50", "Fern.low=9", "Fern.high=400", "Fern.high=5", "Fern.low=40 mmol/L"]
)
def test_limits_in_the_other_unit_make_no_trial(desk, setting):
    """A sensor that stops at 50 mmol/L would turn every LOW into a towering high."""
    said = desk(
        "new", "a.trial", "--sensor", "Fern", "--sensor", "Slate", "--unit", "mmol/L", "--set", setting
    )
    assert said.code == 1
    assert not (desk.folder / "a.trial").exists()


@pytest.mark.parametrize(
    "setting", ["Fern.low=2.2", "Fern.low=40 mg/dL", "Fern.high=22.2", "Fern.high=400 mg/dL"]
)
def test_limits_in_either_unit_are_kept_when_they_can_be(desk, setting):
    """With the unit written, or in the trial's own."""
    desk.done("new", "a.trial", "--sensor", "Fern", "--sensor", "Slate", "--unit", "mmol/L", "--set", setting)


@pytest.mark.parametrize(
    ("name", "whose", "asked"),
    [("meter.csv", "Fern", "looks like fingersticks"), ("fern.csv", "meter", "looks like a sensor's file")],
)
def test_a_file_of_another_device_is_asked_about(files, name, whose, asked):
    """--yes does not take it in; the question says how to answer, and --set sure=yes is the answer."""
    said = files("intake", name, "--of", whose, "--yes")
    assert said.code == 1
    told = f"{said.flat} {' '.join(said.err.split())}"
    assert asked in told
    assert "sure=yes" in told
    assert files.done("export", "ledger").out.count("\n") == 1
    assert files("intake", name, "--of", whose, "--set", "sure=yes", "--yes").code == 0


def test_the_first_sensors_file_given_to_the_second_is_asked_about(files):
    """What Fern holds already is not taken in for Slate."""
    files.done("intake", "fern.csv", "--of", "Fern", "--yes")
    said = files("intake", "fern.csv", "--of", "Slate", "--yes")
    assert said.code == 1
    assert "held already for Fern" in f"{said.flat} {' '.join(said.err.split())}"


def test_files_given_to_their_devices_are_not_asked_about(files):
    """The ordinary way stays without a question."""
    files.done("intake", "fern.csv", "--of", "Fern", "--yes")
    files.done("intake", "meter.csv", "--of", "meter", "--yes")


def test_with_nothing_to_judge_nothing_is_promised(trial):
    """No stick, no reading: no forecast of what would settle it."""
    said = trial.done("judge")
    assert "would settle it" not in said.flat.replace("what would settle it", "")
    assert "probably" not in said.flat
    assert "There is nothing yet from which to tell what would settle it." in said.flat


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("stick", "6.1", "--reason", "plann"), "Did you mean plan? See"),
        (("stcik", "6.1"), "There is no command 'stcik'"),
        (("stick", "6.1", "--reson", "plan"), "There is no option '--reson'"),
    ],
)
def test_wrong_words_are_told_plainly(trial, words, hint):
    """Exit code 2, one sentence, what was meant."""
    said = trial(*words)
    assert said.code == 2
    assert hint in " ".join(said.err.split())

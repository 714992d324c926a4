"""What was settled for a file, from one intake to the next: saved, shown, exported, edited, brought back, undone."""

from __future__ import annotations

import json

import pytest
from tests.cli.running import Desk

FILES = {
    "a.csv": "When;Value\n03/02/2026 07:42;6.1\n03/02/2026 07:47;6.3\n",
    "b.csv": "When;Value\n04/02/2026 07:42;7.1\n04/02/2026 07:47;7.3\n",
    "c.csv": "When;Value\n02/25/2026 07:42;7.1\n02/25/2026 07:47;7.3\n",
    "open.csv": "When;Other\n03/02/2026 07:42;6.1\n03/02/2026 07:47;6.3\n",
}


@pytest.fixture
def settled(trial: Desk):
    """A trial in which a file was taken in with an answer."""
    for name, text in FILES.items():
        (trial.folder / name).write_text(text, encoding="utf-8")
    trial.done("intake", "a.csv", "--of", "Fern", "--set", "order=day-month", "--yes")
    return trial


def test_the_next_file_is_read_with_it_and_it_is_said(settled):
    """No --set the second time."""
    said = settled.done("intake", "b.csv", "--of", "Fern", "--yes")
    assert "Read as the last file of this kind: order=day-month, unit=mmol/L" in said.flat
    rows = json.loads(settled.done("export", "readings", "--format", "json").out)
    assert [row["time"][:10] for row in rows] == ["2026-02-03"] * 2 + ["2026-02-04"] * 2


def test_a_file_that_does_not_fit_says_where(settled):
    """And is read on its own proof."""
    said = settled.done("intake", "c.csv", "--of", "Fern")
    assert "'02/25/2026' in line 2 can only be month-day" in said.flat


def test_it_is_exported_edited_and_taken_in_again(settled):
    """The table of keys is a file like any other."""
    text = settled.done("export", "keys").out
    assert [line.split(",")[1:] for line in text.splitlines()[1:]] == [
        ["order", "day-month"],
        ["unit", "mmol/L"],
    ]
    (settled.folder / "keys.csv").write_text(text.replace("mmol/L", "mg/dL"), encoding="utf-8")
    settled.now.now += 60
    settled.done("intake", "keys.csv", "--yes")
    assert "unit,mg/dL" in settled.done("export", "keys").out
    settled.done("undo")
    assert "unit,mmol/L" in settled.done("export", "keys").out


def test_undoing_the_file_takes_its_key_back(settled):
    """A whole file, and what was settled for it."""
    settled.done("undo")
    assert settled.done("export", "keys").out == "kind,setting,value\n"


def test_nothing_is_saved_without_yes(trial):
    """A proposal is only shown."""
    (trial.folder / "a.csv").write_text(FILES["a.csv"], encoding="utf-8")
    trial.done("intake", "a.csv", "--of", "Fern", "--set", "order=day-month")
    assert trial.done("export", "keys").out == "kind,setting,value\n"


def test_sticks_exported_from_one_trial_go_into_another(trial):
    """As JSON and as CSV, with reasons and marks; the first rows are shown as understood."""
    trial.done("stick", "6.1", "--at", "07:42", "--reason", "plan", "--mark", "unwashed")
    for form in ("csv", "json"):
        text = trial.done("export", "spring.trial", "sticks", "--format", form).out
        (trial.folder / f"sticks.{form}").write_text(text, encoding="utf-8")
        trial.done("new", f"{form}.trial", "--sensor", "Fern", "--sensor", "Slate", "--unit", "mmol/L")
        said = trial.done("intake", f"{form}.trial", f"sticks.{form}", "--yes")
        assert "Sun 2026-03-01 07:42, 6.1 mmol/L, unwashed, plan" in said.flat
        assert trial.done("export", f"{form}.trial", "sticks", "--format", form).out == text


def test_an_open_proposal_is_a_caution_until_it_is_refused(trial):
    """A meter's file dated ahead goes in as it is, and every judgement says so; with shift=no none does."""
    (trial.folder / "m.csv").write_text(
        "time,mg/dL\n2026-05-01 07:42,110\n2026-05-01 12:42,120\n", encoding="utf-8"
    )
    said = trial.done("intake", "m.csv", "--of", "meter", "--yes")
    assert "Proposed, not done unless you say so" in said.flat
    found = json.loads(trial.done("judge", "--json").out)
    assert "open-proposal" in [caution["code"] for caution in found["cautions"]]
    trial.done("undo")
    trial.done("intake", "m.csv", "--of", "meter", "--set", "shift=no", "--yes")
    found = json.loads(trial.done("judge", "--json").out)
    assert "open-proposal" not in [caution["code"] for caution in found["cautions"]]

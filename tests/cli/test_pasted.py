"""Lines pasted into `intake -`: the night's sticks from any notes app, end to end."""

from __future__ import annotations

import io
import json
import sys

import pytest
from tests.cli.running import Desk

NIGHT = "Sat 23:10 6.1 habit\n02:12 3.4 alarm, felt low\n0705 5.8 unwashed\n7.0 no idea when\n"


@pytest.fixture
def paste(trial: Desk, monkeypatch):
    """Runs `intake -` on pasted lines in a trial in mmol/L, at 8 in the morning of Sunday 1 March 2026."""

    def run(lines: str, *words: str):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(lines.encode())))
        return trial("intake", "-", *words)

    return run


def test_pasted_lines_are_shown_before_they_are_taken_in(paste, trial):
    """Without --yes nothing is written; what was understood is said."""
    said = paste(NIGHT)
    assert said.code == 0, said.err
    assert "4 rows, 3 kept" in said.flat
    assert "waits for the meter's file" in said.flat
    assert "Nothing was written yet" in said.flat
    assert trial.done("export", "sticks", "--format", "json").out.strip() in ("[]", "[ ]")


def test_pasted_lines_become_sticks(paste, trial):
    """Times as understood near now, reasons and marks from the words, values in the trial's unit."""
    assert paste(NIGHT, "--yes").code == 0
    rows = json.loads(trial.done("export", "sticks", "--format", "json").out)
    assert [(row["time"], row["value"], row["reason"], row["marks"]) for row in rows] == [
        ("2026-02-28T23:10:00+00:00", 6.1, "habit", rows[0]["marks"]),
        ("2026-03-01T02:12:00+00:00", 3.4, "prompted", rows[1]["marks"]),
        ("2026-03-01T07:05:00+00:00", 5.8, "unknown", rows[2]["marks"]),
    ]
    assert "unwashed" in str(rows[2]["marks"])


def test_pasting_twice_changes_nothing(paste, trial):
    """The second time every stick is held already."""
    paste(NIGHT, "--yes")
    before = trial.done("export", "sticks").out
    paste(NIGHT, "--yes")
    assert trial.done("export", "sticks").out == before


def test_a_stick_typed_at_night_is_not_doubled(paste, trial):
    """Typed as `stick`, pasted again in the morning: one stick."""
    trial.done("stick", "3.4", "--at", "02:12", "--reason", "prompted")
    assert paste(NIGHT, "--yes").code == 0
    assert trial.done("export", "sticks").out.count("T02:12") == 1


def test_pasting_is_undone_like_anything_else(paste, trial):
    """One change, taken back whole."""
    paste(NIGHT, "--yes")
    trial.done("undo")
    assert "T23:10" not in trial.done("export", "sticks").out


def test_the_proposal_as_json_sums(paste):
    """rows = kept + the rows named."""
    told = json.loads(paste(NIGHT, "--json").out)
    assert (told["rows"], told["kept"], told["waiting"]) == (4, 3, 1)
    assert told["rows"] == told["kept"] + len(told["set_aside"])


def test_nothing_pasted_is_refused(paste):
    """An empty paste is one clear error."""
    said = paste("\n\n")
    assert said.code == 1
    assert "empty" in said.err

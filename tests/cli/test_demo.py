"""`evenhand demo`."""

import csv
import io
import json
from pathlib import Path

import pytest
from tests.cli.running import Desk
from tests.desk.frozen import Frozen

from evenhand.store import file as store


@pytest.fixture
def shown(tmp_path, monkeypatch, capsys):
    """The demo, run once in an empty folder."""
    monkeypatch.chdir(tmp_path)
    desk = Desk(tmp_path, Frozen("2025-01-01 12:00"), capsys)
    return desk, desk.done("demo")


def test_the_demo_goes_from_files_to_report(shown):
    """Files, diary, intake, answer, report, what to try next: all there, and said in this order."""
    desk, said = shown
    order = [
        "nobody's readings",
        "kept its diary",
        "fern-export.csv",
        "meter-memory.tsv",
        "your meter",
        "Report: ",
        "Then try:",
    ]
    places = [said.flat.index(text) for text in order]
    assert places == sorted(places)
    folder = Path("evenhand-demo")
    assert (folder / "demo.html").stat().st_size > 50_000
    trial = store.read(folder / "demo.trial")
    assert len(trial.sticks) > 150
    assert [len(trial.readings[sensor.id]) > 5000 for sensor in trial.sensors] == [True, True]
    assert {file.name for file in trial.files} == {"fern-export.csv", "slate-export.csv", "meter-memory.tsv"}
    ledger = list(csv.DictReader(io.StringIO(desk.done("export", str(folder / "demo.trial"), "ledger").out)))
    assert len(ledger) > 11_000
    # What it says to try is what works.
    monkey = [line.strip() for line in said.out.splitlines() if line.startswith("  evenhand ")]
    assert len(monkey) == 6
    assert "the file adds nothing" in desk.done(
        "intake", str(folder / "demo.trial"), str(folder / "slate-export.csv"), "--of", "Slate", "--yes"
    ).flat  # fmt: skip


def test_a_second_demo_makes_a_second_folder_and_the_same_answer(shown):
    """Safe to run twice: a numbered folder, the same edition."""
    desk, _ = shown
    said = desk.done("demo")
    assert "evenhand-demo-2" in said.flat
    editions = {
        json.loads(desk.done("judge", f"{folder}/demo.trial", "--json").out)["edition"]
        for folder in ("evenhand-demo", "evenhand-demo-2")
    }
    assert len(editions) == 1

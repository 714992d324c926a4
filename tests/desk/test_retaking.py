"""The same file taken in again with a clock set right: readings move, nothing is doubled, undo brings them back."""

from __future__ import annotations

import csv
import io
from datetime import datetime, timedelta

import pytest
from tests.cli.running import Desk
from tests.desk.frozen import Frozen

from evenhand.cli.main import main
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain


def export(desk: Desk, what: str = "readings") -> list[dict[str, str]]:
    """The rows of an export."""
    return list(csv.DictReader(io.StringIO(desk.done("export", "spring.trial", what).out)))


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Ten days of two sensors as plain tables, the second with a clock an hour ahead; times in UTC."""
    folder = tmp_path_factory.mktemp("files")
    trial = invent(plain(10, 1, 7.0), 4).trial
    for sensor, ahead in zip(trial.sensors, (0, 3600), strict=True):
        held = trial.readings[sensor.id]
        rows = [
            f"{datetime(1970, 1, 1) + timedelta(seconds=int(at) + ahead):%Y-%m-%dT%H:%M:%S}Z,{text}"
            for at, text in zip(held.instant, held.text, strict=True)
        ]
        (folder / f"{sensor.name}.csv").write_text("time,glucose mg/dL\n" + "\n".join(rows) + "\n")
    return folder


@pytest.fixture
def desk(tmp_path, monkeypatch, capsys, files):
    """A trial that holds both files as they were written."""
    monkeypatch.chdir(tmp_path)
    made = Desk(tmp_path, Frozen(), capsys)
    made.done(
        "new",
        "spring.trial",
        "--sensor",
        "Fern",
        "--sensor",
        "Slate",
        "--zone",
        "Europe/Lisbon",
        "--unit",
        "mg/dL",
    )
    made.done("intake", "spring.trial", str(files / "Fern.csv"), "--of", "Fern", "--yes")
    return made


def test_a_clock_an_hour_ahead_is_proposed_and_written_as_it_stands(desk, files):
    """--yes does not wait for a proposal: values go in as written, and the proposal stays open as a caution."""
    said = desk.done("intake", "spring.trial", str(files / "Slate.csv"), "--of", "Slate", "--yes")
    assert "The clock of Slate looks about 60 min ahead of Fern's." in said.flat
    assert "--set shift=-60min" in said.flat
    assert "60 min ahead" in desk.done("judge", "spring.trial").flat


def test_accepting_it_later_moves_the_readings_and_doubles_none(desk, files):
    """The same file with the setting: as many readings as before, an hour earlier, and no proposal left open."""
    desk.done("intake", "spring.trial", str(files / "Slate.csv"), "--of", "Slate", "--yes")
    before = [row for row in export(desk) if row["sensor"] == "Slate"]
    said = desk.done(
        "intake", "spring.trial", str(files / "Slate.csv"), "--of", "Slate", "--set", "shift=-60min", "--yes"
    )
    assert "held already" not in said.flat
    after = [row for row in export(desk) if row["sensor"] == "Slate"]
    assert len(after) == len(before)
    assert [row["value"] for row in after] == [row["value"] for row in before]
    moved = {
        datetime.fromisoformat(one["time"]) - datetime.fromisoformat(two["time"])
        for one, two in zip(before, after, strict=True)
    }
    assert moved == {timedelta(hours=1)}
    assert "min ahead" not in desk.done("judge", "spring.trial").flat


def test_undo_brings_the_first_reading_back(desk, files):
    """One change that undo takes back whole."""
    desk.done("intake", "spring.trial", str(files / "Slate.csv"), "--of", "Slate", "--yes")
    before = export(desk)
    desk.done(
        "intake", "spring.trial", str(files / "Slate.csv"), "--of", "Slate", "--set", "shift=-60min", "--yes"
    )
    assert export(desk) != before
    desk.done("undo", "spring.trial")
    assert export(desk) == before


def test_taking_it_in_twice_with_the_same_setting_changes_nothing(desk, files):
    """Read as it was read before, every row is held already."""
    words = (
        "intake",
        "spring.trial",
        str(files / "Slate.csv"),
        "--of",
        "Slate",
        "--set",
        "shift=-60min",
        "--yes",
    )
    desk.done(*words)
    before = export(desk)
    said = desk.done(*words)
    assert export(desk) == before
    assert "held already" in said.flat


def test_the_other_sensor_is_left_alone(desk, files):
    """Only what this very file brought is replaced."""
    desk.done("intake", "spring.trial", str(files / "Slate.csv"), "--of", "Slate", "--yes")
    before = [row for row in export(desk) if row["sensor"] == "Fern"]
    desk.done(
        "intake", "spring.trial", str(files / "Slate.csv"), "--of", "Slate", "--set", "shift=-60min", "--yes"
    )
    assert [row for row in export(desk) if row["sensor"] == "Fern"] == before


def test_a_correction_that_is_only_shown_changes_nothing(desk, files, capsys):
    """Without --yes it is a proposal like any other."""
    desk.done("intake", "spring.trial", str(files / "Slate.csv"), "--of", "Slate", "--yes")
    before = export(desk)
    assert (
        main(
            ("intake", "spring.trial", str(files / "Slate.csv"), "--of", "Slate", "--set", "shift=-60min"),
            desk.now,
        )
        == 0
    )
    assert export(desk) == before

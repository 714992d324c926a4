"""Three messy files that no code of Evenhand made, through the command line to a judgement, against plain arithmetic.

The files stand in tests/files/handmade: made by a sine and a few edits by hand (see make.py there). The expected
numbers are worked out here with the csv module and loops, straight from the files.
"""

from __future__ import annotations

import csv
import json
from datetime import datetime, timedelta, timezone
from pathlib import Path
from statistics import fmean

import pytest
from tests.desk.frozen import Frozen

from evenhand.cli.main import main

FILES = Path(__file__).parents[1] / "files" / "handmade"
BERLIN = timezone(timedelta(hours=2))
LOW_LIMIT = 2.2 * 18.0156


def plain_fern() -> list[tuple[datetime, float]]:
    found = []
    for line in (FILES / "fern.txt").read_text(encoding="cp1252").splitlines()[5:]:
        cells = line.split(";")
        if len(cells) < 3 or not cells[1] or cells[2] == "---":
            continue
        at = datetime.strptime(f"{cells[0]} {cells[1]}", "%d.%m.%Y %H:%M").replace(tzinfo=BERLIN)
        found.append(
            (at, LOW_LIMIT if cells[2] == "NIEDRIG" else float(cells[2].replace(",", ".")) * 18.0156)
        )
    return found


def plain_slate() -> list[tuple[datetime, float]]:
    found = {}
    with (FILES / "slate.csv").open(encoding="utf-8") as lines:
        for row in list(csv.reader(lines))[2:]:
            if len(row) == 3 and row[1].isdigit():
                found[datetime.fromisoformat(row[0])] = float(row[1])
    return sorted(found.items())


def plain_sticks() -> list[tuple[datetime, float, bool]]:
    with (FILES / "meter.tsv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines, delimiter="\t"))
    return [
        (
            datetime.strptime(row["When"], "%m/%d/%Y %I:%M %p").replace(tzinfo=BERLIN),
            float(row["Result"]),
            row["Why"] == "alarm",
        )
        for row in rows
        if row["Result"].isdigit()
    ]


def errors(readings: list[tuple[datetime, float]]) -> list[tuple[float, float]]:
    """Error and stick at every planned stick with a reading at most five minutes away."""
    found = []
    for at, stick, prompted in plain_sticks():
        near, value = min(readings, key=lambda one: abs(one[0] - at))
        if not prompted and abs(near - at) <= timedelta(minutes=5):
            found.append((value - stick, stick))
    return found


@pytest.fixture(scope="module")
def judged(tmp_path_factory):
    """The judgement of the three files, taken in by the ordinary commands."""
    folder = tmp_path_factory.mktemp("may")
    now = Frozen()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        new = ("new", "may.trial", "--sensor", "Fern", "--sensor", "Slate", "--zone", "Europe/Berlin")
        assert main((*new, "--set", "Fern.low=2.2 mmol/L"), now) == 0
        for name, whose in (("fern.txt", "Fern"), ("slate.csv", "Slate"), ("meter.tsv", "meter")):
            assert main(("intake", "may.trial", str(FILES / name), "--of", whose, "--yes"), now) == 0
        assert main(("report", "may.trial"), now) == 0
    return now, folder


@pytest.fixture
def findings(judged, capsys, monkeypatch):
    now, folder = judged
    monkeypatch.chdir(folder)
    capsys.readouterr()
    assert main(("judge", "may.trial", "--json", "--sticks-only"), now) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(("name", "plain"), [("Fern", plain_fern), ("Slate", plain_slate)])
def test_errors_are_those_of_plain_arithmetic(findings, name, plain) -> None:
    """Bias, MAD, MARD and agreement of one wear are plain means, whatever the dialect, unit or words of the file."""
    sensor = next(one for one in findings["sensors"] if one["name"] == name)
    pairs = errors(plain())
    found = sensor["accuracy"]["all"]
    assert found["pairs"] == len(pairs)
    assert found["bias"]["value"] == pytest.approx(fmean(error for error, _ in pairs), abs=1e-9)
    assert found["mad"]["value"] == pytest.approx(fmean(abs(error) for error, _ in pairs), abs=1e-9)
    assert found["mard"]["value"] == pytest.approx(
        fmean(100 * abs(error) / stick for error, stick in pairs), abs=1e-9
    )
    inside = [abs(error) <= max(20.0, 0.2 * stick) for error, stick in pairs]
    assert found["within"]["20/20"]["value"] == pytest.approx(100 * fmean(inside), abs=1e-9)


@pytest.mark.parametrize(("name", "plain"), [("Fern", plain_fern), ("Slate", plain_slate)])
def test_every_reading_is_there(findings, name, plain) -> None:
    """As many readings as the file holds by hand count."""
    sensor = next(one for one in findings["sensors"] if one["name"] == name)
    assert sensor["readings"] == len(plain())


def test_the_words_low_are_kept_as_at_least_that_far(findings) -> None:
    """Two rows of Fern say NIEDRIG."""
    assert findings["sensors"][0]["censored"] == 2


def test_the_nearer_sensor_is_named_and_nothing_more(findings) -> None:
    """Fern was made the nearer one; one wear of each says nothing of the next."""
    head = findings["head_to_head"][0]
    assert (head["answer"]["state"], head["answer"]["who"]) == ("closer", "Fern")
    assert head["chance_next_closer"]["chance"] is None
    assert findings["meter"]["reasons"]["prompted"] == 2


def test_the_report_is_written_and_says_the_same(judged, findings) -> None:
    """One page, with the numbers of the findings on it and nothing to fetch."""
    page = (judged[1] / "may.html").read_text(encoding="utf-8")
    assert "Fern was closer to your meter than Slate" in page
    assert findings["edition"][:8] in page
    assert 'src="http' not in page


@pytest.mark.parametrize(
    ("name", "rows", "kept"), [("fern.txt", 2596, 2591), ("slate.csv", 2603, 2589), ("meter.tsv", 64, 63)]
)
def test_every_row_has_a_fate(judged, capsys, monkeypatch, name, rows, kept) -> None:
    """The ledger accounts for every row of every file."""
    now, folder = judged
    monkeypatch.chdir(folder)
    capsys.readouterr()
    assert main(("export", "may.trial", "ledger", "--format", "csv"), now) == 0
    lines = [row for row in csv.DictReader(capsys.readouterr().out.splitlines()) if row["file"] == name]
    assert len(lines) == rows
    assert sum(row["fate"] == "kept" for row in lines) == kept
    assert all(row["reason"] for row in lines if row["fate"] != "kept")

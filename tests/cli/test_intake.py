"""`evenhand intake`, as a person or a program uses it."""

import io
import json
from pathlib import Path

import pytest

from evenhand.store import file as store

FERN = "Time,Glucose (mmol/L)\n" + "".join(
    f"2026-02-28 {8 + i // 12:02d}:{i % 12 * 5:02d},{6 + i / 10:.1f}\n" for i in range(24)
)
METER = "Taken at;Result mmol/L;Why\n28.02.2026 08:02;6,1;habit\n28.02.2026 08:40;6,9;plan\n28.02.2026 09:10;soon;\n"
EITHER = "Time,Value (mg/dL)\n01/02/2026 07:42,120\n02/02/2026 07:42,110\n"


@pytest.fixture
def files(trial):
    """The trial, with three small files beside it, written by hand."""
    for name, text in (("fern.csv", FERN), ("meter.csv", METER), ("either.csv", EITHER)):
        Path(name).write_text(text, encoding="utf-8")
    return trial


def test_without_yes_a_file_is_only_shown(files):
    """Counts, span, unit, zone, first rows, how it was read, what to do next; nothing is written."""
    said = files.done("intake", "fern.csv", "--of", "Fern")
    for part in ("24 kept", "Fern: 24 new, from 08:00 yesterday, Saturday 28 February to 09:55", "mmol/L",
                 "Times were read in Europe/Lisbon", "The first rows, as read:", "How it was read:",
                 "Nothing was written yet. Take it in with --yes."):  # fmt: skip
        assert part in said.flat
    assert max(map(len, said.out.splitlines())) <= 80
    assert store.read("spring.trial").readings == {}


def test_with_yes_it_is_taken_in_and_the_same_again_adds_nothing(files):
    """The readings are there; the second time nothing is written and that is said."""
    said = files.done("intake", "fern.csv", "--of", "Fern", "--yes")
    assert "Taken in, as change 2." in said.flat
    trial = store.read("spring.trial")
    assert len(trial.readings[trial.sensor("Fern").id]) == 24
    again = files.done("intake", "spring.trial", "fern.csv", "--of", "Fern", "--yes")
    assert "the file adds nothing" in again.flat
    assert store.read("spring.trial").change == trial.change
    files.done("undo")
    assert store.read("spring.trial").readings == {}


def test_a_row_that_cannot_be_read_is_set_aside_with_its_reason(files):
    """A bad row is a fate, not a question; the good ones go in, reasons with them."""
    said = files.done("intake", "meter.csv", "--of", "meter", "--yes")
    assert "1 set aside" in said.flat
    assert "line 4" in said.flat
    sticks = store.read("spring.trial").sticks
    assert [(stick.glucose.text, str(stick.reason)) for stick in sticks] == [
        ("6,1", "habit"),
        ("6,9", "plan"),
    ]
    ledger = files.done("export", "ledger").out
    assert "meter.csv,,4,set aside," in ledger


def test_an_open_question_stops_yes_and_says_how_to_answer(files):
    """Exit code 1, the question and its --set; nothing is written; the answer opens the way."""
    said = files("intake", "either.csv", "--of", "Fern", "--yes")
    assert said.code == 1
    assert "Answer with --set order=" in said.flat
    assert "Nothing was written: 1 question is open." in said.flat
    assert store.read("spring.trial").change == 1
    files.done("intake", "either.csv", "--of", "Fern", "--set", "order=day-month", "--yes")
    readings = store.read("spring.trial").readings
    assert [len(one) for one in readings.values()] == [2]


def test_json_is_the_contract_s(files):
    """The keys of the contract, rows = kept + the length of set_aside, the edition before and after."""
    before = store.edition("spring.trial")
    found = json.loads(files.done("intake", "meter.csv", "--of", "meter", "--json").out)
    assert set(found) == {
        "rows",
        "kept",
        "doubled",
        "waiting",
        "set_aside",
        "questions",
        "proposals",
        "edition",
    }
    assert found["rows"] == found["kept"] + len(found["set_aside"]) == 3
    assert found["edition"] == before
    after = json.loads(files.done("intake", "meter.csv", "--of", "meter", "--json", "--yes").out)
    assert after["edition"] == store.edition("spring.trial") != before
    asked = files("intake", "either.csv", "--of", "Fern", "--json", "--yes")
    assert asked.code == 1
    assert json.loads(asked.out)["questions"][0]["set"].startswith("order=")


def test_the_words_of_a_setting_are_checked(files):
    """No '=' and the same key twice are wrong use; an unknown key names the known ones."""
    assert files("intake", "fern.csv", "--set", "order").code == 2
    assert files("intake", "fern.csv", "--set", "order=a", "--set", "order=b").code == 2
    assert files("intake", "fern.csv", "--set", "colour=red").code == 1
    assert files("intake", "fern.csv", "--of", "Moss").code == 1


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("gone.csv",), 1, "gone.csv: There is no such file."),
        ((".",), 1, "This is a folder."),
        ((), 2, "which file to take in"),
        (("fern.csv", "--picture", "x.gif"), 2, "neither PNG nor SVG"),
        (("fern.csv", "--of", "Fern", "--picture", "gone/x.png"), 1, "--picture"),
        (("empty.csv",), 1, "empty.csv: The file is empty."),
    ],
)
def test_what_cannot_be_read_is_refused(files, words, code, told):
    """One message with the file's name; nothing is written."""
    Path("empty.csv").write_bytes(b"")
    said = files("intake", *words)
    assert (said.code, said.out) == (code, "")
    assert told in said.err


def test_errors_under_json_are_objects(files):
    """The file's name stands in its own field."""
    said = files("intake", "gone.csv", "--json")
    assert said.code == 1
    (error,) = json.loads(said.out)["errors"]
    assert (error["code"], error["file"], error["found"]) == (
        "bad-file",
        "gone.csv",
        "There is no such file.",
    )


class Piped:
    """Standard input with bytes in it, as a pipe has."""

    def __init__(self, text):
        self.buffer = io.BytesIO(text.encode())

    def isatty(self):
        return False


def test_a_dash_reads_standard_input(files, monkeypatch):
    """'-' is standard input: a table piped in is taken in like a file."""
    monkeypatch.setattr("sys.stdin", Piped(METER))
    said = files.done("intake", "spring.trial", "-", "--of", "meter", "--yes")
    assert "pasted lines: 3 rows, 2 kept" in said.flat
    assert len(store.read("spring.trial").sticks) == 2

"""Everything that can be refused on the command line: one sentence with its cure, no traceback, nothing changed."""

from __future__ import annotations

import json

import pytest

from evenhand.store import file as store

TIMES = (
    "25:00", "00:60", "31.2.", "2026-02-30 10:00", "9999-01-01 00:00", "0001-01-01 00:00", "1 xyz 10:00", "Sun", "13pm",
    "1969-12-31T23:00Z", "", " ", "yesterday", "٣:٠٠", "1/2 10:00", "31/31 10:00", "29 Feb 10:00", "2200-12-31 23:59",
    "2026-03-01 07:00+99:00", "10:00+01:00",
)  # fmt: skip
VALUES = (
    "0", "1e3", "-5", "٦٫١", "6.1 mmol/L/x", "", " ", "99999", "6.1.2", "6\n1", "6.1 mg", "110", "six", "6.1!", "lower",
    "6.1234", "++6", "nan", "inf", "0x10",
)  # fmt: skip
REFUSED = {
    "a stick typed into no sensor": ("stick", "6.1", "--into", "Moss"),
    "a repeat that is a calibration": ("stick", "6.1", "--into", "Fern", "--repeat"),
    "two reasons": ("stick", "6.1", "--into", "Fern", "--reason", "habit"),
    "a reason that is none": ("stick", "6.1", "--reason", "boredom"),
    "a mark that is none": ("stick", "6.1", "--mark", "sticky"),
    "a shown value that is none": ("stick", "6.1", "--shown", "Fern=abc"),
    "a shown value of nobody": ("stick", "6.1", "--shown", "=6.1"),
    "a shown value without its sensor": ("stick", "6.1", "--shown", "6.1"),
    "a shown value of another": ("stick", "6.1", "--shown", "Moss=6.1"),
    "a wear of another": ("wear", "--sensor", "Moss", "--inserted", "07:00"),
    "a wear of nobody": ("wear", "--inserted", "07:00"),
    "a wear that is to come": ("wear", "--sensor", "Fern", "--inserted", "2027-01-01 10:00"),
    "no open wear": ("wear", "--sensor", "Fern", "--removed", "07:00"),
    "removed before inserted": ("wear", "--sensor", "Fern", "--inserted", "07:00", "--removed", "06:00"),
    "a month there is not": ("wear", "--sensor", "Fern", "--inserted", "07:00", "--expires", "2027-13"),
    "a day there is not": ("wear", "--sensor", "Fern", "--inserted", "07:00", "--expires", "2027-02-29"),
    "a replaced wear there is not": (
        "wear",
        "--sensor",
        "Fern",
        "--inserted",
        "07:00",
        "--replaces",
        "06:00",
    ),
    "a side there is not": ("wear", "--sensor", "Fern", "--inserted", "07:00", "--side", "middle"),
    "an ending there is not": ("wear", "--sensor", "Fern", "--inserted", "07:00", "--ending", "well"),
    "a note of no kind": ("note", "weather", "rain"),
    "a note of nothing": ("note",),
    "a trip nowhere": ("note", "trip"),
    "a trip off the map": ("note", "trip", "Mars/Olympus"),
    "a trip home while at home": ("note", "trip", "Europe/Lisbon"),
    "a note about another": ("note", "skin", "red", "--of", "Moss"),
    "a note that ends first": ("note", "meal", "--from", "2026-02-28 10:00", "--to", "2026-02-28 09:00"),
    "no change to take back": ("undo",),
    "the first change": ("undo", "1"),
    "a change there is not": ("undo", "7"),
    "a change without end": ("undo", "9" * 30),
    "a change that is no number": ("undo", "last"),
    "a change below zero": ("undo", "-1"),
    "nothing to export": ("export",),
    "what cannot be exported": ("export", "wears"),
    "a format there is not": ("export", "sticks", "--format", "xml"),
    "no file to take in": ("intake",),
    "a file there is not": ("intake", "gone.csv"),
    "a folder to take in": ("intake", "."),
    "a trial to take in": ("intake", "spring.trial", "spring.trial"),
    "a setting without a value": ("intake", "spring.trial", "empty.csv", "--set", "unit"),
    "a setting without a key": ("intake", "spring.trial", "empty.csv", "--set", "=mg/dL"),
    "a setting twice": ("intake", "spring.trial", "empty.csv", "--set", "unit=mg/dL", "--set", "unit=mg/dL"),
    "an empty file": ("intake", "spring.trial", "empty.csv"),
    "a file of another": ("intake", "spring.trial", "empty.csv", "--of", "Moss"),
    "a picture of a proposal": ("intake", "spring.trial", "empty.csv", "--picture", "x.svg"),
    "a page nowhere": ("report", "--out", "gone/x.html"),
    "a copy nowhere": ("backup", "spring.trial", "gone/x.trial"),
    "a copy over the trial": ("backup", "spring.trial", "spring.trial"),
    "a trial that is there": ("new", "spring.trial", "--sensor", "Fern"),
    "a trial of nothing": ("new", "x.trial"),
    "a trial of four": (
        "new",
        "x.trial",
        *("--sensor", "a", "--sensor", "b", "--sensor", "c", "--sensor", "d"),
    ),
    "a trial of one name twice": ("new", "x.trial", "--sensor", "Fern", "--sensor", "fern"),
    "a sensor called meter": ("new", "x.trial", "--sensor", "Meter"),
    "a sensor without a name": ("new", "x.trial", "--sensor", " "),
    "a trial without its ending": ("new", "spring", "--sensor", "Fern"),
    "a trial that is all ending": ("new", ".trial", "--sensor", "Fern"),
    "a trial nowhere": ("new", "gone/x.trial", "--sensor", "Fern"),
    "a unit there is not": ("new", "x.trial", "--sensor", "Fern", "--unit", "g/L"),
    "a zone there is not": ("new", "x.trial", "--sensor", "Fern", "--zone", "Europe"),
    "a zone that leads out": ("new", "x.trial", "--sensor", "Fern", "--zone", "../../etc/passwd"),
    "a zone that is this computer's": ("new", "x.trial", "--sensor", "Fern", "--zone", "localtime"),
    "a key there is not": ("new", "x.trial", "--sensor", "Fern", "--set", "Fern.colour=red"),
    "a life without end": ("new", "x.trial", "--sensor", "Fern", "--set", f"Fern.life={'9' * 40}d"),
    "a price without end": ("new", "x.trial", "--sensor", "Fern", "--set", f"Fern.price={'9' * 400}"),
    "a rehearsal of no day": ("rehearse", "--days", "0"),
    "a rehearsal of a century": ("rehearse", "--days", "36500"),
    "more wears than days": ("rehearse", "--days", "2", "--wears", "3"),
    "sticks without number": ("rehearse", "--sticks", "nan"),
    "sticks without end": ("rehearse", "--sticks", "inf"),
    "a seed below zero": ("rehearse", "--seed", "-1"),
    "a rehearsal in a file": ("rehearse", "--out", "empty.csv/x"),
    "a demo in a file": ("demo", "empty.csv/x"),
    "a word too many": ("judge", "spring.trial", "again"),
    "an option there is not": ("judge", "--loud"),
    "a command there is not": ("guess",),
    "a trial there is not": ("judge", "gone.trial"),
    "a folder called a trial": ("judge", "folder.trial"),
    "an empty trial": ("judge", "nothing.trial"),
    "a trial that is text": ("judge", "text.trial"),
    "a trial cut short": ("judge", "cut.trial"),
    "a loop of links": ("judge", "loop.trial"),
}


@pytest.fixture
def spring(trial):
    """The trial beside an empty file, and others that are called trials."""
    folder = trial.folder
    (folder / "empty.csv").touch()
    return trial


@pytest.fixture
def odd(trial):
    """The trial beside files that are called trials and are none."""
    folder = trial.folder
    (folder / "folder.trial").mkdir()
    (folder / "nothing.trial").touch()
    (folder / "text.trial").write_text("Time,Value\n")
    (folder / "cut.trial").write_bytes((folder / "spring.trial").read_bytes()[:9000])
    (folder / "loop.trial").symlink_to("loop.trial")
    return trial


def refused(desk, words):
    """A command that is refused: its sentence, after all that must hold of any refusal was asserted."""
    before = held(desk)
    said = desk(*words)
    assert said.code in (1, 2), said.out
    assert said.out == ""
    assert said.err.strip()
    assert "Traceback" not in said.err
    assert said.err.rstrip().endswith((".", "'")), said.err
    assert held(desk) == before
    return said


def held(desk):
    """The trial's edition and history, and what lies in the folder but the day's copy of the trial."""
    path = desk.folder / "spring.trial"
    names = sorted(one.name for one in desk.folder.iterdir() if one.suffix != ".backups")
    return store.edition(path), store.history(path), names


@pytest.mark.parametrize(
    "name",
    [
        name
        for name, words in REFUSED.items()
        if not words[-1].endswith(".trial") or words[0] in ("new", "backup", "intake")
    ],
)
def test_a_refusal_says_why_and_changes_nothing(spring, name):
    """Exit code 1 or 2, nothing on standard output, a sentence with a cure, no file made, none touched."""
    refused(spring, REFUSED[name])


@pytest.mark.parametrize(
    "name", [name for name, words in REFUSED.items() if words[0] == "judge" and words[-1].endswith(".trial")]
)
def test_what_is_called_a_trial_and_is_none(odd, name):
    """Named by its file name, with what to do."""
    said = refused(odd, REFUSED[name])
    assert said.err.startswith(f"{REFUSED[name][-1]}: ")


@pytest.mark.parametrize(
    "name", ["a trial there is not", "an empty trial", "a trial that is text", "a trial cut short"]
)
@pytest.mark.parametrize("command", ["judge", "report", "undo", "export", "stick", "wear", "note"])
def test_every_command_refuses_them_alike(odd, name, command):
    """The same sentence whichever command is asked, and the same class of error in JSON."""
    file = REFUSED[name][-1]
    more = {"export": ("sticks",), "stick": ("6.1",), "wear": ("--sensor", "Fern"), "note": ("meal",)}.get(
        command, ()
    )
    asked = odd("judge", file)
    assert odd(command, file, *more).err == asked.err
    (told,) = json.loads(odd("judge", file, "--json").out)["errors"]
    assert asked.err == f"{told['file']}: {told['found']} {told['cure']}\n"


@pytest.mark.parametrize("at", TIMES)
def test_a_time_that_cannot_be_is_refused_everywhere(trial, at):
    """For a stick, a wear and a note alike; each says what was written."""
    for words in (
        ("stick", "6.1", "--at", at),
        ("wear", "--sensor", "Fern", "--inserted", at),
        ("note", "meal", "--to", at),
    ):
        if words[0] == "note" and at == "2200-12-31 23:59":
            continue
        said = refused(trial, words)
        assert f"'{at}'" in said.err or at in said.err


@pytest.mark.parametrize("value", VALUES)
def test_a_value_that_cannot_be_is_refused_with_an_example(trial, value):
    """In a trial in mmol/L; nothing is rounded, guessed or cut."""
    said = refused(trial, ("stick", value))
    assert "6.1" in said.err or "mg/dL" in said.err


def test_refusals_never_count_as_changes(spring):
    """After all of them the history holds the one change that made the trial."""
    for words in REFUSED.values():
        if not words[-1].endswith(".trial"):
            spring(*words)
    assert [line.number for line in store.history(spring.folder / "spring.trial")] == [1]

"""Taking in a file: proposal, then write."""

import pytest
from tests.desk.frozen import Frozen

from evenhand.desk.intaking import IntakeSaid, Source, settings_of, source_of, take_in
from evenhand.desk.making import TrialSaid, make_trial
from evenhand.errors import BadFile, TrialFileChanged, WrongUse
from evenhand.records.change import Change
from evenhand.store import file as store

TABLE = Source(
    "fern.csv", b"Time,Glucose (mg/dL)\n2026-02-28 08:00,110\n2026-02-28 08:05,114\n2026-02-28 08:10,117\n"
)


@pytest.fixture
def path(tmp_path):
    """A new trial of Fern and Slate in Lisbon."""
    make_trial(tmp_path / "x.trial", TrialSaid(("Fern", "Slate")), Frozen())
    return tmp_path / "x.trial"


def test_settings_are_pairs():
    """KEY=VALUE, split at the first '='; anything else is wrong use, and so is a key twice."""
    assert settings_of(["order=day-month", "unit = mg/dL", "x=a=b"]) == {
        "order": "day-month",
        "unit": "mg/dL",
        "x": "a=b",
    }
    for wrong in (["order"], ["=x"], ["a=1", "a=2"]):
        with pytest.raises(WrongUse):
            settings_of(wrong)


def test_a_file_goes_by_its_name_never_its_path(tmp_path):
    """What is kept of a file says nothing of the computer it lay on."""
    (tmp_path / "fern.csv").write_bytes(b"x")
    assert source_of(tmp_path / "fern.csv") == Source("fern.csv", b"x")


def test_what_is_no_file_is_said(tmp_path):
    """Missing, or a folder."""
    with pytest.raises(BadFile, match="no such file"):
        source_of(tmp_path / "gone.csv")
    with pytest.raises(BadFile, match="is a folder"):
        source_of(tmp_path)


def test_a_proposal_writes_nothing(path):
    """Without yes: no change, the same edition, no copy made."""
    before = path.read_bytes()
    taken = take_in(path, TABLE, IntakeSaid("Fern"), Frozen())
    assert (taken.change, taken.proposal.kept, taken.edition) == (None, 3, store.edition(path))
    assert path.read_bytes() == before


def test_with_yes_the_file_is_there(path):
    """Readings, ledger, file record and a new edition, in one change that says what it did."""
    taken = take_in(path, TABLE, IntakeSaid("Fern", yes=True), Frozen())
    trial = store.read(path)
    assert (taken.change, trial.change, taken.edition) == (2, 2, trial.edition)
    assert trial.readings[trial.sensors[0].id].value.tolist() == [110.0, 114.0, 117.0]
    assert [file.name for file in trial.files] == ["fern.csv"]
    assert len(store.ledger(path)) >= 3
    assert "fern.csv" in store.history(path)[-1].what


def test_what_changed_meanwhile_stops_the_writing(path):
    """Another program wrote between the look and the writing: nothing goes in, and the change is named."""

    def meanwhile(share, what):
        if not store.history(path)[-1].what.startswith("other"):
            store.write(path, Change("other program", 0))

    with pytest.raises(TrialFileChanged, match="other program"):
        take_in(path, TABLE, IntakeSaid("Fern", yes=True), Frozen(), meanwhile)
    assert store.read(path).readings == {}

"""Making a trial."""

import pytest
from tests.desk.frozen import Frozen

from evenhand.clock import ZoneOrigin
from evenhand.desk.making import TrialSaid, make_trial
from evenhand.errors import BadRecord, BadTime, ContradictingRecords, TrialFileExists, WrongUse
from evenhand.store import file as store
from evenhand.units import Unit


def test_what_is_made_is_what_is_read(tmp_path):
    """Header and sensors come back as they were returned; places are in the order named."""
    said = TrialSaid((" Fern ", "Slate"), "mmol/L", "Asia/Tokyo", "Bag", ("Fern.life=10d",))
    made = make_trial(tmp_path / "x.trial", said, Frozen(), seed=42)
    read = store.read(tmp_path / "x.trial")
    assert (read.header, read.sensors) == (made.header, made.sensors)
    assert [(sensor.name, sensor.place) for sensor in read.sensors] == [("Fern", 0), ("Slate", 1)]
    header = read.header
    assert (header.seed, header.unit, header.zone, header.zone_origin, header.meter) == (
        42, Unit.MMOL_L, "Asia/Tokyo", ZoneOrigin.GIVEN, "Bag",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("name", "said", "error"),
    [
        ("x.txt", TrialSaid(("Fern",)), WrongUse),
        (".trial", TrialSaid(("Fern",)), WrongUse),
        ("x.trial", TrialSaid(()), BadRecord),
        ("x.trial", TrialSaid(("Fern", " ")), BadRecord),
        ("x.trial", TrialSaid(("Fern", "FERN")), ContradictingRecords),
        ("x.trial", TrialSaid(("Fern",), zone="Nowhere/Land"), BadTime),
    ],
)
def test_what_cannot_be_made_makes_nothing(tmp_path, name, said, error):
    """Each refusal before a file is there."""
    with pytest.raises(error):
        make_trial(tmp_path / name, said, Frozen())
    assert not list(tmp_path.iterdir())


def test_a_file_that_is_there_stays(tmp_path):
    """Never overwritten, whatever it holds."""
    (tmp_path / "x.trial").write_bytes(b"mine")
    with pytest.raises(TrialFileExists):
        make_trial(tmp_path / "x.trial", TrialSaid(("Fern",)), Frozen())
    assert (tmp_path / "x.trial").read_bytes() == b"mine"

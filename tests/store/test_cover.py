"""Whether a reading of a moment could be known."""

import numpy as np
import pytest

from evenhand.clock import ZoneOrigin
from evenhand.records.change import Change
from evenhand.records.files import SourceFile
from evenhand.records.readings import Batch, Readings
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Header
from evenhand.store import file as store
from evenhand.store.cover import covered
from evenhand.units import Unit


def batch(name, file, instants):
    n = len(instants)
    readings = Readings(
        np.array(instants, np.int64), np.zeros(n, np.int32), np.full(n, 110.0), np.zeros(n, np.bool_),
        np.zeros(n, np.int8), np.arange(2, n + 2, dtype=np.int32), ("110",) * n,
    )  # fmt: skip
    return Batch(name, file, None, "s", readings)


@pytest.fixture
def path(tmp_path):
    """A trial with two files of one sensor: readings from 1000 to 2000, and from 5000 to 6000."""
    path = tmp_path / "x.trial"
    header = Header("h", "x", "Europe/Lisbon", ZoneOrigin.GIVEN, Unit.MG_DL, "meter", 1, 0)
    store.create(path, header, Change("made", 0, (Sensor("s", "Fern", 0),)))
    for name, instants in (("f", (1000, 1300, 2000)), ("g", (5000, 6000))):
        file = SourceFile(name, f"{name}.csv", name * 64, 9, "s", 0, len(instants))
        store.write(path, Change("took in", 0, (file,), (batch(f"b{name}", name, instants),)))
    return path


@pytest.mark.parametrize(
    ("instant", "known"), [(999, False), (1000, True), (1500, True), (2000, True), (3000, False), (6000, True), (6001, False)]
)  # fmt: skip
def test_a_moment_is_covered_from_the_first_to_the_last_reading(path, instant, known):
    """Between the files nothing is known, inside one everything, ends included."""
    assert covered(path, instant) is known


def test_what_was_taken_back_was_still_seen(path):
    """Undoing a file does not unsee it."""
    store.undo(path, 3, 0)
    assert covered(path, 5500)


def test_a_trial_without_readings_covers_nothing(tmp_path):
    """No file, no coverage."""
    path = tmp_path / "y.trial"
    header = Header("h", "y", "Europe/Lisbon", ZoneOrigin.GIVEN, Unit.MG_DL, "meter", 1, 0)
    store.create(path, header, Change("made", 0, (Sensor("s", "Fern", 0),)))
    assert not covered(path, 0)

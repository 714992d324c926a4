"""Invented trials on disk."""

import json

import pytest
from tests.desk.frozen import Frozen

from evenhand.desk.rehearsal import RehearsalSaid
from evenhand.desk.rehearsing import rehearse
from evenhand.errors import BadValue
from evenhand.store import file as store

SMALL = RehearsalSaid(days=2, wears=1, sticks=5, seed=7)


def test_trial_files_and_truth_are_written(tmp_path):
    """The trial file is whole and holds readings and sticks; the truth speaks of the same sensors."""
    made = rehearse(tmp_path / "r", SMALL, Frozen())
    trial = store.read(made.trial)
    assert store.check(made.trial).sound
    assert len(trial.sticks) >= 5
    assert all(len(trial.readings[sensor.id]) > 100 for sensor in trial.sensors)
    truth = json.loads(made.truth.read_text())
    assert list(truth["sensors"]) == [sensor.name for sensor in trial.sensors]
    assert all(0 < one["expected_mad"] < 60 for one in truth["sensors"].values())
    assert {path.suffix for path in made.files.iterdir()} == {".csv", ".tsv", ".txt"}


def test_the_same_seed_is_the_same_trial(tmp_path):
    """Sticks, readings and edition alike; another seed gives another trial."""
    one, same = (store.read(rehearse(tmp_path / name, SMALL, Frozen()).trial) for name in ("a", "b"))
    other = store.read(rehearse(tmp_path / "c", RehearsalSaid(2, 1, 5, 8), Frozen()).trial)
    assert (one.sticks, one.edition) == (same.sticks, same.edition)
    assert one.sticks != other.sticks


def test_without_a_seed_one_is_drawn(tmp_path):
    """The drawn seed is told, so that the trial can be made again."""
    made = rehearse(tmp_path / "r", RehearsalSaid(2, 1, 5), Frozen())
    again = rehearse(tmp_path / "s", RehearsalSaid(2, 1, 5, made.seed), Frozen())
    assert store.read(made.trial).sticks == store.read(again.trial).sticks


@pytest.mark.parametrize(
    "said", [RehearsalSaid(0), RehearsalSaid(400), RehearsalSaid(2, 3), RehearsalSaid(2, 0), RehearsalSaid(2, 1, 0), RehearsalSaid(2, 1, 99), RehearsalSaid(2, 1, 5, -1)]
)  # fmt: skip
def test_what_cannot_be_worn_or_pricked_is_refused(tmp_path, said):
    """Nothing is made."""
    with pytest.raises(BadValue):
        rehearse(tmp_path / "r", said, Frozen())
    assert not list(tmp_path.iterdir())

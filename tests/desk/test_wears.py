"""Logging wears."""

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.desk.frozen import Frozen

from evenhand.desk.making import TrialSaid, make_trial
from evenhand.desk.wears import WearSaid, log_wear, parse_date
from evenhand.errors import BadRecord, BadTime, ContradictingRecords, UnknownName, WrongUse
from evenhand.records.sensors import Ending, Side
from evenhand.store import file as store


@pytest.fixture
def path(tmp_path):
    """A new trial of Fern and Slate in Lisbon."""
    make_trial(tmp_path / "x.trial", TrialSaid(("Fern", "Slate")), Frozen())
    return tmp_path / "x.trial"


FIELDS = {
    "started": "2026-02-20 09:00", "removed": "2026-02-27 08:00", "site": "arm", "side": Side.LEFT, "lot": "L1",
    "serial": "S1", "expires": "2027-02", "ending": Ending.END, "drives": True,
}  # fmt: skip


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.permutations(sorted(FIELDS)), st.integers(1, 4))
def test_a_wear_told_in_pieces_is_the_wear_told_at_once(tmp_path_factory, order, size):
    """Whatever order the facts come in, and however many at a time, the wear is the same in the end."""
    path = tmp_path_factory.mktemp("wears") / "x.trial"
    make_trial(path, TrialSaid(("Fern",)), Frozen())
    for start in range(0, len(order), size):
        told = {name: FIELDS[name] for name in order[start : start + size]}
        log_wear(path, "Fern", WearSaid(inserted="2026-02-20 08:00", **told), Frozen())
    (wear,) = store.read(path).wears
    assert (wear.started.iso, wear.removed.iso) == ("2026-02-20T09:00:00+00:00", "2026-02-27T08:00:00+00:00")
    assert (wear.site, wear.side, wear.lot, wear.serial, wear.ending, wear.drives) == (
        "arm", Side.LEFT, "L1", "S1", Ending.END, True,
    )  # fmt: skip
    assert wear.expires == date(2027, 2, 28)


def test_what_was_before_is_returned(path):
    """The record that is superseded comes back, for saying what changed; its id stays."""
    first = log_wear(path, "Fern", WearSaid(inserted="07:00", site="arm"), Frozen())
    second = log_wear(path, "fern", WearSaid(inserted="07:00", site="thigh"), Frozen())
    assert first.before is None
    assert second.before == first.wear
    assert second.wear.id == first.wear.id
    assert [line.what for line in store.history(path)[1:]] == [
        "logged a wear of Fern from 2026-03-01T07:00:00+00:00",
        "changed the wear of Fern from 2026-03-01T07:00:00+00:00",
    ]


def test_a_correction_can_be_taken_back(path):
    """Undo brings back the wear as it was."""
    log_wear(path, "Fern", WearSaid(inserted="07:00", site="arm"), Frozen())
    log_wear(path, "Fern", WearSaid(site="thigh"), Frozen())
    store.undo(path, None, 0)
    assert store.read(path).wears[0].site == "arm"


def test_sensors_have_their_own_wears(path):
    """An insertion of one sensor supersedes nothing of the other."""
    log_wear(path, "Fern", WearSaid(inserted="07:00"), Frozen())
    logged = log_wear(path, "Slate", WearSaid(inserted="07:00"), Frozen())
    assert logged.before is None
    assert logged.still_open == ()
    assert len(store.read(path).wears) == 2


def test_seconds_do_not_tell_insertions_apart(path):
    """07:00 and 07:00:30 are one insertion: a person writes minutes."""
    log_wear(path, "Fern", WearSaid(inserted="07:00:30"), Frozen())
    assert log_wear(path, "Fern", WearSaid(inserted="07:00"), Frozen()).before is not None
    assert log_wear(path, "Fern", WearSaid(inserted="07:01", removed="07:30"), Frozen()).before is None


@pytest.mark.parametrize(
    ("said", "error"),
    [
        (WearSaid(), WrongUse),
        (WearSaid(inserted="tomorrow"), BadTime),
        (WearSaid(inserted="07:00", started="06:30"), BadRecord),
        (WearSaid(inserted="07:00", expires="31.3.27"), BadTime),
        (WearSaid(inserted="07:00", replaces="06:00"), UnknownName),
    ],
)
def test_what_is_wrong_writes_nothing(path, said, error):
    """Each with its own class of failure."""
    with pytest.raises(error):
        log_wear(path, "Fern", said, Frozen())
    assert store.read(path).change == 1


def test_a_contradiction_with_another_wear_writes_nothing(path):
    """Two wears of a sensor never run at once between start and removal; between insertion and start they may."""
    log_wear(path, "Fern", WearSaid(inserted="2026-02-20 08:00", removed="2026-02-27 08:00"), Frozen())
    early = WearSaid(inserted="2026-02-26 08:00", started="2026-02-27 08:00")
    assert log_wear(path, "Fern", early, Frozen()).change == 3
    with pytest.raises(ContradictingRecords):
        log_wear(path, "Fern", WearSaid(inserted="2026-02-26 08:00", started="2026-02-26 20:00"), Frozen())
    assert store.read(path).change == 3


@pytest.mark.parametrize(
    ("text", "day"),
    [("2027-03-31", date(2027, 3, 31)), ("2028-02", date(2028, 2, 29)), ("2027-12", date(2027, 12, 31)), (" 2027-04 ", date(2027, 4, 30))],
)  # fmt: skip
def test_expiry_dates(text, day):
    """A day, or a month for its last day."""
    assert parse_date(text) == day


@pytest.mark.parametrize("text", ["2027", "2027-00", "2027-02-30", "March 2027", "", "03/27"])
def test_what_is_no_date_is_refused(text):
    """Nothing is guessed."""
    with pytest.raises(BadTime):
        parse_date(text)

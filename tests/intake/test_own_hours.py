"""The clock change in a file's own spacing, in zones of both hemispheres and of half hours; nothing said of good files."""

import datetime as dt

import pytest
from tests.intake.helpers import a_trial, take

from evenhand.clock import offset_at, possible_instants
from evenhand.records.files import Fate

CHANGES = {
    "Europe/Berlin": (dt.datetime(2026, 3, 29, 2), dt.datetime(2025, 10, 26, 2)),
    "America/St_Johns": (dt.datetime(2026, 3, 8, 2), dt.datetime(2025, 11, 2, 1)),
    "Australia/Sydney": (dt.datetime(2025, 10, 5, 2), dt.datetime(2026, 4, 5, 2)),
    "Australia/Adelaide": (dt.datetime(2025, 10, 5, 2), dt.datetime(2026, 4, 5, 2)),
    "America/Santiago": (dt.datetime(2025, 9, 7, 0), dt.datetime(2026, 4, 4, 23)),
}
"""The first wall time left out in spring and the first that comes twice in autumn (IANA zone data)."""
HALF_HOUR = ("Australia/Lord_Howe", dt.datetime(2025, 10, 5, 2), dt.datetime(2026, 4, 5, 1, 30))


def table(walls) -> str:
    """Rows at wall times without an offset."""
    return "Time,Glucose mg/dL\n" + "".join(
        f"{wall:%Y-%m-%d %H:%M},{100 + (7 * number) % 60}\n" for number, wall in enumerate(walls)
    )


def straight(start: dt.datetime, many: int = 240):
    """A clock that is not changed: every five minutes."""
    return [start + dt.timedelta(minutes=5 * number) for number in range(many)]


def changed(start: dt.datetime, zone: str, many: int = 240):
    """A clock that is changed with the zone."""
    first = possible_instants(start, zone)[0]
    instants = [first + 300 * number for number in range(many)]
    return [dt.datetime(1970, 1, 1) + dt.timedelta(seconds=at + offset_at(at, zone)) for at in instants]


def proposals(walls, zone: str):
    """What is proposed, and the proposal itself."""
    found = take(table(walls), of="Fern", trial=a_trial(zone))
    return [(one.code, one.set) for one in found.proposals], found


@pytest.mark.parametrize("zone", [*CHANGES, HALF_HOUR[0]])
@pytest.mark.parametrize("turn", [0, 1])
def test_a_clock_that_was_changed_is_not_spoken_of_and_every_row_is_kept(zone, turn):
    """Both changes of the year: no proposal, every row kept at its own instant, five minutes apart."""
    at = (CHANGES.get(zone) or HALF_HOUR[1:])[turn]
    told, found = proposals(changed(at - dt.timedelta(hours=6), zone), zone)
    assert told == []
    assert found.kept == 240
    block = found.change.batches[0].readings
    assert set((block.instant[1:] - block.instant[:-1]).tolist()) == {300}


@pytest.mark.parametrize("zone", CHANGES)
def test_a_clock_not_put_forward_is_proposed(zone):
    """The rows of the hour left out are set aside as written, and kept evenly once the proposal is accepted."""
    at = CHANGES[zone][0]
    walls = straight(at - dt.timedelta(hours=6))
    ((code, said),), found = proposals(walls, zone)
    assert code == "clock-not-changed"
    assert found.counts[Fate.SET_ASIDE] == 12
    key, _, value = said.partition("=")
    again = take(table(walls), of="Fern", trial=a_trial(zone), **{key: value})
    assert again.kept == 240
    assert again.proposals == ()
    block = again.change.batches[0].readings
    assert set((block.instant[1:] - block.instant[:-1]).tolist()) == {300}


@pytest.mark.parametrize("zone", CHANGES)
def test_a_clock_not_put_back_is_proposed(zone):
    """No time comes twice: proposed, and evenly spaced once accepted."""
    at = CHANGES[zone][1]
    walls = straight(at - dt.timedelta(hours=6))
    ((code, said),), found = proposals(walls, zone)
    assert code == "clock-not-changed"
    assert found.kept == 240
    key, _, value = said.partition("=")
    again = take(table(walls), of="Fern", trial=a_trial(zone), **{key: value})
    block = again.change.batches[0].readings
    assert set((block.instant[1:] - block.instant[:-1]).tolist()) == {300}


def test_a_clock_put_forward_late_is_proposed_for_the_hours_between():
    """Set by hand in the morning: the hours between are moved, no row is set aside then."""
    walls = straight(dt.datetime(2026, 3, 28, 20), 150)
    walls += straight(walls[-1] + dt.timedelta(minutes=65), 90)
    ((code, said),), _ = proposals(walls, "Europe/Berlin")
    assert (code, said) == (
        "clock-not-changed",
        "shift=+60min@2026-03-29T02:00:00..2026-03-29T08:25:00",
    )
    again = take(table(walls), of="Fern", shift=said.removeprefix("shift="))
    assert again.kept == 240
    block = again.change.batches[0].readings
    assert set((block.instant[1:] - block.instant[:-1]).tolist()) == {300}


def test_newest_first_is_read_the_same():
    """The order of the file does not matter."""
    walls = straight(dt.datetime(2026, 3, 28, 20))
    assert proposals(walls, "Europe/Berlin")[0] == proposals(walls[::-1], "Europe/Berlin")[0]


def test_offsets_in_the_file_leave_nothing_to_propose():
    """A file that states its offsets has said it all."""
    text = table(straight(dt.datetime(2026, 3, 28, 20))).replace(",1", "+01:00,1")
    assert take(text, of="Fern").proposals == ()


@pytest.mark.parametrize("said", [{"shift": "no"}, {"zone": "+01:00"}, {"shift": "+0min"}])
def test_once_something_was_said_nothing_is_proposed(said):
    """Accepted or refused, the proposal is closed."""
    text = table(straight(dt.datetime(2026, 3, 28, 20)))
    assert take(text, of="Fern", **said).proposals == ()


def test_the_half_hour_zone():
    """Half an hour left out, half an hour twice."""
    zone, spring, autumn = HALF_HOUR
    for at in (spring, autumn):
        ((code, said),), _ = proposals(straight(at - dt.timedelta(hours=6)), zone)
        assert code == "clock-not-changed"
        assert said in ("zone=+10:30", "zone=+11:00")

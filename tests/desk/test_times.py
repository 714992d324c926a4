"""Times a person wrote."""

import pytest
from tests.desk.frozen import LISBON, Frozen

from evenhand.clock import Stamp, Trip, Zones
from evenhand.desk.times import end_of, past, when
from evenhand.errors import BadTime

NOW = Frozen("2026-03-01 08:00").now
ZONES = Zones(LISBON)


def test_nothing_written_is_now():
    """Left out, a time is this moment where the wearer is."""
    assert when(None, NOW, ZONES).stamp.iso == "2026-03-01T08:00:00+00:00"
    assert when(None, NOW, Zones(LISBON, (Trip(NOW - 9, None, "Asia/Tokyo"),))).stamp.zone == "Asia/Tokyo"


def test_a_fact_does_not_lie_in_the_future():
    """A stick of tomorrow is refused; one of this moment is not."""
    assert past("08:00", NOW, ZONES).stamp.instant == NOW
    with pytest.raises(BadTime, match="has not come yet"):
        past("2026-03-02 07:00", NOW, ZONES)


@pytest.mark.parametrize(
    ("start", "end", "iso"),
    [
        ("2026-02-28 19:00", "20:30", "2026-02-28T20:30:00+00:00"),
        ("2026-02-28 23:00", "1:15", "2026-03-01T01:15:00+00:00"),
        ("2026-02-28 19:00", "today 07:00", "2026-03-01T07:00:00+00:00"),
        ("2026-02-20 19:00", "2026-03-09 07:00", "2026-03-09T07:00:00+00:00"),
    ],
)
def test_a_bare_end_follows_the_start(start, end, iso):
    """'to 1:15' after 'from 23:00' is the next night, not the last one; named days stay as named."""
    begun = when(start, NOW, ZONES).stamp
    assert end_of(end, begun, NOW, ZONES).stamp.iso == iso


def test_an_end_may_be_still_to_come():
    """What began just now may be noted with the end it will have."""
    begun = Stamp.at(NOW, LISBON)
    assert end_of("09:00", begun, NOW, ZONES).stamp.instant == NOW + 3600

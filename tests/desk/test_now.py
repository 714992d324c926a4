"""The only reader of clock, environment, zone and entropy."""

import itertools
from pathlib import Path

import pytest

from evenhand.desk.now import Now


class Stated(Now):
    """A `Now` whose environment and zone links are stated."""

    def __init__(self, tz=None, link=Path("no-link"), named=Path("no-file")):
        self.tz, self.link, self.named = tz, link, named

    def environment(self, name):
        assert name == "TZ"
        return self.tz

    def links(self):
        return self.link, self.named


def test_the_clock_runs_and_is_near_the_file_system_s(tmp_path):
    """The instant is that at which a file just made was made, to a few seconds."""
    (tmp_path / "made").write_text("x")
    assert abs(Now().instant() - (tmp_path / "made").stat().st_mtime) < 5
    now = Now()
    assert now.ticks() <= now.ticks()


def test_ids_are_twenty_digits_and_never_twice_the_same():
    """Ids are random text: two diverged copies can be merged."""
    ids = list(itertools.islice(Now().ids(), 500))
    assert len(set(ids)) == 500
    assert all(len(one) == 20 and int(one, 16) >= 0 for one in ids)


def test_a_seed_fits_in_48_bits():
    """Seeds stay exact in every JSON reader."""
    assert all(0 <= Now().seed() < 2**48 for _ in range(50))


@pytest.mark.parametrize("tz", ["Asia/Tokyo", ":Asia/Tokyo"])
def test_the_zone_is_the_environment_s_where_that_names_one(tz):
    """TZ wins over what the computer is set to."""
    assert Stated(tz).computer_zone() == "Asia/Tokyo"


def test_a_zone_that_is_no_name_is_not_guessed():
    """Rules written out in TZ are not a zone that can be recorded."""
    assert Stated("CET-1CEST,M3.5.0,M10.5.0/3").computer_zone() is None


def test_the_zone_is_read_from_the_link(tmp_path):
    """A link into the zone rules names the zone by its last parts."""
    rules = tmp_path / "zoneinfo" / "America" / "St_Johns"
    rules.parent.mkdir(parents=True)
    rules.write_bytes(b"rules")
    link = tmp_path / "localtime"
    link.symlink_to(rules)
    assert Stated(link=link).computer_zone() == "America/St_Johns"


def test_the_zone_is_read_from_the_file_that_names_it(tmp_path):
    """Where there is no link, a file may name the zone; anything else in it is no zone."""
    named = tmp_path / "timezone"
    named.write_text("Europe/Oslo\n")
    assert Stated(named=named).computer_zone() == "Europe/Oslo"
    named.write_text("Nowhere/Land\n")
    assert Stated(named=named).computer_zone() is None
    assert Stated(named=tmp_path / "missing").computer_zone() is None


def test_without_any_sign_there_is_no_zone():
    """Then the user is asked for one; nothing is assumed."""
    assert Stated().computer_zone() is None


def test_the_real_zone_is_a_zone_or_none():
    """Whatever this computer says is usable or not said at all."""
    from evenhand.clock import zone_info

    found = Now().computer_zone()
    assert found is None or zone_info(found).key == found

"""The keys of `--set`: one syntax, every key documented, wrong ones named with their cure."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.intake.helpers import take

from evenhand.errors import BadTime, BadValue, UnknownName
from evenhand.intake import bounds
from evenhand.intake.settings import FOR_ONE_FILE, KEYS, parse, table

DOCS = Path(__file__).parents[2] / "docs" / "files.md"


def test_the_documented_keys_are_all_there_are():
    """docs/files.md holds the very table that the keys make."""
    assert table() in DOCS.read_text(encoding="utf-8")


def test_every_key_has_a_row():
    """None twice, none without help."""
    rows = table().splitlines()[2:]
    assert [row.split("`")[1] for row in rows] == list(KEYS)
    assert all(len(help_) > 10 for help_ in KEYS.values())


def test_the_documented_limits_are_the_limits():
    """As bounds.py has them."""
    text = DOCS.read_text(encoding="utf-8")
    assert (
        f"At most {bounds.MAX_BYTES // 2**20} MB, {bounds.MAX_ROWS:,} rows, {bounds.MAX_COLUMNS:,} columns"
        in text
    )
    assert f"{bounds.MAX_JSON // 2**20} million characters and {bounds.MAX_DEEP} levels" in text


def test_ten_kinds_of_trouble_are_described():
    """Numbered one to ten."""
    text = DOCS.read_text(encoding="utf-8").partition("## The ten worst")[2].partition("## File keys")[0]
    assert [line.split(".")[0] for line in text.splitlines() if line[:2].strip(". ").isdigit()] == [
        str(number) for number in range(1, 11)
    ]


def test_what_holds_for_one_file_is_known():
    """Each is a key or the family of one."""
    heads = {key.partition(".")[0] for key in KEYS}
    assert heads >= FOR_ONE_FILE


@pytest.mark.parametrize(("said", "seconds"), [("-57min", -3420), ("+12h", 43200), ("1d", 86400), ("no", 0)])
def test_shifts(said, seconds):
    """Signed, with a unit of time; 'no' refuses what is proposed."""
    assert sum(piece.seconds for piece in parse({"shift": said}).shift) == seconds


@pytest.mark.parametrize(
    ("said", "error"),
    [
        ({"ordr": "day-month"}, UnknownName),
        ({"order": "sideways"}, BadValue),
        ({"shift": "soon"}, BadValue),
        ({"line": "3"}, UnknownName),
    ],
)
def test_what_cannot_be_said(said, error):
    """Each with a cure."""
    with pytest.raises(error) as caught:
        parse(said)
    assert caught.value.cure


def test_a_day_that_is_none():
    """'day=' takes a day and nothing else."""
    with pytest.raises(BadTime, match="is not a day"):
        take("07:42 110\n", "a.txt", day="soon")


def test_words_after_keys_are_folded():
    """Names behind a dot are met whatever their case, accents and joining marks."""
    assert parse({"sensor.Glycémie_1": "Fern"}).about("sensor", "glycemie 1") == "Fern"


def test_refusing_a_proposal_leaves_none_open():
    """A meter in the future is proposed to be wrong; shift=no says that it was right."""
    text = "time,mg/dL\n2026-08-01 07:42,110\n2026-08-01 12:42,120\n"
    assert take(text, of="meter").proposals
    refused = take(text, of="meter", shift="no")
    assert refused.proposals == ()
    assert refused.change.records[0].open_proposals == ()

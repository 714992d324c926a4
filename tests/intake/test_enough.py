"""Tables that cannot be read at all say why."""

from __future__ import annotations

import pytest
from tests.intake.helpers import take

from evenhand.errors import BadFile


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Time,mg/dL\n2026-03-01,110\n2026-03-02,112\n", "dates without a time of day"),
        ("Time,mg/dL\n2026-03-01 00:00,110\n2026-03-02 00:00,112\n2026-03-03 00:00,111\n", "says midnight in every row"),
        ("Time,g/L\n2026-03-01 07:00,1.10\n2026-03-01 07:05,1.12\n", "is in g/L"),
        ("Colour,Size\nred,110\nblue,112\n", "no table of times and values"),
    ],
)  # fmt: skip
def test_why_there_is_nothing_to_read(text, found):
    """Each in words, with a cure and the file's name."""
    with pytest.raises(BadFile, match=found) as caught:
        take(text, of="Fern")
    assert caught.value.cure
    assert caught.value.place.file == "a.csv"


def test_midnights_among_other_times_are_times():
    """A reading at midnight is one."""
    assert take("Time,mg/dL\n2026-03-01 00:00,110\n2026-03-01 00:05,112\n", of="Fern").kept == 2

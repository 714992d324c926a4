"""A column of kinds in which no word says what was measured: asked, never set aside unseen, never guessed."""

from __future__ import annotations

import pytest
from tests.intake.helpers import a_trial, readings_of, take

from evenhand.errors import BadFile
from evenhand.records.files import Fate

ROWS = "".join(f"2026-03-02 07:{minute:02d},gv,{100 + minute % 7 * 3}\n" for minute in range(0, 60, 5))
HEAD = "time,type,mg/dL\n"


def test_rows_with_values_of_an_unknown_kind_are_asked_about():
    """The word, how many rows, and how to answer; the rows wait."""
    found = take(HEAD + ROWS, of="Fern")
    (asked,) = found.questions
    assert (asked.code, asked.set) == ("kind", "kind.gv=KIND")
    assert "'gv'" in asked.text
    assert "12 rows" in asked.text
    assert found.counts[Fate.WAITING] == 12
    assert {row.reason for row in found.not_kept()} == {"waits for the answer to what it is"}


def test_the_answer_reads_them():
    """All twelve are readings."""
    trial = a_trial()
    found = take(HEAD + ROWS, of="Fern", trial=trial, **{"kind.gv": "reading"})
    assert not found.questions
    assert found.kept == 12
    assert readings_of(found, trial)["Fern"][0] == "2026-03-02T07:00:00+01:00 100 mg/dL"


def test_ignoring_every_row_is_refused():
    """Nothing would be taken in."""
    with pytest.raises(BadFile, match="None of the 12 rows"):
        take(HEAD + ROWS, of="Fern", **{"kind.gv": "ignore"})


def test_nothing_is_asked_where_a_known_word_says_what_was_measured():
    """Beside readings that are called so, rows of another kind are set aside with their reason."""
    found = take(HEAD + ROWS.replace("gv", "reading") + "2026-03-02 09:00,insulin,45\n", of="Fern")
    assert not found.questions
    assert found.kept == 12
    assert [row.reason for row in found.not_kept()] == ["'insulin' is no kind of row that Evenhand keeps"]


def test_rows_without_a_value_are_not_asked_about():
    """'mystery' holds nothing that could be a value."""
    found = take(HEAD + ROWS + "2026-03-02 09:00,mystery,\n", of="Fern")
    assert [asked.set for asked in found.questions] == ["kind.gv=KIND"]
    assert [(row.fate, row.reason) for row in found.not_kept()][-1] == (
        Fate.SET_ASIDE,
        "'mystery' is no kind of row that Evenhand keeps",
    )

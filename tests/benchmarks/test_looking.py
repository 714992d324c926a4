"""The benchmark of looking early: a dozen trials for its plumbing; the 2,000 stand in docs/looking.md."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from benchmarks.honesty import looking

TRIALS = 12
DOCS = Path(__file__).parents[2] / "docs" / "looking.md"


@pytest.fixture(scope="module")
def found():
    return [looking.look(seed) for seed in range(500, 500 + TRIALS)]


def test_every_way_of_looking_has_its_three_counts(found):
    """A winner, by chance alone, against the whole trial: -1, 0 or 1 each; one look at the end is the same for all three,
    because the truth of the whole trial is nought."""
    for row in found:
        for key, _ in looking.WAYS:
            assert all(row[f"{key}_{kind}"] in (-1, 0, 1) for kind in ("named", "chance", "whole"))
        assert row["looks_1_chance"] == row["looks_1_whole"]


def test_an_evening_look_never_names_fewer(found):
    """Who looks every evening sees the last evening too."""
    for row in found:
        if row["looks_1_named"]:
            assert row["evenings_named"]


def test_a_line_is_the_same_again(found):
    """Seeded by the trial alone."""
    assert json.dumps(looking.look(500)) == json.dumps(found[0])


def test_what_is_there_is_not_run_again(tmp_path, found):
    """Stopped and resumed: lines that are there stay."""
    path = looking.path_of(looking.NAME, tmp_path)
    path.write_text(
        "".join(
            json.dumps({**row, "seed": looking.FIRST_SEED + place}) + "\n" for place, row in enumerate(found)
        )
    )
    looking.run(TRIALS, tmp_path, 1)
    assert len(looking.rows(looking.NAME, tmp_path)) == TRIALS


def test_shares_carry_their_error():
    """Two of eight: 25 %, with a standard error of 15.3."""
    rows = [{"x": 1}, {"x": -1}, *({"x": 0} for _ in range(6))]
    share, error = looking.shares(rows, "x")
    assert (share, round(error, 1)) == (25.0, 15.3)


def test_the_page_is_made_from_the_rows(found, tmp_path):
    """Every way of looking is a row with three shares."""
    page = looking.write(found, tmp_path / "looking.md", "abc")
    assert f"{TRIALS} invented trials" in page
    assert all(words in page for _, words in looking.WAYS)
    assert page.count(" ± ") >= 12


def test_the_seal_keeps_its_promise_in_the_docs():
    """2,000 trials: sealed, and with declared looks, a winner is named by chance in at most 6 %; every evening in several times
    as many."""
    text = DOCS.read_text(encoding="utf-8")
    shares = {
        line.split("|")[1].strip(): float(line.split("|")[2].split("%")[0])
        for line in text.splitlines()
        if "±" in line and line.startswith("|")
    }
    sealed = [share for words, share in shares.items() if not words.startswith("every evening")]
    assert "2,000 invented trials" in text
    assert len(sealed) == 3
    assert all(2.0 < share <= 6.0 for share in sealed)
    assert max(shares.values()) > 4 * max(sealed)

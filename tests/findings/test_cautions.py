"""The catalogue of cautions: every code has a sentence, is documented, and is used or explained."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import evenhand
from evenhand.findings.cautions import CAUTIONS, REASONS, SAFETY_CODES, caution, in_order, needs

SOURCE = Path(evenhand.__file__).parent
DOCS = SOURCE.parent.parent / "docs" / "findings.md"
CALLED = re.compile(r"\bcaution\(\s*[\"']([a-z0-9-]+)[\"']")


def test_every_code_used_has_a_sentence_and_every_sentence_is_used():
    """No room makes a caution without a sentence, and no sentence stands unused."""
    made = {
        code
        for path in SOURCE.rglob("*.py")
        if path.name != "cautions.py" or path.parent.name != "findings"
        for code in CALLED.findall(path.read_text(encoding="utf-8"))
    }
    assert made - set(CAUTIONS) == set()
    assert set(CAUTIONS) - made == set()


@pytest.mark.parametrize("code", [*CAUTIONS, *REASONS, *SAFETY_CODES])
def test_every_code_is_documented(code):
    """Each code stands in docs/findings.md, written in small letters with hyphens."""
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code)
    assert f"`{code}`" in DOCS.read_text(encoding="utf-8")


@pytest.mark.parametrize("code", CAUTIONS)
def test_every_sentence_fills(code):
    """A sentence fills with the numbers it names, and leaves no brace behind."""
    made = caution(code, "Fern", **dict.fromkeys(needs(code) - {"subject", "text"}, 2), text="So it is.")
    assert made.code == code
    assert "{" not in made.text
    assert made.text.rstrip()[-1] in ".!"


@pytest.mark.parametrize("code", CAUTIONS)
def test_no_sentence_claims_more_than_it_may(code):
    """No sentence says 'accurate', 'better' or 'reliable'; none uses words kept off pages."""
    assert not re.search(
        r"\b(accurate|better|best|reliable|bootstrap|cluster|even scale)\b", CAUTIONS[code], re.I
    )


def test_a_missing_number_is_an_error():
    """A sentence that needs a number does not go out without it."""
    with pytest.raises(KeyError):
        caution("uncovered-readings", "Fern")
    with pytest.raises(KeyError):
        caution("no-such-code", "Fern")


def test_counts_agree_with_their_nouns():
    """One is told in the singular."""
    assert caution("uncovered-readings", "Fern", count=1).text.startswith("1 reading of")
    assert caution("uncovered-readings", "Fern", count=0).text.startswith("0 readings of")


def test_order_is_the_catalogues():
    """Cautions come in the order of the catalogue, each once, however they were found."""
    first, last = caution("no-readings", "Fern"), caution("one-lot", "Fern")
    assert in_order([last, first, last]) == (first, last)

"""Numbers in words."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.say import numbers
from evenhand.stats.estimate import Est
from evenhand.units import FACTOR, Unit

finite = st.floats(-500, 500, allow_nan=False)


def test_margin_in_both_units_is_one_margin():
    """3 mg/dL and 0.17 mmol/L are the same margin (3 / 18.0156 = 0.1665), each to its unit's places."""
    assert numbers.margin(3.0, Unit.MG_DL) == "3 mg/dL"
    assert numbers.margin(3.0, Unit.MMOL_L) == "0.17 mmol/L"
    assert numbers.margin(2.5, Unit.MG_DL) == "2.5 mg/dL"


def test_level_says_the_level_that_was_used():
    """Looks are paid for with wider intervals, and the level printed is the one used (Pocock 1977)."""
    assert [numbers.level(share) for share in (0.9, 0.983, 0.9706, 0.9393)] == [
        "90 %",
        "98.3 %",
        "97.06 %",
        "93.93 %",
    ]


def test_every_estimate_carries_its_interval():
    """A number is never said without its interval."""
    assert numbers.error(Est(9.84, 8.06, 11.5), Unit.MG_DL) == "9.8 mg/dL (95 %: 8.1 to 11.5)"
    assert numbers.signed(Est(-1.5, -3.2, 0.2), Unit.MG_DL) == "−1.5 mg/dL (95 %: −3.2 to +0.2)"
    assert numbers.share(Est(84.0, 81.0, 87.0)) == "84 % (95 %: 81 to 87)"


def test_a_value_without_interval_says_why():
    """No interval is a fact with a reason, not an omission."""
    assert numbers.error(Est(4.0, why="few-visits"), Unit.MG_DL).endswith(
        "(no interval: too few separate moments with a stick)"
    )


def test_a_missing_number_says_why():
    """A missing number is words, never a dash, a zero or 'None'."""
    said = numbers.error(Est.missing("no-pairs"), Unit.MMOL_L)
    assert said == "not given: no stick had a reading beside it"


@given(value=finite, half=st.floats(0, 100), unit=st.sampled_from(list(Unit)))
def test_intervals_are_said_in_order(value: float, half: float, unit: Unit):
    """Whatever the numbers, low is said before high, and both in the wearer's unit."""
    said = numbers.signed(Est(value, value - half, value + half), unit)
    low, high = (float(part.replace("−", "-")) for part in re.search(r": (\S+) to (\S+)\)", said).groups())
    assert low <= high
    scale = 1.0 if unit is Unit.MG_DL else FACTOR
    assert abs(high * scale - (value + half)) <= 0.0501 * (1 if unit is Unit.MG_DL else 2)


@given(st.floats(-1e4, 1e4, allow_nan=False))
def test_no_minus_zero_and_no_hyphen_for_minus(value: float):
    """Negative numbers carry a true minus sign; zero carries none."""
    said = numbers.percent(value, 1)
    assert "-" not in said
    assert said != "−0.0 %"


def test_a_signed_zero_has_no_sign():
    """Zero leans to no side."""
    assert numbers.signed_text("0.0") == "0.0"


@pytest.mark.parametrize(
    ("n", "words"), [(0, "0 sticks"), (1, "1 stick"), (2, "2 sticks"), (57600, "57,600 sticks")]
)
def test_counts_agree_with_their_noun(n: int, words: str):
    """One stick, two sticks."""
    assert numbers.counted(n, "stick") == words


def test_size_drops_the_sign_only_where_it_is_sure():
    """An interval on one side is said by size; one across zero keeps its signs."""
    assert numbers.size(Est(-3.0, -5.0, -1.0), Unit.MG_DL) == "3.0 mg/dL (95 %: 1.0 to 5.0)"
    assert numbers.size(Est(-3.0, -7.0, 1.0), Unit.MG_DL) == "−3.0 mg/dL (95 %: −7.0 to +1.0)"


def test_lists_and_counts_in_words():
    """Short lists read as a sentence; small counts as words."""
    assert numbers.listed(["Fern"]) == "Fern"
    assert numbers.listed(iter(["Fern", "Slate"]), "or") == "Fern or Slate"
    assert numbers.in_words(0) == "no"
    assert numbers.in_words(13) == "13"

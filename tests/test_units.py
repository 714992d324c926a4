"""Glucose values: consensus pairs, both units, rounding, and strict reading of what a person types."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.errors import BadValue
from evenhand.units import (
    FACTOR,
    Beyond,
    Glucose,
    Unit,
    from_mg_dl,
    parse_glucose,
    parse_unit,
    rounded,
    shown,
    shown_difference,
    to_mg_dl,
)

MG, MMOL = Unit.MG_DL, Unit.MMOL_L
tenths = st.integers(5, 600).map(lambda n: n / 10)


@pytest.mark.parametrize(
    ("value", "unit", "very_low", "low", "high"),
    [
        # Battelino et al., Diabetes Care 2019;42:1593-1603, Table 1 (read): pairs, not conversions.
        (53, MG, True, True, False),
        (54, MG, False, True, False),
        (69, MG, False, True, False),
        (70, MG, False, False, False),
        (180, MG, False, False, False),
        (181, MG, False, False, True),
        (2.9, MMOL, True, True, False),
        (3.0, MMOL, False, True, False),
        (3.8, MMOL, False, True, False),
        (3.9, MMOL, False, False, False),
        (10.0, MMOL, False, False, False),
        (10.1, MMOL, False, False, True),
    ],
)
def test_consensus_limits(value, unit, very_low, low, high):
    """On each limit and one step beyond it, in the unit recorded."""
    found = Glucose(value, unit, str(value))
    assert (found.is_very_low, found.is_low, found.is_high) == (very_low, low, high)


def test_limit_words_count_on_their_side():
    """'low' is low and very low though the device's limit may be 70; 'high' is high."""
    assert Glucose(70.0, MG, "LOW", Beyond.LOW).is_very_low
    assert Glucose(70.0, MG, "LOW", Beyond.LOW).is_low
    assert Glucose(180.0, MG, "HIGH", Beyond.HIGH).is_high


@given(st.floats(0, 1500), st.sampled_from(Unit))
def test_round_trip_between_units(value, unit):
    """To mg/dL and back is the same number, to the last bit or two."""
    assert from_mg_dl(to_mg_dl(value, unit), unit) == pytest.approx(value, rel=1e-15, abs=1e-300)
    assert Glucose(value, unit, "").mg_dl == to_mg_dl(value, unit)


@given(tenths)
def test_a_value_in_mmol_is_shown_as_recorded(value):
    """Kept in mg/dL unrounded, a value recorded to one place comes out as it was written."""
    assert shown(to_mg_dl(value, MMOL), MMOL) == f"{value:.1f}"


@given(st.integers(20, 600))
def test_a_value_in_mg_is_shown_as_recorded(value):
    """The same for whole mg/dL, by way of mmol/L."""
    assert shown(to_mg_dl(from_mg_dl(value, MMOL), MMOL), MG) == str(value)


@given(st.decimals(-2000, 2000, places=5), st.integers(0, 4))
def test_rounding_is_half_away_from_zero(number, places):
    """As the decimal number reads, never as the binary one happens to lie; never minus zero."""
    exact = number.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    assert rounded(float(number), places) == (f"{exact:f}" if exact else f"{abs(exact):f}")


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (2.5, 0, "3"),  # round() gives 2
        (-2.5, 0, "-3"),
        (0.145, 2, "0.15"),  # the double lies below
        (2.675, 2, "2.68"),
        (40.9452, 1, "40.9"),  # twice rounded it would be 41.0
        (-0.04, 1, "0.0"),
        (-0.0, 0, "0"),
        (1e-7, 2, "0.00"),
        (123456.5, 0, "123457"),
        (5, 1, "5.0"),
    ],
)
def test_rounding_traps(value, places, text):
    """Cases that plain rounding, or rounding twice, gets wrong."""
    assert rounded(value, places) == text


def test_differences_have_one_place_more():
    """mg/dL to one place, mmol/L to two; a sign where asked, none on a zero."""
    assert shown_difference(3.04, MG, sign=True) == "+3.0"
    assert shown_difference(-3.06, MG, sign=True) == "-3.1"
    assert shown_difference(0.04, MG, sign=True) == "0.0"
    assert shown_difference(-0.04, MG, sign=True) == "0.0"
    assert shown_difference(3.0, MMOL) == "0.17"
    assert shown_difference(20.0, MMOL) == "1.11"


typed_tenths = st.integers(11, 333).map(lambda tenth: tenth / 10)
"""What a meter shows in mmol/L."""


@given(typed_tenths, st.sampled_from([".", ","]), st.sampled_from(["", " mmol/L", "mmol/l", " mmol"]))
def test_typed_values_come_back(value, mark, unit):
    """Decimal point or comma, unit written or not: the same value, its text kept as typed."""
    text = f"{value:.1f}".replace(".", mark)
    found = parse_glucose(f"  {text}{unit} ", MMOL)
    assert (found.value, found.unit, found.text, found.beyond) == (value, MMOL, text, None)


@given(st.integers(20, 600))
def test_a_written_unit_beats_the_trials(value):
    """'110 mg/dL' in a trial kept in mmol/L is 110 mg/dL."""
    assert parse_glucose(f"{value} mg/dL", MMOL) == Glucose(float(value), MG, str(value))


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "abc",
        "1e2",
        "1_0",
        "٧٠",
        "-70",
        "+70",
        "nan",
        "inf",
        "70.",
        ".7",
        "7 0",
        "6,1,2",
        "12345",
        "70\n80",
        "70 kg",
    ],
)
def test_what_is_no_value_is_refused(text):
    """Nothing that Python would take for a number, and a person would not, gets in; the cure is an example."""
    with pytest.raises(BadValue) as refused:
        parse_glucose(text, MG)
    assert refused.value.cure


@pytest.mark.parametrize(
    ("text", "unit", "cure"),
    [
        ("6.1", MG, "write '6.1 mmol/L'"),
        ("110", MMOL, "write '110 mg/dL'"),
        ("0.1", MG, "for example 110"),
        ("2000", MMOL, "for example 6.1"),
        ("0", MG, "for example 110"),
    ],
)
def test_the_other_unit_is_named_where_it_must_be(text, unit, cure):
    """A number that can only be in the other unit says so; one that can be in neither does not."""
    with pytest.raises(BadValue) as refused:
        parse_glucose(text, unit)
    assert cure in refused.value.cure


@pytest.mark.parametrize(("text", "unit"), [("20", MG), ("600", MG), ("1.1", MMOL), ("33.3", MMOL)])
def test_the_ends_of_what_a_meter_shows_are_inside(text, unit):
    """The lowest and the highest number a meter shows are values."""
    assert parse_glucose(text, unit).text == text


@pytest.mark.parametrize("word", ["low", "LO", " Low "])
def test_limit_words(word):
    """'low' takes the device's limit, or one that is usual where none is known, and keeps the word."""
    assert parse_glucose(word, MG, (40.0, 400.0)) == Glucose(40.0, MG, word.strip(), Beyond.LOW)
    assert parse_glucose(word, MG).value == 20
    assert parse_glucose(word, MMOL).value == 1.1
    assert parse_glucose("HI", MG, (40.0, 400.0)).value == 400
    assert parse_glucose("high", MMOL, (None, None)) == Glucose(33.3, MMOL, "high", Beyond.HIGH)


@pytest.mark.parametrize(
    ("text", "unit"), [("mg/dL", MG), ("MG/DL", MG), (" mgdl ", MG), ("mmol/L", MMOL), ("mmol", MMOL)]
)
def test_units_as_people_write_them(text, unit):
    """Either unit in any case."""
    assert parse_unit(text) is unit


@pytest.mark.parametrize("text", ["", "g/l", "mg/l", "%"])
def test_other_units_are_refused(text):
    """Another unit is refused with the two there are."""
    with pytest.raises(BadValue, match="Write mg/dL or mmol/L"):
        parse_unit(text)


def test_a_value_prints_as_recorded():
    """Text and unit, as typed."""
    assert str(Glucose(6.1, MMOL, "6,1")) == "6,1 mmol/L"
    assert pytest.approx(18.0156) == FACTOR


@pytest.mark.parametrize("typed", ["34", "40", "55", "57", "60", "33.4"])
def test_a_low_typed_in_the_other_unit_is_never_kept_as_a_high(typed):
    """34 to 60 in mmol/L is no value a meter shows, and a low in mg/dL: refused, with the way to write it."""
    with pytest.raises(BadValue, match="mg/dL" if "." not in typed else "cannot"):
        parse_glucose(typed, MMOL)


@pytest.mark.parametrize("typed", ["6.1", "10", "19", "601"])
def test_what_no_meter_shows_in_mg_dl_is_refused(typed):
    """Below 20 it is mmol/L, above 600 the meter says HI."""
    with pytest.raises(BadValue):
        parse_glucose(typed, MG)

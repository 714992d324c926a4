"""The number grammar: what it takes, in whose language, and what it refuses."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.intake import words
from evenhand.intake.numerals import Decimal, Reader, read
from evenhand.units import Beyond, Unit


@pytest.mark.parametrize(
    ("text", "value", "unit", "beyond"),
    [
        ("110", 110, None, None), (" 110 ", 110, None, None), ("6.1", 6.1, None, None), ("6,1", 6.1, None, None), ("6,10", 6.1, None, None),
        ("5,500", 5.5, None, None), ("1 100", 1100, None, None), ("1'100", 1100, None, None), ("1.110,5", 1110.5, None, None), ("1,110.5", 1110.5, None, None),
        ("6.1mmol/L", 6.1, Unit.MMOL_L, None), ("110 mg/dl", 110, Unit.MG_DL, None), ("6,1\u202fmmol/l", 6.1, Unit.MMOL_L, None), ("110mg%", 110, Unit.MG_DL, None),
        ("<40", 40, None, Beyond.LOW), ("< 2,2 mmol/L", 2.2, Unit.MMOL_L, Beyond.LOW), (">400", 400, None, Beyond.HIGH), ("≥ 22.2", 22.2, None, Beyond.HIGH),
        ("≤40 mg/dL", 40, Unit.MG_DL, Beyond.LOW), ("LO (<40)", None, None, None), ("６．１", 6.1, None, None), ("40未満", 40, None, Beyond.LOW), ("400 mg/dL 以上", 400, Unit.MG_DL, Beyond.HIGH),
        ("unter 40", 40, None, Beyond.LOW), ("über 400", 400, None, Beyond.HIGH), ("moins de 40", 40, None, Beyond.LOW), ("más de 400", 400, None, Beyond.HIGH),
        ("sotto 40", 40, None, Beyond.LOW), ("acima de 400", 400, None, Beyond.HIGH), ("onder 2,2", 2.2, None, Beyond.LOW), ("över 22,2", 22.2, None, Beyond.HIGH),
        ("alle 2,2", 2.2, None, Beyond.LOW), ("powyżej 400", 400, None, Beyond.HIGH), ("více než 400", 400, None, Beyond.HIGH), ("ниже 2,2", 2.2, None, Beyond.LOW), ("Low 40", 40, None, Beyond.LOW),
    ],
)  # fmt: skip
def test_what_is_a_value(text, value, unit, beyond):
    """Marks, units, limits and spaces as files have them; a word with a bracketed limit is not guessed at."""
    found = read(text)
    if value is None:
        assert found is None
        return
    assert (found.value, found.unit, found.beyond) == (value, unit, beyond)


@pytest.mark.parametrize(
    "word",
    [
        "LOW",
        "Lo",
        "niedrig",
        "bas",
        "bajo",
        "basso",
        "baixo",
        "laag",
        "lågt",
        "lavt",
        "matala",
        "niski",
        "nízká",
        "низкий",
        "düşük",
        "低",
    ],
)
def test_low_in_sixteen_languages(word):
    """A word for 'too low' is a limit without a number."""
    assert read(word).beyond is Beyond.LOW
    assert read(word.upper()).value is None


@pytest.mark.parametrize(
    "word",
    [
        "HIGH",
        "Hi",
        "hoch",
        "élevé",
        "alto",
        "hoog",
        "högt",
        "højt",
        "høyt",
        "korkea",
        "wysoki",
        "vysoká",
        "высокий",
        "yüksek",
        "高",
    ],
)
def test_high_in_many_languages(word):
    """A word for 'too high' is a limit without a number."""
    assert read(word).beyond is Beyond.HIGH


@pytest.mark.parametrize(
    "text",
    [
        "1_000",
        "1e3",
        "0x1F",
        "nan",
        "inf",
        "-5",
        "+5",
        "٣",
        "²",
        "½",
        "①",
        "6.1.2",
        "6,1,2",
        "1,10,5",
        "6..1",
        ".",
        "6.1 apples",
        "5-6",
        "100/60",
        "7:42",
        "abc",
        "",
        "<",
        "12 34",
        "1'10",
        "<40>",
        "= 6 =",
        "12345678901234",
    ],
)
def test_what_is_none(text):
    """Everything a general parser, or a kind heart, might accept."""
    assert read(text) is None


def test_the_decimal_mark_can_be_said():
    """Where a person says which mark is the decimal one, the other marks thousands, in groups of three only."""
    assert read("1,110", Decimal.POINT).value == 1110
    assert read("1.110", Decimal.COMMA).value == 1110
    assert read("6,1", Decimal.COMMA).value == 6.1
    assert read("6,1", Decimal.POINT) is None


@given(
    st.integers(0, 9999),
    st.integers(0, 99),
    st.sampled_from(".,"),
    st.sampled_from(["", "mg/dL", " mmol/L", "\u00a0mmol/l"]),
)
def test_any_decimal_comes_back(whole, part, mark, unit):
    """A whole number, a mark and two decimals, with or without a unit, is that number."""
    found = read(f"{whole}{mark}{part:02d}{unit}")
    assert found.value == float(f"{whole}.{part:02d}")
    assert found.places == 2


@given(st.text(max_size=12))
def test_any_text_is_a_value_or_none(text):
    """No text raises, and what is read has a number or a limit."""
    found = read(text)
    assert found is None or found.value is not None or found.beyond is not None


def test_a_reader_remembers():
    """The same text is read once."""
    reader = Reader()
    assert reader("6.1") is reader("6.1")


@pytest.mark.parametrize(
    "text",
    ["", " ", "-", "--", "---", "—", "n/a", "N/A", "null", "NaN", "k.A.", "***", "..", "なし", "missing"],
)
def test_missing_marks(text):
    """What says that there is no value."""
    assert words.missing(text)


def test_limit_words_never_mean_both():
    """No word means too low and too high, and none is a mark for missing."""
    assert not words.LOW_WORDS & words.HIGH_WORDS
    assert not (words.LOW_WORDS | words.HIGH_WORDS) & words.MISSING_WORDS
    assert not words.BELOW_WORDS & words.ABOVE_WORDS

"""Settings of sensors as people write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.desk.settings import KEYS, parse_duration, with_settings
from evenhand.errors import BadValue, EvenhandError, Problems, UnknownName
from evenhand.records.sensors import CountsFrom, Sensor
from evenhand.units import Unit

FERN, SLATE = Sensor("1", "Fern", 0), Sensor("2", "Slate 2.0", 1)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("5min", 300), ("5 min", 300), ("1h", 3600), ("1 hour", 3600), ("90 minutes", 5400), ("10d", 864_000),
        ("12d 6h", 1_058_400), ("1 h 30 min", 5400), ("1 hour and 30 minutes", 5400), ("2 weeks", 1_209_600),
        ("10.5 days", 907_200), ("0,5h", 1800), ("30s", 30), ("0", 0), (" 6H ", 21_600),
    ],
)  # fmt: skip
def test_durations_as_people_write_them(text, seconds):
    """Every usual way of writing a duration is understood."""
    assert parse_duration(text) == seconds


@pytest.mark.parametrize(
    "text", ["5", "", "min", "1h30", "five min", "-5min", "5 min ago", "5 parsecs", "1h,"[:2] + "x"]
)
def test_what_is_no_duration_is_refused_with_the_cure(text):
    """A number without a unit is not guessed, and no rest is dropped."""
    with pytest.raises(BadValue, match="Write for example 5min"):
        parse_duration(text)


@given(st.integers(1, 60), st.integers(0, 23), st.integers(0, 59))
def test_days_hours_and_minutes_add_up(days, hours, minutes):
    """However a duration is split, its seconds are the sum of its parts."""
    assert parse_duration(f"{days}d {hours}h {minutes}min") == days * 86_400 + hours * 3600 + minutes * 60


def test_every_key_is_set():
    """All nine keys reach the sensor of that name, whatever its case, and names may hold dots."""
    values = ("5min", "1h", "10d", "6h", "start", "40", "22.2 mmol/L", "59,90", "yes")
    told = [f"slate 2.0.{key}={value}" for key, value in zip(KEYS, values, strict=True)]
    fern, slate = with_settings((FERN, SLATE), told, Unit.MG_DL)
    assert fern == FERN
    assert (slate.interval, slate.warm_up, slate.life, slate.grace) == (300, 3600, 864_000, 21_600)
    assert slate.counts_from is CountsFrom.START
    assert (slate.low.value, slate.low.unit) == (40.0, Unit.MG_DL)
    assert (slate.high.value, slate.high.unit) == (22.2, Unit.MMOL_L)
    assert (slate.price, slate.exports) == (59.90, True)


def test_all_problems_are_told_at_once():
    """Three wrong settings are three problems in one refusal."""
    with pytest.raises(Problems) as caught:
        with_settings((FERN,), ["Fern.warm_up=1", "Moss.life=10d", "Fern.colour=red"], Unit.MG_DL)
    assert [type(problem) for problem in caught.value.each()] == [BadValue, UnknownName, UnknownName]


@pytest.mark.parametrize(
    "setting",
    ["Fern", "Fern.low", "low=40", "Fern.low=low", "Fern.low=4000", "Fern.price=cheap", "Fern.exports=perhaps",
     "Fern.counts_from=now", "Fern.interval=0", "Fern.low=mg"],
)  # fmt: skip
def test_a_wrong_setting_is_refused(setting):
    """Nothing half understood is set."""
    with pytest.raises(EvenhandError):
        with_settings((FERN,), [setting], Unit.MG_DL)


def test_limits_the_wrong_way_round_are_refused():
    """The low limit lies below the high one."""
    with pytest.raises(EvenhandError, match="Check the two limits"):
        with_settings((FERN,), ["Fern.low=400", "Fern.high=40"], Unit.MG_DL)


@pytest.mark.parametrize(
    "setting", ["Fern.low=180", "Fern.high=27.8 mg/dL", "Fern.high=100", "Fern.low=9.9 mmol/L"]
)
def test_a_limit_in_the_other_unit_is_refused(setting):
    """A low limit above 100 mg/dL or a high one below 200 is a slip of the unit: LOW would become a towering high."""
    with pytest.raises(EvenhandError):
        with_settings((FERN,), [setting], Unit.MG_DL)


@pytest.mark.parametrize("text", ["3661d", "99999999999999d", f"{'9' * 400}d", "530 weeks"])
def test_a_duration_beyond_ten_years_is_a_slip(text):
    """Refused with the cure, however many digits; ten years themselves are understood."""
    with pytest.raises(BadValue, match="longer than ten years"):
        parse_duration(text)
    assert parse_duration("3660d") == 3660 * 86_400


def test_a_price_without_end_is_refused():
    """So many digits that the number is no number any more."""
    with pytest.raises(BadValue, match="is not a price"):
        with_settings((FERN,), [f"Fern.price={'9' * 400}"], Unit.MG_DL)

"""Answers as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.clock import DAY, Stamp, ZoneOrigin
from evenhand.desk.answers import KEYS, default_end, span_of, with_answers
from evenhand.errors import BadRecord, BadTime, BadValue, EvenhandError, Problems, UnknownName
from evenhand.records.plan import Drawn, Plan, PlannedWear
from evenhand.records.question import Driver, Driving, MustHave, PairsAsked, Policy, Stream
from evenhand.records.sensors import Sensor, Side
from evenhand.records.trial import Header, Trial
from evenhand.units import Unit

T0 = 1_772_352_000
SENSORS = (Sensor("f", "Fern", 0), Sensor("s", "Slate", 1))


def trial(unit=Unit.MG_DL, sensors=SENSORS, **more):
    return Trial(
        Header("h", "spring", "Europe/Lisbon", ZoneOrigin.GIVEN, unit, "meter", 1, T0), sensors, **more
    )


def answered(*settings, unit=Unit.MG_DL):
    return with_answers(trial(unit), settings).question


@pytest.mark.parametrize(
    ("setting", "field", "value"),
    [
        ("tolerance=15", "tolerance", 15), ("tolerance=30/30", "tolerance", 30), ("margin=4", "margin", 4.0),
        ("margin=0,2 mmol/L", "margin", 0.2 * 18.0156), ("pairs=all", "pairs", PairsAsked.ALL), ("stream=shown", "stream", Stream.SHOWN),
        ("pair=Slate, Fern", "pair", ("s", "f")), ("pair=slate and fern", "pair", ("s", "f")), ("policy=none", "policy", Policy.NONE),
        ("policy=maker", "policy", Policy.MAKER), ("policy=as the maker says", "policy", Policy.MAKER),
        ("waking=6:30-22", "waking", (390, 1320)), ("waking=14:00 to 06:00", "waking", (840, 360)), ("looks=3", "looks", 3),
        ("strips=150", "strips", 150), ("strip_price=0,60", "strip_price", 0.6), ("money=200", "money", 200.0),
        ("strip_lots=L1, L2", "strip_lots", ("L1", "L2")), ("end=2 wears", "end_wears", 2), ("end=1 wear", "end_wears", 1),
        ("driver=nobody", "driver", Driver(Driving.NOBODY)), ("driver=me", "driver", Driver(Driving.WEARER)),
        ("driver=me Slate", "driver", Driver(Driving.WEARER, "s")), ("driver=pump fern", "driver", Driver(Driving.PUMP, "f")),
    ],
)  # fmt: skip
def test_each_answer_reaches_its_field(setting, field, value):
    """And is remembered as answered."""
    found = answered(setting)
    assert (
        getattr(found, field) == pytest.approx(value)
        if isinstance(value, float)
        else getattr(found, field) == value
    )
    assert found.answered == (setting.partition("=")[0],)


@pytest.mark.parametrize(
    ("setting", "kind", "cure"),
    [
        ("tolerance=25", BadValue, "Choose one of them"), ("margin=3 mmol/L", BadValue, "write '3 mg/dL'"), ("margin=0", BadValue, "hardly"),
        ("margin=lots", BadValue, "Write a number"), ("margin=3 stone", BadValue, "mg/dL or mmol/L"), ("pairs=some", BadValue, "steady, all"),
        ("pair=Fern", BadValue, "Name two"), ("pair=Fern, fern", BadValue, "Name two"), ("pair=Fern, Moss", UnknownName, "Fern, Slate"),
        ("policy=mostly", BadValue, "maker"), ("waking=7", BadTime, "07:00-23:00"), ("waking=07:00-09:00", BadTime, "going to bed"),
        ("quiet=25:00-26:00", BadTime, "07:00-23:00"), ("quiet=08:75-09:00", BadTime, "07:00-23:00"), ("looks=4", BadRecord, "one, two or three"),
        ("looks=many", BadValue, "150"), ("end=soon", BadTime, "2026-04-04"), ("end=2026-13-01", BadTime, "2026-04-04"),
        ("end=2026-04-04T10:00+02:00", BadTime, "offset out"), ("end=2026-03-29 01:30", BadTime, "another time"), ("strips=-1", BadValue, "150"),
        ("strips=0", BadRecord, "leave it out"), ("money=much", BadValue, "0.60"), ("driver=pump", BadRecord, "Name it"),
        ("driver=the weather", BadValue, "pump NAME"), ("driver=pump Moss", UnknownName, "Fern, Slate"), ("alarm_low=5", BadValue, ""),
        ("alarm_high=100", BadValue, "Check"), ("alarm_delay=15", BadValue, "5min"), ("must=Fern:", BadValue, "reads on my watch"),
        ("met=Fern: x", BadValue, "=yes"), ("met=x=yes", UnknownName, "none yet"), ("colour=red", UnknownName, "tolerance, margin"),
        ("Fern.colour=red", UnknownName, "version, lots"), ("Moss.version=2", UnknownName, "Fern, Slate"), ("margin", BadValue, "KEY=VALUE"),
        ("=3", BadValue, "KEY=VALUE"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_refused_with_the_cure(setting, kind, cure):
    """Nothing is guessed."""
    with pytest.raises(kind) as told:
        answered(setting)
    assert cure in str(told.value)


def test_every_problem_is_told_at_once():
    """Three slips, three messages; nothing half applied."""
    with pytest.raises(Problems) as told:
        answered("tolerance=25", "margin=4", "looks=9", "pairs=x")
    assert len(told.value.each()) == 3


def test_a_bare_margin_is_in_the_wearers_unit():
    """3 in mg/dL is 3; in mmol/L it would be 54 mg/dL, and is refused; a unit written counts."""
    assert answered("margin=3").margin == 3.0
    assert answered("margin=0.25", unit=Unit.MMOL_L).margin == pytest.approx(4.5039)
    assert answered("margin=3 mg/dL", unit=Unit.MMOL_L).margin == 3.0
    with pytest.raises(BadValue):
        answered("margin=3", unit=Unit.MMOL_L)
    with pytest.raises(BadValue, match=r"write '0\.2 mmol/L'"):
        answered("margin=0.2")


def test_must_haves_are_of_one_sensor_or_of_all():
    """Named, 'all', or nobody named; the same twice is once; none clears them; whether met is told by its words."""
    found = answered("must=Fern: works with my pump", "must=reads on my watch", "must=all: reads on my watch")
    assert found.must_haves == (
        MustHave("f", "works with my pump"), MustHave("f", "reads on my watch"), MustHave("s", "reads on my watch"),
    )  # fmt: skip
    met = with_answers(
        trial(question=found), ["met=Slate: Reads on my watch=no", "met=works with my pump=yes"]
    ).question
    assert [one.met for one in met.must_haves] == [True, None, False]
    assert with_answers(trial(question=found), ["must=none"]).question.must_haves == ()


def test_a_must_have_may_hold_a_colon():
    """Only a sensor's name before it makes it theirs."""
    assert answered("must=size: smaller than a coin").must_haves[0].text == "size: smaller than a coin"


def test_quiet_hours_are_many_or_none():
    """The way to work and the way home."""
    found = answered("quiet=08:00-08:30, 17:00-17:45")
    assert found.quiet_hours == ((480, 510), (1020, 1065))
    assert with_answers(trial(question=found), ["quiet=none"]).question.quiet_hours == ()


def test_a_date_means_its_end():
    """'Until 22 March' includes that day, where the wearer lives; a time of day is that moment."""
    assert answered("end=2026-03-22").end.iso == "2026-03-23T00:00:00+00:00"
    assert answered("end=2026-03-29").end.iso == "2026-03-30T00:00:00+01:00"
    assert answered("end=2026-04-04 20:00").end.iso == "2026-04-04T20:00:00+01:00"
    assert answered("end=2 wears", "end=2026-04-04").end_wears is None
    assert answered("end=2026-04-04", "end=2 wears").end is None


def test_alarms_are_set_in_the_wearers_unit():
    """Level, delay, silence; 'none' for highs."""
    found = answered(
        "alarm_low=3.9", "alarm_high=14", "alarm_delay=15min", "alarm_silence=1h", unit=Unit.MMOL_L
    ).alarm
    assert (round(found.low, 2), round(found.high, 1), found.delay, found.silence) == (
        70.26,
        252.2,
        900,
        3600,
    )
    assert answered("alarm_high=250", "alarm_high=none").alarm.high is None


def test_what_is_known_of_a_sensor_goes_to_the_sensor():
    """Its version and lots stand with the question, what 'new --set' knows with the sensor."""
    found = with_answers(trial(), ["Fern.version=2", "fern.lots=A1, A2", "Slate.warm_up=30min"])
    (known,) = found.question.known
    assert (known.sensor, known.version, known.lots) == ("f", "2", ("A1", "A2"))
    assert found.sensors[1].warm_up == 1800
    assert found.keys == ("Fern.version", "fern.lots", "Slate.warm_up")


@pytest.mark.parametrize("text", ["7-23", "07:00-23:00", "07.00 - 23.00", "7h00 to 23h00", "07:00–23:00"])
def test_hours_as_people_write_them(text):
    """All the same stretch."""
    assert span_of(text) == (420, 1380)


@given(st.sampled_from(KEYS), st.text(min_size=1, max_size=20))
def test_nothing_typed_is_a_traceback(key, value):
    """An answer, or one of our errors."""
    try:
        with_answers(trial(), [f"{key}={value}"])
    except EvenhandError as error:
        told = (error.found, error.cure)
        if not all(told):
            raise AssertionError(told) from error


def test_the_end_of_the_plan_is_the_end_where_none_is_said():
    """Rounded up to a minute; one that was said stands."""
    at = [Stamp.at(T0 + days * DAY, "Europe/Lisbon") for days in (1, 1, 1, 11)]
    wear = PlannedWear("f", 1, *at, Side.LEFT)
    planned = trial(plan=Plan(drawn=Drawn(Stamp.at(T0, "Europe/Lisbon"), 1, (wear,), (), ())))
    assert default_end(planned).end.instant == T0 + 11 * DAY + 60
    said = with_answers(planned, ["end=2 wears"]).question
    assert default_end(trial(plan=planned.plan, question=said)).end is None
    assert default_end(trial()).end is None

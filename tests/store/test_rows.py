"""Records to JSON and back."""

import dataclasses
import types
from datetime import date
from enum import Enum
from typing import get_args, get_origin, get_type_hints

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.store.making import full_stick, header, stick

from evenhand.errors import EvenhandError
from evenhand.records.question import Question
from evenhand.records.trial import Header
from evenhand.store import rows

ANY_TEXT = st.text(st.characters(), max_size=5)  # lone surrogates and NUL included


FITTING = {
    ("Stamp", "instant"): st.integers(-(10**9), 4 * 10**9),
    ("Stamp", "offset"): st.integers(-50_000, 50_000),
    ("Question", "margin"): st.floats(1e-300, 1e300),
    ("Question", "tolerance"): st.sampled_from([15, 20, 30, 40]),
    ("Question", "looks"): st.integers(1, 3),
    ("Sensor", "price"): st.none() | st.floats(0, 1e9),
    ("Held", "count"): st.integers(1, 2**70),
    ("SensorPlan", "wears"): st.none() | st.integers(1, 50),
    ("SensorPlan", "early"): st.integers(0, 2**70),
    ("SensorPlan", "spares"): st.integers(0, 2**70),
    ("Wanted", "days"): st.none() | st.integers(1, 366),
    ("Wanted", "sticks"): st.integers(0, 48),
    ("Wanted", "repeats"): st.integers(0, 200),
}
"""Values that the records' own invariants allow, where few of any type would be allowed."""


def values(hint):
    """Any value of a type, worked out from the type alone and not from the codec."""
    simple = {
        str: ANY_TEXT, bool: st.booleans(), int: st.integers(-(2**70), 2**70), date: st.dates(),
        float: st.floats(allow_nan=False, allow_infinity=False),
    }  # fmt: skip
    if hint in simple:
        return simple[hint]
    if dataclasses.is_dataclass(hint):
        hints = get_type_hints(hint)
        fields = {
            field.name: FITTING.get((hint.__name__, field.name), values(hints[field.name]))
            for field in dataclasses.fields(hint)
        }
        return st.builds(attempt(hint), **fields).filter(lambda made: made is not None)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return st.sampled_from(hint)
    parts = get_args(hint)
    if get_origin(hint) is types.UnionType:
        return st.one_of(*(st.none() if part is types.NoneType else values(part) for part in parts))
    if parts[1:] == (Ellipsis,):
        return st.lists(values(parts[0]), max_size=2).map(tuple)
    return st.tuples(*map(values, parts))


def attempt(made):
    """The class, or None for fields that its own invariants refuse."""

    def build(**fields):
        try:
            return made(**fields)
        except EvenhandError:
            return None

    return build


@pytest.mark.parametrize("made", [*rows.KINDS.values(), Header])
def test_every_kind_round_trips(made):
    """Any record of any kind comes back equal, with the same types inside."""

    @settings(max_examples=60, suppress_health_check=list(HealthCheck), deadline=None, database=None)
    @given(values(made))
    def round_trip(record):
        text = rows.encode(record)
        back = rows.decode(made, text)
        assert back == record
        assert repr(back) == repr(record)
        assert rows.encode(back) == text

    round_trip()


def test_every_record_type_has_a_kind():
    """No kind of record can be forgotten: the union in records/change.py is covered whole."""
    from evenhand.records.change import Record

    assert set(get_args(Record)) == set(rows.KINDS.values())
    assert all(rows.type_of(rows.kind_of(record)) is type(record) for record in (full_stick(), Question("q")))


def test_every_field_is_written():
    """Defaults are written out, so that a default changed later does not change old records."""
    assert '"margin":3.0' in rows.encode(Question("question"))
    assert rows.encode(stick(1)).count(":") >= len(dataclasses.fields(stick(1)))


def test_a_field_added_later_takes_its_default():
    """A record written before a field existed is read with the field's default."""
    text = rows.encode(stick(1)).replace(',"inside":null', "")
    assert rows.decode(type(stick(1)), text) == stick(1)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"value":6.1', '"value":"6.1"', "glucose value is '6.1', not a number"),
        ('"value":6.1', '"value":true', "not a number"),
        ('"instant":1772352600', '"instant":1772352600.0', "not a whole number"),
        ('"reason":"habit"', '"reason":"whim"', "reason is 'whim', not one of plan, habit"),
        ('"id":"k-0001"', '"id":null', "id is None, not text"),
        ('"id":"k-0001",', "", "lacks a field of Stick"),
        ('"id":"k-0001",', '"id":"k-0001","colour":"red",', "unknown field colour"),
        ('"marks":[]', '"marks":{}', "marks is {}, not a list"),
        ('"repeat":false', '"repeat":0', "repeat is 0, not true or false"),
        ('{"id"', '["id"', "is not JSON"),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_refused(old, new, says):
    """A stored record that is not exactly what its type says is refused, and the field is named."""
    text = rows.encode(stick(1))
    assert old in text
    with pytest.raises(rows.Undecodable, match=says):
        rows.decode(type(stick(1)), text.replace(old, new))


def test_a_record_that_contradicts_itself_is_refused():
    """The record's own invariants hold for what is read as for what is made."""
    text = rows.encode(Question("q")).replace('"margin":3.0', '"margin":-3.0')
    with pytest.raises(rows.Undecodable, match="margin is not above zero"):
        rows.decode(Question, text)


def test_what_cannot_be_kept_is_refused_when_written():
    """A value of the wrong type, or one that JSON has no form for, is never written."""
    with pytest.raises(rows.Undecodable, match="name is 3, not text"):
        rows.encode(dataclasses.replace(header(), name=3))
    with pytest.raises(ValueError, match="JSON compliant"):
        rows.encode(Question("q", margin=float("inf")))


def test_a_number_of_an_array_library_is_kept_as_a_number():
    """Numbers that come from arrays are stored as plain numbers."""
    import numpy as np

    made = dataclasses.replace(stick(1), logged=np.int64(7))
    assert '"logged":7' in rows.encode(made)
    assert type(rows.decode(type(made), rows.encode(made)).logged) is int

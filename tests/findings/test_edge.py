"""The contract's JSON: there and back without loss, by its schema, and strict at every level."""

from __future__ import annotations

import copy
import json
import math
from collections.abc import Iterator
from typing import Any

import jsonschema
import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import structs
from tests.judge.frozen import frozen_findings
from tests.support.fake_findings import SCENARIOS, scenario

from evenhand.findings import CONTRACT
from evenhand.findings.edge import from_json, schema, to_json
from evenhand.stats.estimate import Est

FROZEN = frozen_findings()
VALIDATOR = jsonschema.Draft202012Validator(schema())


def objects(part: Any, where: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """The path of every object in a JSON value; of lists the first member only."""
    if isinstance(part, dict):
        yield where
        for name, inner in part.items():
            yield from objects(inner, (*where, name))
    elif isinstance(part, list) and part:
        yield from objects(part[0], (*where, 0))


def at(part: Any, where: tuple[str | int, ...]) -> Any:
    """What lies at a path."""
    for step in where:
        part = part[step]
    return part


# Objects keyed by a sensor's name, a reason, a zone or a tolerance take any key.
KEYED = ("within", "to_sensor", "reasons", "zones", "right_and_present")
PLACES = list(
    {
        tuple(at(FROZEN, where)): where for where in objects(FROZEN) if not where or where[-1] not in KEYED
    }.values()
)
"""One place for each kind of object, told by its fields."""


@pytest.mark.parametrize("name", SCENARIOS)
def test_there_and_back(name: str) -> None:
    """Every state of a judgement survives, bit for bit, and its JSON fits the schema."""
    findings, _ = scenario(name)
    data = to_json(findings)
    assert from_json(data) == findings
    assert to_json(from_json(data)) == data
    VALIDATOR.validate(json.loads(data))


def test_the_schema_is_a_schema() -> None:
    """Draft 2020-12 itself accepts it; every object says what it holds and requires all of it."""
    jsonschema.Draft202012Validator.check_schema(schema())
    for definition in schema()["$defs"].values():
        if "properties" in definition:
            assert definition["additionalProperties"] is False
            assert definition["required"] == sorted(definition["properties"])
    assert FROZEN["contract"] == CONTRACT


@pytest.mark.parametrize("where", PLACES, ids=lambda where: ".".join(map(str, where)) or "whole")
def test_a_field_too_many_is_refused_at_every_level(where: tuple[str | int, ...]) -> None:
    """By the reader and by the schema alike: what a newer contract wrote is judged again, not half understood."""
    plain = copy.deepcopy(FROZEN)
    at(plain, where)["brand_new"] = 1
    assert not VALIDATOR.is_valid(plain)
    if "method" in at(plain, where) and where:
        return  # an estimate is a plain dataclass: its reader passes over what it does not know
    with pytest.raises(msgspec.ValidationError):
        from_json(json.dumps(plain).encode())


@pytest.mark.parametrize("where", PLACES, ids=lambda where: ".".join(map(str, where)) or "whole")
def test_a_field_too_few_is_refused_by_the_schema(where: tuple[str | int, ...]) -> None:
    """Every field is there, null where there is nothing to say."""
    plain = copy.deepcopy(FROZEN)
    del at(plain, where)[sorted(at(plain, where))[0]]
    assert not VALIDATOR.is_valid(plain)


@pytest.mark.parametrize(
    ("where", "value"),
    [
        (("sealed",), "yes"), (("unit",), "mmol/L"), (("primary", "pairs"), "moving"), (("method",), 1.5),
        (("head_to_head", 0, "answer", "state"), "better"), (("head_to_head", 0, "difference", "value"), "3"),
        (("wears", 0, "ending"), "lost"), (("sensors", 0, "wears"), -0.5), (("cautions", 0, "code"), None),
        (("primary", "looks"), None), (("head_to_head", 0, "difference", "about"), "everyone"),
    ],
)  # fmt: skip
def test_a_value_of_another_kind_is_refused(where: tuple[str | int, ...], value: object) -> None:
    """Words outside their list, text for numbers, halves for wholes, null where something must stand."""
    plain = copy.deepcopy(FROZEN)
    at(plain, where[:-1])[where[-1]] = value
    assert not VALIDATOR.is_valid(plain)
    with pytest.raises(msgspec.ValidationError):
        from_json(json.dumps(plain).encode())


@settings(max_examples=60)
@given(st.floats(allow_nan=False, allow_infinity=False), st.integers(0, 10**9))
def test_numbers_are_unrounded(value: float, n: int) -> None:
    """Any number comes back as it was, to the last bit."""
    findings, _ = scenario("closer")
    head = structs.replace(findings.head_to_head[0], difference=Est(value, value, value, n=n))
    back = from_json(to_json(structs.replace(findings, head_to_head=(head,)))).head_to_head[0].difference
    assert back == head.difference
    assert back.value is not None
    assert math.copysign(1, back.value) == math.copysign(1, value)


@pytest.mark.parametrize("data", [b"", b"null", b"[]", b"{}", b"not json", b'{"evenhand": 1}', b"\xff\xfe"])
def test_what_is_no_judgement_is_refused(data: bytes) -> None:
    """One class of error, which the desk takes as 'judge again'."""
    with pytest.raises(msgspec.DecodeError):
        from_json(data)

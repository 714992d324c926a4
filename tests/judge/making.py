"""What the tests of `judge` share: JSON held against its schema, declared trials, random small ones."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import lru_cache

import jsonschema
import numpy as np
from hypothesis import strategies as st
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stamp, stick, trial, usual, wear

from evenhand.findings import METHOD, edge
from evenhand.findings.cautions import CAUTIONS, REASONS
from evenhand.records.diary import Event, EventKind, Mark, MarkKind, Reason
from evenhand.records.question import Declared, Opening, Question
from evenhand.units import Beyond, Unit


@lru_cache(maxsize=1)
def _validator():
    return jsonschema.Draft202012Validator(edge.schema())


def sound(findings):
    """Findings as JSON objects, after everything that must hold of any judgement has been asserted."""
    data = edge.to_json(findings)
    plain = json.loads(data, parse_constant=_no_constant)
    _validator().validate(plain)
    assert edge.from_json(data) == findings
    assert {each["code"] for each in plain["cautions"]} <= set(CAUTIONS)
    assert set(_whys(plain)) <= {None, *REASONS}
    for est in _ests(plain):
        if est["low"] is not None:
            assert est["low"] <= est["value"] <= est["high"]
        else:
            assert est["high"] is None
            assert est["why"] is not None
    return plain


def _no_constant(name):
    raise AssertionError(f"{name} in the JSON")


def _whys(part):
    if isinstance(part, dict):
        if "why" in part and "what" not in part:
            yield part["why"]
        for inner in part.values():
            yield from _whys(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from _whys(inner)


def _ests(part):
    if isinstance(part, dict):
        if {"value", "low", "high", "method"} <= set(part):
            yield part
        for inner in part.values():
            yield from _ests(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from _ests(inner)


def codes(findings):
    """The codes of its cautions."""
    return {each.code for each in findings.cautions}


def declared(made, at=MIDNIGHT - DAY, **more):
    """The trial declared, by default a day before it began, all its unknown sticks planned."""
    question = Question("question", declared=Declared(stamp(at), 1, 0, METHOD, "f" * 64), **more)
    sticks = tuple(
        replace(each, reason=Reason.PLAN) if each.reason is Reason.UNKNOWN else each for each in made.sticks
    )
    return replace(made, question=question, sticks=sticks)


def opened(made, day):
    """The trial with its seal broken on a day."""
    return replace(made, openings=(Opening("opening", stamp(MIDNIGHT + day * DAY), day),))


@st.composite
def small_trials(draw):
    """Random small trials: up to three sensors, a few days, gaps, limits, both units, reasons, marks, calibrations."""
    days = draw(st.integers(1, 4))
    names = ("Fern", "Slate", "Moss")[: draw(st.integers(0, 3))]
    rng = np.random.default_rng(draw(st.integers(0, 2**16)))
    sensors, wears, streams = [], [], {}
    for place, name in enumerate(names):
        interval = draw(st.sampled_from([None, 60, 300, 900]))
        unit = draw(st.sampled_from(list(Unit)))
        made = sensor(name, place, interval=interval, warm_up=draw(st.sampled_from([None, 0, 3600])))
        sensors.append(made)
        streams[made.id] = _stream(rng, days, interval or 300, unit, draw(st.floats(0, 1)))
        wears += _wears(draw, made.id, days)
    sticks = _sticks(draw, rng, days, [one.id for one in sensors])
    made = trial(sensors, wears, sticks, streams, _events(draw, days))
    return declared(made) if draw(st.booleans()) else made


def _stream(rng, days, interval, unit, kept):
    at = np.arange(0, days * DAY, interval)
    at = at[rng.random(at.size) < kept]
    value = np.clip(np.cumsum(rng.normal(0, 4, at.size)) + 120, 40, 400)
    flags = np.where(value <= 40, 1, np.where(value >= 400, 2, 0))
    return readings(MIDNIGHT + at, np.round(value if unit is Unit.MG_DL else value / 18.0156, 1), unit, flags)


def _wears(draw, sensor_id, days):
    kind = draw(st.sampled_from(["none", "one", "open", "two", "never"]))
    if kind == "none":
        return []
    start = MIDNIGHT + draw(st.integers(0, 12)) * HOUR
    if kind == "two":
        middle = start + DAY // 2
        return [wear(sensor_id, start, middle), wear(sensor_id, middle, middle + DAY, drives=True)]
    if kind == "never":
        from evenhand.records.sensors import Ending

        return [wear(sensor_id, start, ending=Ending.NEVER_STARTED)]
    return [wear(sensor_id, start, None if kind == "open" else start + days * DAY)]


def _sticks(draw, rng, days, ids):
    sticks = []
    for number in range(draw(st.integers(0, 25))):
        at = MIDNIGHT + int(rng.integers(0, days * DAY))
        reason = Reason(draw(st.sampled_from([str(each) for each in Reason])))
        into = ids[0] if reason is Reason.CALIBRATION and ids and rng.random() < 0.7 else None
        beyond = draw(st.sampled_from([None, None, None, Beyond.LOW, Beyond.HIGH]))
        marks = draw(
            st.sampled_from([(), (), (Mark(MarkKind.UNWASHED, early=False),), (Mark(MarkKind.CONTROL),)])
        )
        repeat = reason is not Reason.CALIBRATION and rng.random() < 0.1
        sticks.append(
            stick(
                at,
                int(rng.integers(40, 350)),
                reason,
                beyond=beyond,
                marks=marks,
                into=into,
                repeat=repeat,
                id=f"s{number}",
            )
        )
    return sticks


def _events(draw, days):
    if draw(st.booleans()):
        return ()
    return (Event("away", EventKind.AWAY, stamp(MIDNIGHT + HOUR), 0, stamp(MIDNIGHT + days * DAY // 2)),)


@lru_cache(maxsize=1)
def twenty_days():
    """Two sensors, 20 days, 140 sticks."""
    return usual()

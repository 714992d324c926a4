"""The JSON contract: every name in it, both ways, and a schema that allows nothing else.

`CONTRACT` below is written from the contract's text, not from the types: what other programs rely on.
"""

from __future__ import annotations

import copy
import json
from typing import Any

import jsonschema
import msgspec
import pytest
from tests.support.fake_findings import SCENARIOS, scenario

from evenhand.findings import CONTRACT as NUMBER
from evenhand.findings import METHOD
from evenhand.findings.edge import from_json, schema, to_json
from evenhand.findings.findings import Findings

EST = {"value", "low", "high", "level", "n", "method", "about", "why"}
ACC = {"pairs", "at_least", "left_out", "bias", "mad", "mard", "within"}
R = {"bias", "mad", "mard", "outside_percent"}
RG = {"below_54", "54_69", "70_180", "181_250", "above_250", "mean", "cv", "gmi", "days", "share_of_readings"}
AL = {
    "sounded", "checked", "true", "true_rate", "events", "detection_rate", "verified_share", "acted_on",
    "false_per_night", "minutes_of_warning",
}  # fmt: skip
CONTRACT: dict[str, set[str]] = {
    "Findings": {
        "evenhand", "contract", "method", "edition", "trial", "span", "zone", "unit", "sealed", "primary", "meter", "wears",
        "sensors", "head_to_head", "reconstruction", "must_haves", "safety", "cautions",
    },
    "Primary": {
        "metric", "pair", "pairs", "sticks", "stream", "margin", "tolerance", "waking", "standing", "declared", "fingerprint",
        "looks", "sealed_until", "opened", "deviations",
    },
    "Declaration": {"at", "day", "sticks_before", "method"},
    "Looks": {"declared", "taken"},
    "SealedUntil": {"time", "wears"},
    "Opened": {"at", "day"},
    "Deviation": {"at", "what", "why"},
    "MeterFindings": {"sticks", "reasons", "repeats", "repeat_sd_percent", "control", "lots"},
    "ControlCheck": {"at", "inside"},
    "LotSticks": {"lot", "sticks"},
    "WearFindings": {
        "sensor", "number", "inserted", "started", "removed", "ending", "replaces", "lot", "hours", "hours_with_readings", "drives",
    },
    "SensorFindings": {
        "name", "wears", "readings", "expected_readings", "gaps", "censored", "time_difference_s", "shown_minus_exported",
        "accuracy", "phases", "days", "wear_by_wear", "levels", "zones", "against_reconstruction", "strays", "lag_minutes",
        "pressure_lows", "calibrations", "alarms", "ranges", "upkeep",
    },
    "Gaps": {"sensor", "phone", "unknown"},
    "Accuracy": ACC,
    "LeftOut": {"wear", "why"},
    "AccuracySplits": {"all", "steady", "moving", "rising", "falling", "day", "night"},
    "Phases": {"first_24h", "middle", "last_24h"},
    "DayAccuracy": {"day", "date", "accuracy"},
    "WearAccuracy": {"number", "accuracy"},
    "LevelTables": {"by_stick", "by_sensor"},
    "Levels": {"below", "in_range", "above"},
    "ReconstructionAccuracy": {"all", "night", "phases", "without_it"},
    "ReconstructionPhases": {"first_24h", "middle", "last_24h"},
    "AgainstReconstruction": R,
    "Stray": {"wear", "start", "end", "size", "largest", "ending", "chance", "from"},
    "Lag": {"to_blood", "to_sensor"},
    "PressureLow": {"start", "end", "confirmed"},
    "Calibration": {"at", "wear", "before", "after"},
    "Alarms": {"level", "delay", "silence", "real", "rehearsed"},
    "AlarmCounts": AL,
    "OwnAndCommon": {"own", "common"},
    "Ranges": RG,
    "Upkeep": {"opened", "failed", "accidents", "survival_to_life", "cost_per_usable_day"},
    "Cost": {"all_paid", "replaced_free"},
    "HeadToHead": {
        "a", "b", "pairs", "days", "left_out", "difference", "interval_for_equal", "k", "answer", "meter_span_percent",
        "with_prompted", "all_pairs", "mean_square_difference", "agreement_difference", "with_marked", "uncalibrated", "variances",
        "right_and_present", "next_ratio", "chance_next_closer", "to_settle", "between_sensors",
    },
    "Answer": {"state", "who", "beyond_margin"},
    "AnsweredDifference": {"difference", "answer"},
    "Variances": {"meter", "a", "b"},
    "Present": {"all_gaps", "phone_gaps_out"},
    "ChanceNext": {"who", "chance", "range", "why"},
    "ToSettle": {"in", "about"},
    "BetweenSensors": {"mean_difference", "concurrence"},
    "Reconstruction": {
        "trusted", "why", "lag_minutes", "mad_per_minute_of_lag", "meter_sd_percent", "sticks_used", "sticks_dropped", "masked",
        "held_out", "ranges", "parted",
    },
    "HeldOut": {"sticks", "in_50", "in_90"},
    "Parted": {"start", "end", "right", "chance"},
    "MustHaveFinding": {"sensor", "text", "met"},
    "SafetyLine": {"at", "sensor", "shown", "stick", "code"},
    "Caution": {"code", "subject", "text"},
    "Est": EST,
}  # fmt: skip


def objects(name: str) -> dict[str, Any]:
    """A made judgement as plain JSON values."""
    return json.loads(to_json(scenario(name)[0]))


@pytest.mark.parametrize("part", sorted(CONTRACT))
def test_every_part_has_exactly_the_names_of_the_contract(part):
    """No name more, none less, all of them required, nothing else allowed."""
    definition = schema()["$defs"][part]
    assert set(definition["properties"]) == CONTRACT[part]
    assert set(definition["required"]) == CONTRACT[part]
    assert definition["additionalProperties"] is False


def test_there_is_no_part_the_contract_does_not_know():
    """Every object of the schema stands in the contract."""
    assert set(schema()["$defs"]) == set(CONTRACT)


def test_the_schema_is_a_schema():
    """By the meta-schema of draft 2020-12, with every reference met."""
    made = schema()
    jsonschema.Draft202012Validator.check_schema(made)
    text = json.dumps(made)
    for part in CONTRACT:
        assert f'"#/$defs/{part}"' in text


@pytest.mark.parametrize("name", SCENARIOS)
def test_judgements_validate_and_come_back(name):
    """JSON fits the schema, and decodes to the findings it came from."""
    findings, _ = scenario(name)
    data = to_json(findings)
    jsonschema.validate(json.loads(data), schema())
    assert from_json(data) == findings
    assert to_json(from_json(data)) == data


def test_numbers_are_not_rounded():
    """JSON carries what was computed."""
    findings, _ = scenario("closer")
    made = msgspec.structs.replace(findings.primary, margin=1 / 3 * 9)
    told = json.loads(to_json(msgspec.structs.replace(findings, primary=made)))
    assert told["primary"]["margin"] == 1 / 3 * 9


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -float("inf")])
def test_no_number_that_json_does_not_have_comes_out(bad):
    """NaN and infinities become null, never words that other programs choke on."""
    findings, _ = scenario("closer")
    made = msgspec.structs.replace(findings.head_to_head[0], k=bad)
    data = to_json(msgspec.structs.replace(findings, head_to_head=(made,)))
    assert json.loads(data)["head_to_head"][0]["k"] is None
    assert b"NaN" not in data
    assert b"Infinity" not in data


def test_a_name_that_is_not_there_is_refused():
    """A misspelt or a future name is an error, not silently dropped."""
    told = objects("closer")
    told["sensors"][0]["colour"] = "blue"
    with pytest.raises(msgspec.ValidationError, match="colour"):
        from_json(json.dumps(told).encode())
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(told, schema())


@pytest.mark.parametrize("missing", sorted(CONTRACT["Findings"]))
def test_every_name_of_a_judgement_is_needed(missing):
    """A judgement with a hole is none."""
    told = objects("closer")
    del told[missing]
    with pytest.raises(msgspec.ValidationError, match=missing):
        from_json(json.dumps(told).encode())
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(told, schema())


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("unit",), "mmol/L"),
        (("primary", "standing"), "promised"),
        (("primary", "pairs"), "some"),
        (("head_to_head", 0, "answer", "state"), "better"),
        (("head_to_head", 0, "answer", "beyond_margin"), "maybe"),
        (("sensors", 0, "readings"), "many"),
        (("sealed",), 1),
        (("head_to_head", 0, "difference", "about"), "everybody"),
    ],
)
def test_words_outside_the_contract_are_refused(path, value):
    """In the types and in the schema alike; glucose is in mg/dL whatever the wearer's unit."""
    told = copy.deepcopy(objects("closer"))
    inner: Any = told
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = value
    with pytest.raises(msgspec.ValidationError):
        from_json(json.dumps(told).encode())
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(told, schema())


def test_the_numbers_of_contract_and_method_are_whole():
    """They only ever go up, from 1."""
    assert (NUMBER, METHOD) == (1, 2)
    findings, _ = scenario("closer")
    assert isinstance(findings, Findings)

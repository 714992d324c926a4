"""FHIR Bundles of Observations.

Codes and the shape of a Quantity: HL7, Continuous Glucose Monitoring (hl7.fhir.uv.cgm 1.0.0), read; elements of the
R4 Observation: from memory. LOINC 41653-7 (mass) and 14743-9 (moles per volume) for meters: national FHIR guides, read.
"""

from __future__ import annotations

import json

import pytest
from tests.intake.helpers import a_trial, readings_of, sticks_of, take

from evenhand.errors import BadFile
from evenhand.intake.observations import CAPILLARY, OTHER_BLOOD, SENSOR, is_bundle, table
from evenhand.records.files import Fate

AT = "2026-03-01T07:42:00+01:00"


def observation(code: str = "99504-3", value: object = 110, unit: str = "mg/dL", **more) -> dict:
    """An Observation as the guide shapes it."""
    return {
        "resourceType": "Observation",
        "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": code}]},
        "effectiveDateTime": AT,
        "valueQuantity": {"value": value, "unit": unit, "code": unit},
        **more,
    }


def bundle(*resources: dict) -> dict:
    """A Bundle of these resources."""
    return {"resourceType": "Bundle", "entry": [{"resource": one} for one in resources]}


def aside(*resources: dict) -> list[tuple[int, str]]:
    """Entries that are set aside, beside one good one at the front."""
    found = table(bundle(observation(), *resources), "b.json")
    assert all(fate is Fate.SET_ASIDE for _, fate, _ in found.aside)
    return [(line, reason) for line, _, reason in found.aside]


@pytest.mark.parametrize(("code", "unit"), [*SENSOR.items(), *CAPILLARY.items()])
def test_sensor_and_meter_codes_are_read_in_their_unit(code, unit):
    """Each code's row carries its kind and the unit the code means."""
    row = table(bundle(observation(code, "6.1", unit)), "b.json").rows[1]
    assert row[:4] == [AT, "6.1", unit, "reading" if code in SENSOR else "fingerstick"]


def test_the_published_codes_are_these():
    """Sensor: 99504-3 mass, 105272-9 molar; capillary by meter: 41653-7 mass, 14743-9 molar."""
    assert SENSOR == {"99504-3": "mg/dL", "105272-9": "mmol/L"}
    assert CAPILLARY == {"41653-7": "mg/dL", "14743-9": "mmol/L"}


@pytest.mark.parametrize("code", sorted(OTHER_BLOOD))
def test_laboratory_blood_is_no_stick_of_this_meter(code):
    """It is set aside with that reason."""
    assert aside(observation(code)) == [(2, "glucose in blood by another way than a meter")]


@pytest.mark.parametrize(
    ("resource", "reason"),
    [
        ({"resourceType": "Patient"}, "a resource of kind Patient, not an Observation"),
        ({}, "a resource of kind unknown, not an Observation"),
        (observation("8867-4"), "an observation of something else (8867-4)"),
        (observation() | {"code": {}}, "an observation of something else (no code)"),
        (observation() | {"code": "x"}, "an observation of something else (no code)"),
        (observation(status="entered-in-error"), "its status is entered-in-error"),
        (observation(effectiveDateTime=None), "no time (effectiveDateTime)"),
        (observation(effectiveDateTime="2026-03-01"), "'2026-03-01' has no time of day"),
        (observation(unit="mmol/L"), "its code means mg/dL, its unit says 'mmol/L'"),
        (observation(valueQuantity=None), "no value"),
        (observation(valueQuantity={}, dataAbsentReason={"text": "signal lost"}), "no value: signal lost"),
        (
            observation(valueQuantity=None, dataAbsentReason={"coding": [{"code": "error"}]}),
            "no value: error",
        ),
    ],
)
def test_entries_that_cannot_be_read_say_why(resource, reason):
    """Each keeps its number and gets its reason; nothing is dropped."""
    assert aside(resource) == [(2, reason)]


def test_a_comparator_is_a_limit():
    """'<' 40 is 'at most 40'."""
    low = observation()
    low["valueQuantity"]["comparator"] = "<"
    low["valueQuantity"]["value"] = 40
    found = take(
        json.dumps(bundle(observation(), low | {"effectiveDateTime": "2026-03-01T07:47:00+01:00"})),
        "b.json",
        of="Fern",
    )
    assert readings_of(found, a_trial())["Fern"][1] == "2026-03-01T07:47:00+01:00 low 40 mg/dL"


def test_device_and_notes_are_columns():
    """The device's display or reference, and all notes."""
    made = observation(device={"display": "Fern"}, note=[{"text": "one"}, {"text": "two"}])
    assert table(bundle(made), "b.json").rows[1][4:] == ["Fern", "one; two"]
    assert table(bundle(observation(device={"reference": "Device/9"})), "b.json").rows[1][4] == "Device/9"


def test_devices_named_like_sensors_go_to_them():
    """A Bundle of both sensors and the meter is three records' worth in one file."""
    made = bundle(
        observation(device={"display": "Fern"}),
        observation(value=120, device={"display": "Slate"}),
        observation("41653-7", 111),
    )
    found = take(json.dumps(made), "b.json")
    assert not found.questions
    assert readings_of(found, a_trial()) == {"Fern": [f"{AT} 110 mg/dL"], "Slate": [f"{AT} 120 mg/dL"]}
    assert sticks_of(found) == [f"{AT} 111 mg/dL unknown"]


def test_a_single_observation_is_a_bundle_of_one():
    """As the guide's own examples are."""
    assert len(table(observation(), "b.json").rows) == 2


@pytest.mark.parametrize("held", [{"resourceType": "Patient"}, {"entry": []}, [], "x", None])
def test_other_json_is_no_bundle(held):
    """Left to the reader of lists."""
    assert not is_bundle(held)


@pytest.mark.parametrize(
    ("held", "found"),
    [
        ({"resourceType": "Bundle"}, "no entries"),
        ({"resourceType": "Bundle", "entry": []}, "no entries"),
        (bundle({"resourceType": "Patient"}), "None of the 1 entries"),
        ({"resourceType": "Bundle", "entry": ["x", 3]}, "None of the 2 entries"),
    ],
)
def test_bundles_without_glucose_are_refused(held, found):
    """With what the first entry is."""
    with pytest.raises(BadFile, match=found):
        table(held, "b.json")

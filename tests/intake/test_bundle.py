"""FHIR Bundles of Observations.

Codes and the shape of a Quantity: HL7, Continuous Glucose Monitoring (hl7.fhir.uv.cgm 1.0.0), read; elements of the
R4 Observation: from memory. LOINC 41653-7 (mass) and 14743-9 (moles per volume) for meters: national FHIR guides, read.
"""

from __future__ import annotations

import json

import pytest
from tests.intake.helpers import a_trial, readings_of, sticks_of, take

from evenhand.errors import BadFile
from evenhand.intake.bundle import BLOOD, CAPILLARY, LABORATORY, SENSOR, SUMMARIES, is_observation, read

AT = "2026-03-01T07:42:00+01:00"


def table(held: dict, name: str):
    """The table of a resource, with numbers as texts, as the reader of JSON hands them on."""
    return read(json.loads(json.dumps(held), parse_float=str, parse_int=str), name)


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
    return [(one.line, one.reason) for one in found.asides]


@pytest.mark.parametrize(("code", "unit"), [*SENSOR.items(), *CAPILLARY.items()])
def test_sensor_and_meter_codes_are_read_in_their_unit(code, unit):
    """Each code's row carries its kind and the unit the code means."""
    row = table(bundle(observation(code, "6.1", unit)), "b.json").rows[0]
    assert row[:4] == [AT, "6.1", unit, "reading" if code in SENSOR else "fingerstick"]


def test_the_published_codes_are_these():
    """Sensor: 99504-3 mass, 105272-9 molar; capillary by meter: 41653-7 mass, 14743-9 molar."""
    assert SENSOR == {"99504-3": "mg/dL", "105272-9": "mmol/L"}
    assert CAPILLARY == {"41653-7": "mg/dL", "14743-9": "mmol/L"}


@pytest.mark.parametrize("code", sorted(LABORATORY | SUMMARIES))
def test_laboratory_values_and_summaries_are_no_sticks(code):
    """They are set aside with that reason."""
    ((line, reason),) = aside(observation(code))
    assert line == 2
    assert ("laboratory" if code in LABORATORY else "summary") in reason


@pytest.mark.parametrize("code", sorted(BLOOD))
def test_blood_by_whatever_way_is_asked(code):
    """Many records code a meter's value so, and many a laboratory's: only a person knows."""
    text = json.dumps(
        bundle(
            observation(), observation(code, 105, effectiveDateTime="2026-03-01T08:00:00Z", unit=BLOOD[code])
        )
    )
    text = text.replace("105,", "5.8,") if BLOOD[code] == "mmol/L" else text
    found = take(text, "b.json", of="Fern")
    assert [asked.set for asked in found.questions] == ["kind.any-blood=fingerstick|ignore"]
    answered = take(text, "b.json", of="Fern", **{"kind.any-blood": "fingerstick"})
    assert len(sticks_of(answered)) == 1


@pytest.mark.parametrize(
    ("resource", "reason"),
    [
        ({"resourceType": "Patient"}, "a Patient, not an Observation"),
        ({}, "a thing without resourceType, not an Observation"),
        (observation("8867-4"), "its 'code' is 8867-4, not one of glucose that Evenhand keeps"),
        (observation() | {"code": {}}, "its 'code' is nothing, not one of glucose that Evenhand keeps"),
        (observation() | {"code": "x"}, "its 'code' is nothing, not one of glucose that Evenhand keeps"),
        (observation(status="entered-in-error"), "its 'status' is entered-in-error"),
        (observation(status="cancelled"), "its 'status' is cancelled"),
        (observation(effectiveDateTime=None), "it has no 'effectiveDateTime'"),
        (
            observation(effectiveDateTime="2026-03-01"),
            "its 'effectiveDateTime' 2026-03-01 is a date without a time of day",
        ),
        (
            observation(effectiveDateTime=None, effectivePeriod={"start": AT, "end": "2026-03-02T00:00:00Z"}),
            f"its 'effectivePeriod' is a span from {AT}, not a moment",
        ),
        (observation(unit="g/L"), "its unit 'g/L' is neither mg/dL nor mmol/L"),
        (observation(valueQuantity=None), "no value: it has no 'valueQuantity'"),
        (observation(valueQuantity={"unit": "mg/dL"}), "no value: its 'valueQuantity' has no 'value'"),
    ],
)
def test_entries_that_cannot_be_read_say_why(resource, reason):
    """Each keeps its number and gets its reason, naming the field; nothing is dropped."""
    assert aside(resource) == [(2, reason)]


def test_an_absent_value_says_why():
    """'dataAbsentReason' is the reason."""
    gone = observation(dataAbsentReason={"coding": [{"code": "error"}]})
    del gone["valueQuantity"]
    assert aside(gone) == [(2, "no value: its 'dataAbsentReason' is error")]


def test_two_codes_that_contradict_each_other():
    """Interstitial fluid and capillary blood at once."""
    both = observation()
    both["code"]["coding"].append({"system": "http://loinc.org", "code": "41653-7"})
    assert aside(both) == [(2, "its 'code' says both interstitial fluid and blood")]


def test_two_people_in_one_bundle_are_refused():
    """Their values must never be mixed."""
    with pytest.raises(BadFile, match="2 people") as caught:
        table(
            bundle(
                observation(subject={"reference": "Patient/1"}),
                observation(subject={"reference": "Patient/2"}),
            ),
            "b.json",
        )
    assert (caught.value.place.line, caught.value.place.column) == (2, "subject")


def test_a_unit_that_contradicts_its_code_is_proven_by_the_values_or_asked():
    """Public records often mislabel 14743-9; 108 can only be mg/dL, 25 can be either."""

    def one(value):
        return take(json.dumps(bundle(observation("14743-9", value, "mg/dL"))), "b.json", of="meter")

    assert sticks_of(one(108)) == [f"{AT} 108 mg/dL unknown"]
    assert [asked.code for asked in one(25).questions] == ["unit"]


def test_a_page_of_several_is_said():
    """A Bundle with a link to the next one is not the whole."""
    paged = bundle(observation()) | {"link": [{"relation": "next", "url": "x"}]}
    assert "one page of several" in table(paged, "b.json").notes[0]


def test_observations_without_a_bundle():
    """A list of them, or one on each line."""
    listed = json.dumps([observation(), observation(effectiveDateTime="2026-03-01T07:47:00+01:00")])
    lines = "\n".join(json.dumps(one) for one in json.loads(listed))
    assert take(listed, "b.json", of="Fern").kept == take(lines, "b.ndjson", of="Fern").kept == 2


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
    assert table(bundle(made), "b.json").rows[0][4:] == ["Fern", "one; two"]
    assert table(bundle(observation(device={"reference": "Device/9"})), "b.json").rows[0][4] == "9"
    named = {"resourceType": "Device", "id": "9", "deviceName": [{"name": "Slate"}]}
    assert table(bundle(observation(device={"reference": "Device/9"}), named), "b.json").rows[0][4] == "Slate"


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
    assert len(table(observation(), "b.json").rows) == 1


@pytest.mark.parametrize("held", [{"resourceType": "Patient"}, {"entry": []}, [], "x", None])
def test_other_json_is_no_bundle(held):
    """Left to the reader of lists."""
    assert not is_observation(held if isinstance(held, list) else [held])


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

"""FHIR R4 Bundles of Observations to a table. An entry that is no glucose observation keeps its place and says why.

Codes: LOINC, as the guide *Continuous Glucose Monitoring* (hl7.fhir.uv.cgm 1.0.0) uses them for sensors, and as national
guides use them for meters (read in both). Units: UCUM. Elements of R4 Observation: from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, TypeGuard

from evenhand.errors import BadFile, Place
from evenhand.intake.table import Table
from evenhand.records.files import Fate

_MASS, _MOLAR = "mg/dL", "mmol/L"
SENSOR = {"99504-3": _MASS, "105272-9": _MOLAR}
"""Glucose in interstitial fluid: mass, and moles per volume."""
CAPILLARY = {"41653-7": _MASS, "14743-9": _MOLAR}
"""Glucose in capillary blood by glucometer: mass, and moles per volume."""
OTHER_BLOOD = {"15074-8", "2339-0", "2345-7", "14749-6"}
"""Glucose in blood, serum or plasma by another way: no stick of this meter."""
_VOID = {"entered-in-error", "cancelled"}
_HEADER = ["time", "value", "unit", "kind", "device", "note"]


def is_bundle(held: object) -> TypeGuard[dict[str, Any]]:
    """Whether this JSON value is a FHIR resource of the kinds read here."""
    return isinstance(held, dict) and held.get("resourceType") in ("Bundle", "Observation")


def table(held: dict[str, Any], name: str) -> Table:
    """The Observations of a Bundle (or a single one) as rows; entries that are none are set aside with the reason."""
    entries = [held] if held["resourceType"] == "Observation" else held.get("entry")
    if not isinstance(entries, list) or not entries:
        raise BadFile(
            "The Bundle has no entries.", "Export it again with a span that holds readings.", Place(name)
        )
    rows, lines, aside = [_HEADER], [0], []
    for number, entry in enumerate(entries, 1):
        resource = entry.get("resource", entry) if isinstance(entry, dict) else {}
        made = _row(resource if isinstance(resource, dict) else {})
        if isinstance(made, str):
            aside.append((number, Fate.SET_ASIDE, made))
        else:
            rows.append(made)
            lines.append(number)
    if len(rows) == 1:
        raise BadFile(
            f"None of the {len(entries)} entries is a glucose observation that can be read; the first: {aside[0][2]}.",
            "Export the glucose observations.",
            Place(name, line=1),
        )
    return Table(None, rows, lines, aside=tuple(aside))


def _row(resource: dict[str, Any]) -> list[str] | str:
    """The cells of an Observation, or why it has none."""
    kind = resource.get("resourceType")
    if kind != "Observation":
        return f"a resource of kind {kind or 'unknown'}, not an Observation"
    if resource.get("status") in _VOID:
        return f"its status is {resource['status']}"
    codes = [str(code) for code in _codes(resource)]
    code = next((code for code in codes if code in SENSOR or code in CAPILLARY), None)
    if code is None:
        blood = any(code in OTHER_BLOOD for code in codes)
        return (
            "glucose in blood by another way than a meter"
            if blood
            else f"an observation of something else ({', '.join(codes) or 'no code'})"
        )
    when = resource.get("effectiveDateTime") or resource.get("effectiveInstant")
    if not isinstance(when, str) or "T" not in when:
        return f"'{when}' has no time of day" if isinstance(when, str) else "no time (effectiveDateTime)"
    value = _value(resource, {**SENSOR, **CAPILLARY}[code])
    if value is None or isinstance(value, str):
        return value or "no value"
    row = "reading" if code in SENSOR else "fingerstick"
    return [when, *value, row, _device(resource), _note(resource)]


def _value(resource: dict[str, Any], expected: str) -> tuple[str, str] | str | None:
    """Value and unit of an Observation; a sentence where they contradict its code; None where there is none."""
    absent = resource.get("dataAbsentReason")
    quantity = resource.get("valueQuantity")
    if not isinstance(quantity, dict) or quantity.get("value") is None:
        return f"no value: {_text(absent)}" if absent else None
    unit = str(quantity.get("code") or quantity.get("unit") or "")
    if unit.replace(" ", "").lower() != expected.lower():
        return f"its code means {expected}, its unit says '{unit}'"
    return f"{quantity.get('comparator') or ''}{quantity['value']}", expected


def _codes(resource: dict[str, Any]) -> Iterator[object]:
    coding = (resource.get("code") or {}).get("coding") if isinstance(resource.get("code"), dict) else None
    for one in coding if isinstance(coding, list) else ():
        if isinstance(one, dict) and "code" in one:
            yield one["code"]


def _text(concept: object) -> str:
    """The words of a CodeableConcept."""
    if not isinstance(concept, dict):
        return ""
    coding = concept.get("coding")
    first = coding[0] if isinstance(coding, list) and coding and isinstance(coding[0], dict) else {}
    return str(concept.get("text") or first.get("display") or first.get("code") or "")


def _device(resource: dict[str, Any]) -> str:
    device = resource.get("device")
    return str(device.get("display") or device.get("reference") or "") if isinstance(device, dict) else ""


def _note(resource: dict[str, Any]) -> str:
    notes = resource.get("note")
    words = (
        [str(one.get("text", "")) for one in notes if isinstance(one, dict)]
        if isinstance(notes, list)
        else []
    )
    return "; ".join(word for word in words if word)

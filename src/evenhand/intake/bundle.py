"""FHIR R4 Bundles of Observations to a table: one row an entry, its number the line.

Codes are LOINC's, from the HL7 guide 'Continuous Glucose Monitoring' 1.0.0 (package hl7.fhir.uv.cgm) for sensors, and
from national FHIR guides for capillary and other blood; units are UCUM's codes. Elements of Observation, Quantity and
Bundle are FHIR 4.0.1's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

from evenhand.errors import BadFile, Place
from evenhand.intake.table import Aside, Table

Json: TypeAlias = Any

SENSOR = {"99504-3": "mg/dL", "105272-9": "mmol/L"}
"""Glucose in interstitial fluid, with the unit the code's property implies."""
CAPILLARY = {"41653-7": "mg/dL", "14743-9": "mmol/L"}
"""Glucose in capillary blood by glucometer."""
BLOOD = {"15074-8": "mmol/L", "2339-0": "mg/dL"}
"""Glucose in blood, by whatever way: asked whether it was a meter's."""
LABORATORY = frozenset(("2345-7", "14749-6"))
"""Glucose in serum or plasma: a laboratory's, neither a reading nor a stick."""
SUMMARIES = frozenset(
    ("107931-8", "104643-2", "106793-3", "104642-4", "104641-6", "97510-2", "104640-8", "104639-0", "97507-8", "105273-7", "97506-0", "104638-2", "104636-6", "104637-4")
)  # fmt: skip
"""Summaries of a span (times in ranges, means, GMI, days of wear)."""

NAMES = ("effective", "value", "unit", "kind", "device", "note")
"""The columns of the table; each is a word intake knows for its role."""

_HELD = frozenset(("final", "amended", "corrected", "preliminary", "unknown", ""))
_LOINC = "http://loinc.org"
_UCUM = "http://unitsofmeasure.org"


def is_observation(entries: Sequence[Json]) -> bool:
    """Whether a list is one of FHIR resources with Observations among them."""
    kinds = [entry.get("resourceType") for entry in entries if isinstance(entry, dict)]
    return len(kinds) == len(entries) and all(kinds) and "Observation" in kinds


def read(resource: Json, name: str) -> Table:
    """The table of a Bundle or of one Observation. `BadFile` where a Bundle has no entries or two people's."""
    if resource.get("resourceType") == "Observation":
        return of_entries([resource], [1], name, ())
    entries = resource.get("entry")
    if not isinstance(entries, list) or not entries:
        raise BadFile("The Bundle has no entries.", "Export it again.", Place(file=name))
    bare = [entry.get("resource") if isinstance(entry, dict) else None for entry in entries]
    table = of_entries(bare, range(1, len(bare) + 1), name, ())
    links = resource.get("link")
    more = isinstance(links, list) and any(
        isinstance(link, dict) and link.get("relation") == "next" for link in links
    )
    notes = ("The Bundle is one page of several: take the others in too.",) if more else ()
    return Table(
        table.sheet, table.rows, table.lines, None, table.names, table.preamble, table.asides, notes=notes
    )


def of_entries(entries: Sequence[Json], numbers: Iterable[int], name: str, asides: Sequence[Aside]) -> Table:
    """The table of resources with their numbers; what is no glucose value that Evenhand keeps goes aside."""
    _one_person(entries, name)
    devices = _devices(entries)
    rows: list[list[str]] = []
    lines: list[int] = []
    aside = list(asides)
    for number, entry in zip(numbers, entries, strict=True):
        row = _row(entry, devices)
        if isinstance(row, str):
            aside.append(Aside(number, row))
        else:
            rows.append(row)
            lines.append(number)
    if not rows:
        why = aside[0] if aside else Aside(1, "no entry is an Observation")
        raise BadFile(
            f"None of the {len(aside)} entries can be read; entry {why.line}: {why.reason}.",
            "Export the glucose Observations, and take that in.",
            Place(file=name, line=why.line),
        )
    return Table(None, rows, lines, None, NAMES, "", tuple(aside))


def _one_person(entries: Sequence[Json], name: str) -> None:
    people: dict[str, int] = {}
    for number, entry in enumerate(entries, 1):
        subject = entry.get("subject") if isinstance(entry, dict) else None
        reference = _text(subject, "reference")
        if reference and _text(entry, "resourceType") == "Observation":
            people.setdefault(reference, number)
    if len(people) > 1:
        first, second = list(people.values())[:2]
        raise BadFile(
            f"The Observations are of {len(people)} people: 'subject' of entry {first} and of entry {second} differ.",
            "Export one person's and take that in.",
            Place(file=name, line=second, column="subject"),
        )


def _devices(entries: Sequence[Json]) -> dict[str, str]:
    """Names of the Devices that stand among the entries, by reference."""
    found: dict[str, str] = {}
    for entry in entries:
        if _text(entry, "resourceType") != "Device":
            continue
        names = entry.get("deviceName")
        told = _text(names[0], "name") if isinstance(names, list) and names else ""
        label = told or _text(entry, "displayName") or _text(entry, "modelNumber")
        if label and _text(entry, "id"):
            found[f"Device/{entry['id']}"] = label
    return found


def _text(holder: Json, key: str) -> str:
    """A field's text, '' where there is none or it is no text."""
    value = holder.get(key) if isinstance(holder, dict) else None
    return value.strip() if isinstance(value, str) else ""


def _row(entry: Json, devices: dict[str, str]) -> list[str] | str:
    """The cells of an Observation, or why it is set aside (naming the field)."""
    kind = _text(entry, "resourceType")
    if kind != "Observation":
        return f"a {kind or 'thing without resourceType'}, not an Observation"
    status = _text(entry, "status")
    if status not in _HELD:
        return f"its 'status' is {status}"
    what = _coded(entry.get("code"))
    if isinstance(what, str):
        return what
    role, implied = what
    when = _when(entry)
    if when[1]:
        return when[1]
    value = _value(entry, implied)
    if isinstance(value, str):
        return value
    notes = entry.get("note")
    note = "; ".join(_text(one, "text") for one in notes) if isinstance(notes, list) else ""
    device = entry.get("device")
    reference = _text(device, "reference")
    named = _text(device, "display") or devices.get(reference, "") or reference.removeprefix("Device/")
    return [when[0], value[0], value[1], role, named, note]


def _coded(code: Json) -> tuple[str, str] | str:
    """What the code says it is: (kind of row, unit its property implies), or why it is set aside."""
    codings = code.get("coding") if isinstance(code, dict) else None
    told = [one for one in codings if isinstance(one, dict)] if isinstance(codings, list) else []
    loinc = [_text(one, "code") for one in told if _text(one, "system") in (_LOINC, "")]
    kinds = {("reading", SENSOR[one]) for one in loinc if one in SENSOR}
    kinds |= {("fingerstick", CAPILLARY[one]) for one in loinc if one in CAPILLARY}
    kinds = kinds or {("any-blood", BLOOD[one]) for one in loinc if one in BLOOD}
    if len({kind for kind, _ in kinds}) > 1:
        return "its 'code' says both interstitial fluid and blood"
    if kinds:
        units = {unit for _, unit in kinds}
        return next(iter(kinds))[0], units.pop() if len(units) == 1 else ""
    shown = ", ".join(loinc) or _text(code, "text") or "nothing"
    if LABORATORY.intersection(loinc):
        return f"its 'code' is {shown}, glucose in serum or plasma: a laboratory's, neither reading nor stick"
    if SUMMARIES.intersection(loinc):
        return f"its 'code' is {shown}, a summary and no reading"
    return f"its 'code' is {shown[:60]}, not one of glucose that Evenhand keeps"


def _when(entry: Json) -> tuple[str, str]:
    """The time as written, or why there is none."""
    when = _text(entry, "effectiveDateTime") or _text(entry, "effectiveInstant")
    if not when:
        period = entry.get("effectivePeriod")
        start, end = _text(period, "start"), _text(period, "end")
        if start and end != start:
            return "", f"its 'effectivePeriod' is a span from {start}, not a moment"
        when = start
    if not when:
        return "", "it has no 'effectiveDateTime'"
    if "T" not in when:
        return "", f"its 'effectiveDateTime' {when[:40]} is a date without a time of day"
    return when, ""


def _value(entry: Json, implied: str) -> tuple[str, str] | str:
    """The value (with its comparator) and unit, or why there is none. A unit that contradicts what the code
    implies is left open, for the values to prove or a question to settle."""
    absent = entry.get("dataAbsentReason")
    if absent is not None and "valueQuantity" not in entry:
        codings = absent.get("coding") if isinstance(absent, dict) else None
        first = codings[0] if isinstance(codings, list) and codings else absent
        return (
            f"no value: its 'dataAbsentReason' is {_text(first, 'code') or _text(absent, 'text') or 'given'}"
        )
    quantity = entry.get("valueQuantity")
    if not isinstance(quantity, dict):
        word = _text(entry, "valueString") or _text(entry.get("valueCodeableConcept"), "text")
        return (word, implied) if word else "no value: it has no 'valueQuantity'"
    number = quantity.get("value")
    if not isinstance(number, str) or not number.strip():
        return "no value: its 'valueQuantity' has no 'value'"
    code = _text(quantity, "code") if _text(quantity, "system") in (_UCUM, "") else ""
    unit = {"mg/dL": "mg/dL", "mmol/L": "mmol/L"}.get(code)
    if unit is None:
        unit = {"mg/dl": "mg/dL", "mmol/l": "mmol/L", "": implied}.get(
            (code or _text(quantity, "unit")).lower()
        )
    if unit is None:
        return f"its unit '{(code or _text(quantity, 'unit'))[:20]}' is neither mg/dL nor mmol/L"
    if implied and unit != implied:
        unit = ""
    return f"{_text(quantity, 'comparator')}{number.strip()}", unit

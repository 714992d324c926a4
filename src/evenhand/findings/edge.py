"""Findings to JSON and back, and the JSON Schema of the contract."""

from __future__ import annotations

from typing import Any

import msgspec

from evenhand.findings.findings import Findings


def to_json(findings: Findings) -> bytes:
    """The contract's JSON, unrounded."""
    return msgspec.json.format(msgspec.json.encode(findings), indent=2)


def from_json(data: bytes) -> Findings:
    """Findings from the contract's JSON; `msgspec.ValidationError` where it does not fit."""
    return msgspec.json.decode(data, type=Findings)


def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of `judge --json`; no object allows properties it does not name."""
    made = msgspec.json.schema(Findings)
    for definition in made["$defs"].values():
        if definition.get("type") == "object" and "properties" in definition:
            definition["additionalProperties"] = False
            definition["required"] = sorted(definition["properties"])
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "evenhand judge --json",
        **made,
    }

"""The columns of Evenhand's own exports, which intake reads back."""

from __future__ import annotations

READINGS = ("time", "sensor", "value", "unit", "flag", "wear")
STICKS = ("time", "value", "unit", "flag", "reason", "meter", "marks", "shown")
DIARY = ("time", "until", "kind", "text", "sensor")
LEDGER = ("file", "sheet", "line", "fate", "reason")
KEYS = ("kind", "setting", "value")
SET_LATER = " (set later)"
"""Stands after a mark that was set after readings of its time were known."""

"""The card for the bedside: what holds at 2 am, room to write, when sensors change. One A5 page, PDF."""

from __future__ import annotations

import json
from pathlib import Path

from evenhand.charts import fonts
from evenhand.records.plan import Drawn
from evenhand.records.trial import Trial
from evenhand.say import bedside as said

_TEMPLATE = Path(__file__).parent / "templates" / "bedside.typ"
LINES = 7
"""Rows to write in."""
MOST_CHANGES = 8


def bedside_card(trial: Trial, drawn: Drawn) -> bytes:
    """The card as a tagged PDF; the same plan gives the same bytes, whatever fonts this computer has."""
    import typst

    found: bytes = typst.compile(
        _TEMPLATE,
        root=_TEMPLATE.parent,
        font_paths=[fonts.path("Regular").parent],
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"card": json.dumps(words(trial, drawn))},
        pdf_standards=["ua-1"],
        timestamp=drawn.at.instant,
    )
    return found


def words(trial: Trial, drawn: Drawn) -> dict[str, object]:
    """Every word of the card."""
    changes = said.changes(trial, drawn)
    left = len(changes) - MOST_CHANGES
    return {
        "font": fonts.FAMILY,
        "title": said.TITLE,
        "low": said.LOW,
        "night": said.night(trial),
        "write_title": said.WRITE,
        "columns": said.columns(trial),
        "lines": LINES,
        "changes_title": said.CHANGES,
        "change_columns": said.CHANGE_COLUMNS,
        "changes": changes[:MOST_CHANGES],
        "more": said.more(left) if left > 0 else "",
        "safety": said.SAFETY,
        "foot": said.foot(trial, drawn),
    }

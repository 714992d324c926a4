"""Plain lines as people jot them in the morning: 'Tue 07:42 6.1 alarm', '0212 110 felt fine'. One stick a line."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from evenhand.clock import understand_time
from evenhand.errors import BadFile, BadTime, BadValue, Place
from evenhand.intake import words
from evenhand.intake.encoding import decode
from evenhand.intake.names import Names
from evenhand.intake.table import Document, Table
from evenhand.intake.words import fold
from evenhand.records.files import Fate
from evenhand.records.trial import Trial
from evenhand.units import parse_glucose

MOST = 400
"""More lines than this were not jotted by hand."""
WAITS = "no time: it waits for the meter's file, or for the line with its time"
_DAY = (
    r"(?:today|yesterday|(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?|\d{4}-\d{1,2}-\d{1,2}"
    r"|\d{1,2}\.\s?\d{1,2}\.(?:\s?\d{4})?|\d{1,2}\.?\s(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?(?:\s\d{4})?)"
)
_CLOCK = r"\d{1,2}[:.h]\d{2}(?:\s?[ap]\.?m\.?)?|[012]\d[0-5]\d"
_VALUE = r"\d{1,3}(?:[.,]\d)?|lo|low|hi|high"
_LINE = re.compile(
    rf"[-*•]?\s*(?:(?:(?P<day>{_DAY})[\sT,]+)?(?P<clock>{_CLOCK})[\s,:]+)?(?P<value>{_VALUE})(?:\s*(?P<unit>mg/?dl|mmol(?:/?l)?|mg)\b)?"
    r"(?=$|[\s,;(])(?P<rest>.*)",
    re.I | re.A,
)
_DAY_LINE = re.compile(rf"[-*•#]?\s*(?P<day>{_DAY})\s*:?", re.I | re.A)
_HEADER = ["time", "value", "unit", "reason", "marks", "note"]


@dataclass(frozen=True, slots=True)
class _Jot:
    """A line taken apart; `when` is None where it has no time."""

    line: int
    when: str | None
    value: str
    unit: str
    rest: str


def document(
    data: bytes, names: Names, settings: Mapping[str, str], of: str | None, trial: Trial, now: int
) -> Document | None:
    """The sticks of plain lines as a table; None where the text is not that: a table, a sensor's file, too long.

    Every line that is not blank must be a jotting or a day ('Tuesday', '2026-03-01') that holds for the lines under it. A
    value without a time waits. Units are the trial's where none is written.
    """
    if (of is not None and of.casefold() != "meter") or {"delimiter", "time", "value", "header"} & set(
        settings
    ):
        return None
    if len(data) > 100 * MOST or data.lstrip()[:1] in (b"{", b"[", b"<") or b"\0" in data:
        return None
    decoded = decode(data, names.file, settings.get("encoding"))
    jots = _jots(decoded.text.splitlines())
    if jots is None:
        return None
    if all(jot.when is None for jot in jots):
        raise BadFile(
            "None of the lines has a time.",
            "Write each as '07:42 6.1' or 'Tue 07:42 6.1'.",
            Place(names.file),
        )
    rows, lines, aside = [_HEADER], [0], []
    for jot in jots:
        made = (Fate.WAITING, WAITS) if jot.when is None else _row(jot, trial, now)
        if isinstance(made, tuple):
            aside.append((jot.line, *made))
        else:
            rows.append(made)
            lines.append(jot.line)
    if len(rows) == 1:
        raise BadFile(
            f"No line can be read; the first: {aside[0][2]}",
            "Write each as '07:42 6.1'.",
            Place(names.file, line=aside[0][0]),
        )
    how = (
        ("encoding", decoded.encoding, decoded.evidence),
        ("format", "plain lines", "every line is a time, a value and words"),
    )
    return Document(names.file, (Table(None, rows, lines, aside=tuple(aside)),), how)


def _jots(lines: list[str]) -> list[_Jot] | None:
    """The lines taken apart; None where one is neither a jotting nor a day, or there are too many or none."""
    found: list[_Jot] = []
    day: str | None = None
    for number, line in enumerate(lines, 1):
        text = line.replace("\ufeff", "").strip()
        if not text:
            continue
        match = _LINE.fullmatch(text)
        alone = _DAY_LINE.fullmatch(text)
        if alone and (match is None or match["clock"] is None):
            day = alone["day"]
            continue
        if match is None:
            return None
        found.append(
            _Jot(
                number,
                _when(match["day"] or day, match["clock"]),
                match["value"],
                match["unit"] or "",
                match["rest"].strip(" ,;()"),
            )
        )
    return found if 0 < len(found) <= MOST else None


def _when(day: str | None, clock: str | None) -> str | None:
    if clock is None:
        return None
    if clock.isdigit():
        clock = f"{clock[:2]}:{clock[2:]}"
    return f"{day} {clock}" if day else clock


def _row(jot: _Jot, trial: Trial, now: int) -> list[str] | tuple[Fate, str]:
    """The cells of a jotting, or its fate where time or value cannot be."""
    try:
        stamp = understand_time(jot.when or "", now, trial.zones).stamp
        glucose = parse_glucose(f"{jot.value} {jot.unit}".strip(), trial.header.unit)
    except (BadTime, BadValue) as error:
        return Fate.SET_ASIDE, f"{error.found} {error.cure}"
    reason, marks, note = _words(jot.rest)
    value = str(glucose.beyond).upper() if glucose.beyond else glucose.text
    return [stamp.iso, value, str(glucose.unit), reason, marks, note]


def _words(rest: str) -> tuple[str, str, str]:
    """Reason and mark among the words after a value, and all of them as a note where they say more.

    >>> _words("alarm, unwashed hands"), _words("alarm")
    (('prompted', 'unwashed', 'alarm, unwashed hands'), ('prompted', '', ''))
    """
    folded = fold(rest).replace(",", " ").split()
    phrases = [
        " ".join(folded[a:b]) for a in range(len(folded)) for b in range(a + 1, min(a + 4, len(folded) + 1))
    ]
    reasons = dict.fromkeys(words.REASON_WORDS[one] for one in phrases if one in words.REASON_WORDS)
    marks = dict.fromkeys(words.MARK_WORDS[one] for one in phrases if one in words.MARK_WORDS)
    reason = str(next(iter(reasons))) if len(reasons) == 1 else ""
    whole = " ".join(folded)
    said = whole in words.REASON_WORDS or whole in words.MARK_WORDS
    return reason, ", ".join(str(mark) for mark in marks), "" if said else rest

"""A file in figures: first rows as understood, counts, spans, gaps, units; and whose it is."""

from __future__ import annotations

import pytest
from tests.intake.helpers import a_trial, after, take

from evenhand.intake.names import names_of
from evenhand.intake.whose import find
from evenhand.records.files import Fate


def five_minutes(count: int, skip: range = range(0)) -> str:
    """Readings every five minutes, some left out."""
    lines = ["Time,Glucose mg/dL"]
    lines += [
        f"2026-03-01 {at // 12:02d}:{at % 12 * 5:02d},{100 + at % 30}"
        for at in range(count)
        if at not in skip
    ]
    return "\n".join(lines) + "\n"


def test_counts_span_step_and_gaps():
    """What a person looks at before saying yes."""
    (part,) = take(five_minutes(100, range(40, 60)), of="Fern").parts
    assert (part.owner, part.kept, part.step, part.units) == ("Fern", 80, 300, {"mg/dL": 80})
    assert (part.first.iso, part.last.iso) == ("2026-03-01T00:00:00+01:00", "2026-03-01T08:15:00+01:00")
    ((start, end),) = part.gaps
    assert end - start == 21 * 300


def test_what_is_held_already_is_counted():
    """A longer export of the same: only what is new is new."""
    trial = a_trial()
    trial = after(trial, take(five_minutes(50), of="Fern", trial=trial).change)
    found = take(five_minutes(80), of="Fern", trial=trial, prefix="b")
    assert (found.parts[0].kept, found.parts[0].doubled) == (30, 50)
    assert (found.counts[Fate.KEPT], found.counts[Fate.DOUBLED]) == (30, 50)


def test_limits_are_counted():
    """Readings and sticks beyond them, on each side."""
    text = "Time,Glucose mg/dL\n2026-03-01 07:42,LOW\n2026-03-01 12:47,HIGH\n2026-03-01 19:52,LOW\n"
    for of in ("Fern", "meter"):
        (part,) = take(text, of=of, unit="mg/dL").parts
        assert (part.low, part.high) == (2, 1)


def test_first_rows_as_understood():
    """The cells as they stand, and what they were understood as."""
    text = "Time;Fern (mg/dL);Slate (mmol/L)\n01.03.2026 07:42;110;LOW\n31.03.2026 07:47;;6,1\nx;1;2\n"
    rows = take(text).first_rows
    assert [(row.line, row.understood) for row in rows] == [
        (2, "Sun 2026-03-01 07:42, 110 mg/dL (Fern), at most the limit (Slate)"),
        (3, "Tue 2026-03-31 07:47, 6.1 mmol/L (Slate)"),
        (4, "no time"),
    ]
    assert rows[0].cells == ("01.03.2026 07:42", "110", "LOW")


def test_first_lines_as_understood():
    """Of jotted lines: the stick, the entry, or why there is none."""
    rows = take("Mon 07:42 110 alarm, unwashed\n6.6\n08:10 breakfast\nhm\n08:30 115\n", "n.txt").first_rows
    assert [row.understood.partition(": it waits")[0] for row in rows] == [
        "Mon 2026-06-01 07:42, 110 mg/dL, unwashed, prompted",
        "'6.6' has no time",
        "Mon 2026-06-01 08:10, meal",
        "'hm' holds no time and value that can be read",
        "Mon 2026-06-01 08:30, 115 mg/dL",
    ]


def test_parts_come_in_the_trials_order():
    """Sensors, then the meter, then the diary."""
    text = (
        "Time,Type,Device,Glucose mg/dL,Note\n2026-03-01 07:42,reading,Slate,110,\n2026-03-01 07:42,reading,Fern,111,\n"
        "2026-03-01 07:43,fingerstick,,112,\n2026-03-01 07:44,meal,,,bread\n"
    )
    assert [part.owner for part in take(text, of="Fern").parts] == ["Fern", "Slate", "meter", "diary"]


@pytest.mark.parametrize(
    ("said", "file", "preambles", "owner", "evidence"),
    [
        ("slate", "fern.csv", [], "s2", "you said so"),
        (None, "fern_march.csv", [], "s1", "the file's name says so"),
        (None, "meter-2026.csv", [], "meter", "the file's name says so"),
        (None, "export.csv", ["Device: Slate"], "s2", "a line before the table says so"),
        (None, "kitchen.csv", [], "meter", "the file's name says so"),
        (None, "fern_and_slate.csv", [], None, None),
        (None, "export.csv", [], None, None),
    ],
)
def test_whose_a_file_is(said, file, preambles, owner, evidence):
    """Said, or told by exactly one name; else nobody's."""
    found = find(said, names_of(a_trial(), file), preambles)
    assert found.owner == owner
    assert (found.guess.evidence if found.guess else None) == evidence


def test_json_of_a_proposal_sums():
    """rows = kept + what is listed under set_aside, as the contract says."""
    told = take("Mon 07:42 110\n6.6\nhm no\n07:42 110\n", "n.txt").to_json()
    assert told["rows"] == told["kept"] + len(told["set_aside"]) == 4
    assert {row["fate"] for row in told["set_aside"]} == {"waiting", "set aside", "doubled"}
    assert (told["waiting"], told["doubled"]) == (1, 1)

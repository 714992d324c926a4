"""Nothing but an `EvenhandError` may come out of any bytes; tables come back from any dialect; fates always sum."""

import datetime as dt
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.intake.helpers import a_trial, readings_of, take

from evenhand.errors import EvenhandError

CELLS = (
    "", " ", "110", "6.1", "6,1", "LOW", "hoch", "<40", "2026-03-01 07:42", "01/03/2026", "31.03.2026", "07:42", "7:42 PM", "Time",
    "Glucose", "mg/dL", "mmol/L", "Fern", "Slate", "meter", "Type", "Reading", "Fingerstick", "Calibration", "note", "a \"b\"", "x;y",
    "1772347320", "46082.5", "2026-03-01T07:42:00+01:00", "2026-03-29 02:30", "2025-10-26 02:30", "nan", "1e9", "-", "n/a", "\u00a0", "日時",
    "9" * 30, "0", "1904-01-01", "99.99.9999", "25:61", "Unit", "Reason", "habit", "=1+1", "٣", "\x00", "𝟙", "½", "²", "①.1",
)  # fmt: skip


def survives(data: bytes, **more) -> None:
    """Take bytes in: a proposal whose fates sum, or an error that says what and where."""
    try:
        found = take(data, **more)
    except EvenhandError as error:
        assert error.found  # noqa: PT017
        assert error.cure  # noqa: PT017
        return
    assert found.rows == sum(found.counts.values()) == len(found.ledger)
    assert len({(row.sheet, row.line) for row in found.ledger}) == found.rows
    assert found.change is None or not found.questions


@settings(max_examples=120, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes(data):
    """Arbitrary bytes."""
    survives(data)


@settings(max_examples=250, deadline=None)
@given(
    st.lists(st.lists(st.sampled_from(CELLS), min_size=1, max_size=6), min_size=1, max_size=12),
    st.sampled_from(",;\t|"),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(["utf-8", "utf-16", "utf-16-le", "utf-8-sig"]),
    st.sampled_from([None, "Fern", "meter"]),
)
def test_any_table(rows, mark, end, encoding, of):
    """Tables of cells that mean something, in any order."""
    survives(end.join(mark.join(row) for row in rows).encode(encoding), of=of)


@pytest.mark.parametrize("seed", range(60))
def test_a_good_file_with_bytes_changed(seed):
    """A good file in which some bytes were overwritten, cut out or doubled."""
    chance = random.Random(seed)
    good = b"Time;Glucose mg/dL;Note\r\n" + b"".join(
        f'{day:02d}.03.2026 07:{minute:02d};{100 + minute};"n {minute}"\r\n'.encode()
        for day in (1, 15)
        for minute in range(20)
    )
    data = bytearray(good)
    for _ in range(chance.randint(1, 8)):
        at = chance.randrange(len(data))
        change = chance.randrange(3)
        if change == 0:
            data[at] = chance.randrange(256)
        elif change == 1:
            del data[at : at + chance.randint(1, 20)]
        else:
            data[at:at] = data[at : at + chance.randint(1, 40)]
    survives(bytes(data), of="Fern")


def quoted(cell: str, mark: str, always: bool) -> str:
    """A cell as any writer of such tables quotes it."""
    return (
        '"' + cell.replace('"', '""') + '"' if always or mark in cell or '"' in cell or "\n" in cell else cell
    )


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 60 * 24 * 20), st.integers(40, 400)),
        min_size=3,
        max_size=25,
        unique_by=lambda row: row[0],
    ),
    st.sampled_from([",", ";", "\t", "|"]),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252"]),
    st.sampled_from(
        ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S", "%d.%b.%Y %H:%M", "%b %d, %Y %I:%M %p", "%Y/%m/%d %H:%M:%S"]
    ),
    st.booleans(),
    st.sampled_from([0, 3]),
)
def test_a_table_comes_back_from_any_dialect(rows, mark, end, encoding, form, always, preamble):
    """Whatever delimiter, line end, encoding, date form and quoting: the same readings come back."""
    start = dt.datetime(2026, 4, 2)
    lines = [f"Line {number} of words" for number in range(preamble)]
    lines.append(mark.join(quoted(cell, mark, always) for cell in ("Time", "Glucose (mg/dL)", "Note")))
    wanted = {}
    for minutes, value in rows:
        when = start + dt.timedelta(minutes=minutes)
        wanted[when] = value
        lines.append(
            mark.join(quoted(cell, mark, always) for cell in (when.strftime(form), str(value), f"a{mark}b"))
        )
    found = take(end.join(lines).encode(encoding), of="Fern", sure="yes", hours="24")
    assert found.questions == ()
    assert found.kept == len(rows)
    assert found.rows == len(rows) + preamble
    expected = [f"{when.isoformat()}+02:00 {value} mg/dL" for when, value in sorted(wanted.items())]
    assert readings_of(found, a_trial())["Fern"] == expected

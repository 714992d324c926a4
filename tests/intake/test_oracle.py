"""A second, different reader as oracle: a general library told the columns beforehand, against Evenhand, which is told nothing."""

from __future__ import annotations

import datetime as dt
import io

import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import take

FORMS = (
    "%Y-%m-%d %H:%M",
    "%d.%m.%Y %H:%M:%S",
    "%m/%d/%Y %I:%M %p",
    "%d %b %Y %H:%M",
    "%Y%m%d %H:%M",
    "%Y-%m-%dT%H:%M:%SZ",
)
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252")


@st.composite
def tables(draw) -> tuple[bytes, dict[str, object]]:
    """A table of readings as bytes, and what the oracle must be told of it."""
    mark = draw(st.sampled_from((",", ";", "\t", "|")))
    comma = mark != "," and draw(st.booleans())
    form, encoding = draw(st.sampled_from(FORMS)), draw(st.sampled_from(ENCODINGS))
    mmol = draw(st.booleans())
    steps = draw(st.lists(st.integers(1, 400), min_size=3, max_size=30))
    values = draw(
        st.lists(
            st.integers(25, 195) if mmol else st.integers(40, 400), min_size=len(steps), max_size=len(steps)
        )
    )
    notes = draw(
        st.lists(
            st.sampled_from(("", "felt fine", f"a{mark}b", 'say "x"', "two\nlines", "Grüße")),
            min_size=len(steps),
            max_size=len(steps),
        )
    )
    when = dt.datetime(2026, 1, 13, 8, tzinfo=dt.UTC)
    lines = [mark.join(("Time", f"Glucose {'mmol/L' if mmol else 'mg/dL'}", "Note"))]
    for step, value, note in zip(steps, values, notes, strict=True):
        when += dt.timedelta(minutes=step)
        text = f"{value / 10:.1f}" if mmol else str(value)
        quoted = '"' + note.replace('"', '""') + '"' if set(note) & {mark, '"', "\n"} else note
        lines.append(mark.join((f"{when:{form}}", text.replace(".", ",") if comma else text, quoted)))
    told = {"sep": mark, "decimal": "," if comma else ".", "encoding": encoding, "form": form, "mmol": mmol}
    return ("\r\n".join(lines) + "\r\n").encode(encoding), told


@given(tables())
def test_every_instant_value_and_note_is_the_other_readers(case):
    """Whatever the mark, the encoding, the decimal mark and the form of the dates."""
    data, told = case
    other = pd.read_csv(
        io.BytesIO(data),
        sep=told["sep"],
        decimal=told["decimal"],
        encoding=told["encoding"],
        dtype={"Time": str, "Note": str},
    )
    instants = (
        pd.to_datetime(other["Time"], format=told["form"], utc=True)
        .astype("datetime64[s, UTC]")
        .astype("int64")
        .to_numpy()
    )
    found = take(data, of="Fern", zone="UTC", sure="yes", unit="mmol/L" if told["mmol"] else "mg/dL")
    assert not found.questions
    (batch,) = found.change.batches
    assert np.array_equal(batch.readings.instant, instants)
    assert np.array_equal(batch.readings.value, other.iloc[:, 1].to_numpy(np.float64))
    assert found.rows == len(other) == found.kept
    runs = [
        note
        for at, note in enumerate(other["Note"].fillna(""))
        if note and (at == 0 or note != other["Note"].fillna("")[at - 1])
    ]
    assert sorted(event.text for event in found.change.records if hasattr(event, "text")) == sorted(
        note.strip() for note in runs
    )

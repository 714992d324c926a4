"""The smaller parts: dialect, encoding, layout, merging, settings, names, files that are none."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.helpers import a_trial, take

from evenhand.clock import Stamp
from evenhand.errors import BadFile, BadValue, UnknownName
from evenhand.intake import bounds, dialect, source
from evenhand.intake.encoding import decode
from evenhand.intake.layout import lay_out, role_of
from evenhand.intake.merge import DOUBLED, NEW, OTHER_VALUE, Entries, sort_out
from evenhand.intake.names import names_of
from evenhand.intake.settings import KEYS, did_you_mean, parse
from evenhand.intake.sticks import agrees
from evenhand.intake.table import Table
from evenhand.intake.words import Role
from evenhand.records.readings import Readings
from evenhand.units import FACTOR, Beyond, Glucose, Unit, rounded


def table(text: str) -> Table:
    """A text parted by its own dialect."""
    lines = dialect.lines_of(text)
    return dialect.split(lines, dialect.choose(lines).delimiter)


def entries(*rows, mmol: bool = False) -> Entries:
    """Entries from pairs of instant and value."""
    return Entries(
        np.array([row[0] for row in rows], np.int64),
        np.array([float(row[1]) for row in rows]),
        np.full(len(rows), mmol),
        np.zeros(len(rows), np.int8),
    )


def held(*rows) -> Readings:
    """Readings held, in mg/dL, from pairs of instant and value."""
    n = len(rows)
    return Readings(
        np.array([row[0] for row in rows], np.int64), np.zeros(n, np.int32), np.array([float(row[1]) for row in rows]), np.zeros(n, bool),
        np.zeros(n, np.int8), np.ones(n, np.int32), tuple(str(row[1]) for row in rows),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("a,b\n1,2\n", "comma"),
        ("a;b\n1,5;2,5\n2,5;3,5\n", "semicolon"),
        ("a\tb\n1\t2\n", "tab"),
        ("a|b, c\n1|2\n", "pipe"),
        ('a;"x,y,z"\n1;"p,q"\n', "semicolon"),
        ("one\ntwo\n", "comma"),
    ],
)
def test_the_delimiter_that_rows_agree_on(text, word):
    """Decimal commas and commas in quotes do not part a semicolon file."""
    assert dialect.choose(dialect.lines_of(text)).word == word


def test_lines_of_multi_line_cells_are_their_first():
    """Each row has the line it starts on."""
    made = table('a,b\n"1\n2\n3",x\n4,y\n')
    assert list(made.lines) == [1, 2, 5]
    assert made.rows[1] == ["1\n2\n3", "x"]


def test_only_line_ends_end_a_line():
    """Vertical tabs, form feeds and the line marks of Unicode stay inside cells."""
    text = "a,b\x0bc\n1,2\u2028 3\x853\n"
    assert [len(row) for row in table(text).rows] == [2, 2]


@given(st.text(alphabet="ab\r\n\x0b\x85\u2028", max_size=30))
def test_lines_lose_nothing(text):
    """The lines of a text are the text."""
    assert "".join(dialect.lines_of(text)) == text


@given(
    st.lists(
        st.lists(st.text(alphabet='ab1,;"\n\t ', max_size=6), min_size=2, max_size=4), min_size=1, max_size=6
    ),
    st.sampled_from(",;\t|"),
)
def test_what_the_csv_module_writes_comes_back(rows, mark):
    """Cells with quotes, delimiters and line breaks, written by the standard library, come back verbatim."""
    import csv
    import io

    out = io.StringIO()
    csv.writer(out, delimiter=mark, quoting=csv.QUOTE_ALL, lineterminator="\n").writerows(rows)
    assert dialect.split(dialect.lines_of(out.getvalue()), mark).rows == rows


@pytest.mark.parametrize(
    ("text", "encoding", "expected"),
    [("Küche;früh", "utf-8", "utf-8"), ("Küche;früh", "utf-8-sig", "utf-8"), ("Küche;früh\n" * 3, "utf-16-le", "utf-16-le"), ("Küche;früh\n" * 3, "utf-16-be", "utf-16-be"), ("a;b\n" * 3, "utf-16", "utf-16-le")],
)  # fmt: skip
def test_unicode_is_recognised(text, encoding, expected):
    """Marks, zero patterns and strict UTF-8 come before any guess."""
    found = decode(text.encode(encoding), "a.csv")
    assert (found.encoding, found.text) == (expected, text)


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("Größe;Gerät;früh;müde;Küche über Österreich", "cp1252"),
        ("Дата и время;Глюкоза;Примечание;высокий", "cp1251"),
        ("日時,血糖値,メモ,朝食前,低血糖", "shift_jis"),
    ],
)
def test_eight_bit_encodings_are_guessed(text, encoding):
    """German, Russian and Japanese headers come out as written."""
    assert decode(text.encode(encoding), "a.csv").text == text


def test_an_encoding_that_does_not_fit_names_the_line():
    """A said encoding that fails tells where."""
    with pytest.raises(BadFile) as caught:
        decode("a\nb\nKüche".encode("cp1252"), "a.csv", "utf-8")
    assert caught.value.place.line == 3


def test_layout_finds_header_units_and_repeats():
    """Lines before, header, units row, data, repeated header: each where it is."""
    laid = lay_out(
        table("My file,\n\nTime,Glucose\n,mg/dL\n2026-03-01 07:42,110\nTime,Glucose\n2026-03-01 07:47,111\n")
    )
    (section,) = laid.sections
    assert section.names == ("Time", "Glucose")
    assert section.units == ("", "mg/dL")
    assert section.header == (3, 4)
    assert list(section.lines) == [5, 7]
    assert [(aside.line, aside.reason) for aside in laid.asides] == [
        (1, "before the table"),
        (6, "the header, repeated"),
    ]


def test_a_header_can_be_named():
    """`header=` takes a line, or 'none'."""
    text = "junk,words\nTime,Glucose mg/dL\n2026-03-01 07:42,110\n"
    assert lay_out(table(text), "2").sections[0].names == ("Time", "Glucose mg/dL")
    assert lay_out(table("2026-03-01 07:42,110\n"), "none").sections[0].names == ("column 1", "column 2")


def test_columns_of_one_name_are_told_apart():
    """A second 'Glucose' has a number; an empty name is the column's place."""
    assert lay_out(table("Time,Glucose,Glucose,\n2026-03-01 07:42,110,111,5\n")).sections[0].names == (
        "Time",
        "Glucose",
        "Glucose (2)",
        "column 4",
    )


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("Glucose (mg/dL)", Role.VALUE),
        ("Blutzucker", Role.VALUE),
        ("glycémie", Role.VALUE),
        ("血糖値", Role.VALUE),
        ("Uhrzeit", Role.TIME),
        ("Fecha y hora", Role.TIME),
        ("Päivämäärä", Role.DATE),
        ("Уведомление дата", Role.DATE),
        ("Yksikkö", Role.UNIT),
        ("Bemerkungen", Role.NOTE),
    ],
)
def test_header_words(name, role):
    """Headers in several languages say their role."""
    assert role_of(name, role) > 0


def test_sort_out_new_doubled_and_other():
    """Against what is held, and within the file."""
    outcome, meets = sort_out(
        entries((10, 100), (20, 110), (20, 110), (30, 120), (30, 150)), held((10, 100), (40, 1))
    )
    assert outcome.tolist() == [DOUBLED, NEW, DOUBLED, NEW, OTHER_VALUE]
    assert meets[0] == -1
    assert meets[2] == 1


@given(st.lists(st.tuples(st.integers(0, 40), st.integers(60, 70)), max_size=20))
def test_taking_in_twice_adds_nothing(rows):
    """Whatever was new the first time is doubled the second; what was set aside stays so."""
    new = entries(*rows)
    outcome, _ = sort_out(new, None)
    kept = sorted(
        (row for row, code in zip(rows, outcome.tolist(), strict=True) if code == NEW), key=lambda row: row[0]
    )
    assert len({instant for instant, _ in kept}) == len(kept)
    again, _ = sort_out(new, held(*kept))
    assert NEW not in again.tolist()
    assert ((again == OTHER_VALUE) == (outcome == OTHER_VALUE)).all()


@given(st.integers(20, 600))
def test_a_value_and_its_rounding_agree(value):
    """mg/dL and the mmol/L it is shown as agree, both ways."""
    tenths = float(rounded(value / FACTOR, 1))
    assert agrees(Glucose(value, Unit.MG_DL, ""), Glucose(tenths, Unit.MMOL_L, ""))
    assert agrees(Glucose(tenths, Unit.MMOL_L, ""), Glucose(value, Unit.MG_DL, ""))
    assert not agrees(Glucose(value, Unit.MG_DL, ""), Glucose(value + 4, Unit.MG_DL, ""))


def test_limit_words_agree_with_their_own_side_only():
    """LOW is LOW whatever number stands for it; never HIGH, never a plain value."""
    low, high = (Glucose(40, Unit.MG_DL, "", side) for side in (Beyond.LOW, Beyond.HIGH))
    assert agrees(low, Glucose(2.2, Unit.MMOL_L, "", Beyond.LOW))
    assert not agrees(low, high)
    assert not agrees(low, Glucose(40, Unit.MG_DL, ""))


def test_every_setting_has_help_and_is_known():
    """Each key parses, and each has a sentence."""
    samples = {"order": "day-month", "decimal": "comma", "shift": "+1h", "unit": "mg/dL"}
    for key, text in KEYS.items():
        assert len(text) > 15
        plain = key.replace("COLUMN", "X").replace("WORD", "X").replace("LINE", "7")
        parse({plain: samples.get(key, "x")})


@pytest.mark.parametrize(
    ("said", "seconds"), [("-57min", -3420), ("+12h", 43200), ("1d", 86400), ("30s", 30)]
)
def test_shifts(said, seconds):
    """A shift in the units people use."""
    assert parse({"shift": said}).shift == seconds


def test_wrong_settings_have_a_cure():
    """The nearest key or word is named."""
    with pytest.raises(UnknownName, match="'delimiter'"):
        parse({"delimeter": ";"})
    with pytest.raises(BadValue, match="'month-day'"):
        parse({"order": "month-dy"})
    assert did_you_mean("zzz", []) == "There is none to choose from."


def test_names_know_sensors_and_meter():
    """Names are compared without case and accents; 'meter' is always the meter."""
    names = names_of(a_trial(), "a.csv")
    assert (names.whose("FERN"), names.whose("kitchen"), names.whose("Meter"), names.whose("Moss")) == (
        "s1",
        "meter",
        "meter",
        None,
    )
    assert names.choices() == ("Fern", "Slate", "meter")


@pytest.mark.parametrize(
    ("limit", "value", "data"),
    [
        ("MAX_BYTES", 10, "Time,Glucose mg/dL\n"),
        ("MAX_ROWS", 2, "a,b\n" * 5),
        ("MAX_COLUMNS", 3, "1,2,3,4,5\n"),
        ("MAX_LINE", 5, "Time,Glucose\n"),
    ],
)
def test_limits_are_enforced(limit, value, data, monkeypatch):
    """Beyond each limit a file is refused, and the limit is said."""
    assert hasattr(bounds, limit)
    monkeypatch.setattr(source, limit, value)
    with pytest.raises(BadFile, match=str(value) if limit != "MAX_BYTES" else "MB"):
        take(data, of="Fern")


def test_a_stamp_keeps_the_text_of_the_file():
    """The time of a stick is there as the file wrote it."""
    (stick,) = [
        record
        for record in take(
            "Date;Time;Result\n1.3.2026;7:42;110\n2026-03-31;;\n", of="meter", order="day-month"
        ).change.records
        if hasattr(record, "glucose")
    ]
    assert isinstance(stick.at, Stamp)
    assert stick.at.text == "1.3.2026 7:42"
    assert (stick.source.line, stick.source.file) == (2, "id0")


def test_columns_of_numbers_that_are_not_read_are_said():
    """A column of plain numbers beside the value is named, with how to take it."""
    found = take("Time,Glucose mg/dL,Thing\n2026-03-01 07:42,110,98\n2026-03-01 07:47,112,97\n", of="Fern")
    assert any("'Thing'" in note and "sensor.Thing=" in note for note in found.notes)

"""XLSX, written by a general library (openpyxl) that shares no code with the reader."""

import datetime as dt
import io
import zipfile

import openpyxl
import pytest
from tests.intake.helpers import a_trial, readings_of, sticks_of, take

from evenhand.errors import BadFile, UnknownName
from evenhand.intake import workbook
from evenhand.records.files import Fate


def book(sheets: dict[str, list[list]], base_1904: bool = False) -> bytes:
    """An XLSX file of those sheets."""
    made = openpyxl.Workbook()
    made.remove(made.active)
    if base_1904:
        made.epoch = dt.datetime(1904, 1, 1)
    for title, rows in sheets.items():
        sheet = made.create_sheet(title)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


TRUE = dt.datetime(2026, 3, 1, 7, 42)


@pytest.mark.parametrize("base_1904", [False, True])
def test_true_datetimes_in_both_date_systems(base_1904):
    """A true datetime is the same instant under both date systems."""
    data = book(
        {"Data": [["Time", "Glucose mmol/L"], [TRUE, 6.1], [dt.datetime(2026, 3, 1, 7, 47), 6.3]]}, base_1904
    )
    found = take(data, "a.xlsx", of="Fern")
    assert readings_of(found, a_trial())["Fern"] == [
        "2026-03-01T07:42:00+01:00 6.1 mmol/L",
        "2026-03-01T07:47:00+01:00 6.3 mmol/L",
    ]


@pytest.mark.parametrize(("base_1904", "day"), [(False, 46082), (True, 44620)])
def test_serial_numbers_in_both_date_systems(base_1904, day):
    """A bare serial number is read in the file's date system (1462 days lie between the two)."""
    data = book({"Data": [["Time", "Glucose mg/dL"], [day + 0.5, 110], [day + 0.75, 112]]}, base_1904)
    assert readings_of(take(data, "a.xlsx", of="Fern"), a_trial())["Fern"] == [
        "2026-03-01T12:00:00+01:00 110 mg/dL",
        "2026-03-01T18:00:00+01:00 112 mg/dL",
    ]


def test_dates_as_text_beside_true_ones():
    """Text in a column of true datetimes is read as text, its order proven by the rest of the text."""
    data = book(
        {
            "Data": [
                ["Time", "Glucose mg/dL"],
                [TRUE, 110],
                ["02/03/2026 07:42", 111],
                ["14/03/2026 07:42", 112],
            ]
        }
    )
    assert [row.split("T")[0] for row in readings_of(take(data, "a.xlsx", of="Fern"), a_trial())["Fern"]] == [
        "2026-03-01",
        "2026-03-02",
        "2026-03-14",
    ]


def test_every_sheet_is_read_and_every_row_has_a_fate():
    """Sheets named like a sensor go to it; a sheet without a table is set aside row by row."""
    data = book(
        {
            "About": [["This file was made for a test"], [], ["Nothing here"]],
            "Fern": [["Time", "Glucose mg/dL"], [TRUE, 110]],
            "Slate": [
                ["My readings"],
                [],
                ["Time", "Glucose mg/dL"],
                [TRUE, 115],
                [None, None],
                [TRUE + dt.timedelta(minutes=5), "LOW"],
            ],
        }
    )
    found = take(data, "a.xlsx")
    assert found.kept == 3
    assert [(row.sheet, row.line) for row in found.not_kept()] == [("About", 1), ("About", 3), ("Slate", 1)]
    assert readings_of(found, a_trial())["Slate"] == [
        "2026-03-01T07:42:00+01:00 115 mg/dL",
        "2026-03-01T07:47:00+01:00 low 40 mg/dL",
    ]


def test_one_sheet_can_be_chosen():
    """`sheet=` reads one sheet and sets the others aside; a wrong name is an error."""
    data = book(
        {"One": [["Time", "Glucose mg/dL"], [TRUE, 110]], "Two": [["Time", "Glucose mg/dL"], [TRUE, 115]]}
    )
    found = take(data, "a.xlsx", of="Fern", sheet="two")
    assert (found.kept, found.counts[Fate.SET_ASIDE]) == (1, 2)
    with pytest.raises(UnknownName, match="Two"):
        take(data, "a.xlsx", of="Fern", sheet="Twoo")


def test_separate_date_and_clock_cells():
    """A true date and a true time of day in two columns."""
    data = book(
        {
            "S": [
                ["Date", "Time", "Result (mg/dL)"],
                [dt.date(2026, 3, 1), dt.time(7, 42), 110],
                [dt.date(2026, 3, 2), dt.time(18, 5), 98],
            ]
        }
    )
    assert sticks_of(take(data, "a.xlsx", of="meter")) == [
        "2026-03-01T07:42:00+01:00 110 mg/dL unknown",
        "2026-03-02T18:05:00+01:00 98 mg/dL unknown",
    ]


def test_a_merged_title_and_an_offset_table():
    """A merged title above a table that does not start in the first column."""
    made = openpyxl.Workbook()
    sheet = made.active
    sheet["B2"] = "Glucose of March"
    sheet.merge_cells("B2:D2")
    for at, row in enumerate(
        [["Time", "Glucose mg/dL"], [TRUE, 110], [TRUE + dt.timedelta(minutes=5), 111]], 4
    ):
        for column, value in enumerate(row, 2):
            sheet.cell(at, column, value)
    out = io.BytesIO()
    made.save(out)
    found = take(out.getvalue(), "a.xlsx", of="Fern")
    assert (found.kept, [(row.line, row.reason) for row in found.not_kept()]) == (
        2,
        [(2, "before the table")],
    )
    assert found.change.batches[0].readings.line.tolist() == [5, 6]


def test_a_float_prints_as_the_spreadsheet_shows_it():
    """6.1 that is stored as 6.0999999999999996 is the text '6.1'; whole numbers have no point."""
    data = book(
        {"S": [["Time", "Glucose mmol/L"], [TRUE, 6.1 + 4e-16], [TRUE + dt.timedelta(minutes=5), 7.0]]}
    )
    assert take(data, "a.xlsx", of="Fern").change.batches[0].readings.text == ("6.1", "7")


def test_a_bomb_is_refused_before_it_unpacks(monkeypatch):
    """Beyond the unpacked size, or the ratio, a spreadsheet is refused with the limit named."""
    data = book({"S": [["Time", "Glucose mmol/L"], [TRUE, 6.1]]})
    monkeypatch.setattr(workbook, "MAX_UNPACKED", 1000)
    with pytest.raises(BadFile, match="beyond the limits"):
        take(data, "a.xlsx", of="Fern")
    monkeypatch.undo()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", "<workbook/>")
        packed.writestr("xl/worksheets/sheet1.xml", " " * 60_000_000)
    with pytest.raises(BadFile, match="beyond the limits"):
        take(out.getvalue(), "a.xlsx", of="Fern")


def test_a_sheet_of_absurd_reach_is_refused():
    """Two cells in far corners would be a table of seventeen thousand million cells."""
    made = openpyxl.Workbook()
    made.active["A1"] = "Time"
    made.active["XFD1048576"] = 1
    out = io.BytesIO()
    made.save(out)
    with pytest.raises(BadFile, match="1048576 rows"):
        take(out.getvalue(), "a.xlsx", of="Fern")


def test_damaged_spreadsheets_are_refused():
    """A spreadsheet cut off anywhere is refused, never a traceback."""
    data = book({"S": [["Time", "Glucose mmol/L"], [TRUE, 6.1]]})
    for cut in range(10, len(data), 397):
        with pytest.raises(BadFile):
            take(data[:cut], "a.xlsx", of="Fern")

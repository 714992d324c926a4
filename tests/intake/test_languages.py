"""Headers, limit words and dates in many languages: common practice, no source. All sentences are our own."""

from __future__ import annotations

import pytest
from tests.intake.helpers import a_trial, readings_of, sticks_of, take

HEADERS = {
    "english": ("Date", "Time", "Sensor glucose (mg/dL)", "Note"),
    "german": ("Datum", "Uhrzeit", "Gewebezucker (mg/dL)", "Bemerkung"),
    "french": ("Date", "Heure", "Glycémie (mg/dL)", "Remarque"),
    "spanish": ("Fecha", "Hora", "Glucosa (mg/dL)", "Nota"),
    "italian": ("Data", "Ora", "Glicemia (mg/dL)", "Commento"),
    "portuguese": ("Data", "Hora", "Glicose (mg/dL)", "Observação"),
    "dutch": ("Datum", "Tijd", "Glucosewaarde (mg/dL)", "Opmerking"),
    "swedish": ("Datum", "Tid", "Glukos (mg/dL)", "Anteckning"),
    "danish": ("Dato", "Klokkeslæt", "Blodsukker (mg/dL)", "Bemærkning"),
    "finnish": ("Päivämäärä", "Kello", "Glukoosi (mg/dL)", "Huomautus"),
    "polish": ("Data", "Godzina", "Glukoza (mg/dL)", "Uwagi"),
    "czech": ("Datum", "Čas", "Glykémie (mg/dL)", "Poznámka"),
    "russian": ("Дата", "Время", "Глюкоза (мг/дл)", "Примечание"),
    "turkish": ("Tarih", "Saat", "Glukoz (mg/dL)", "Açıklama"),
    "japanese": ("日付", "時刻", "血糖値 (mg/dL)", "メモ"),
}
LIMITS = {
    "english": ("LOW", "HIGH"),
    "german": ("NIEDRIG", "HOCH"),
    "french": ("BAS", "HAUT"),
    "spanish": ("BAJO", "ALTO"),
    "italian": ("BASSO", "ALTO"),
    "portuguese": ("BAIXO", "ALTO"),
    "dutch": ("LAAG", "HOOG"),
    "swedish": ("LÅGT", "HÖGT"),
    "danish": ("LAV", "HØJ"),
    "finnish": ("MATALA", "KORKEA"),
    "polish": ("NISKI", "WYSOKI"),
    "czech": ("NÍZKÁ", "VYSOKÁ"),
    "russian": ("НИЗКИЙ", "ВЫСОКИЙ"),
    "turkish": ("DÜŞÜK", "YÜKSEK"),
    "japanese": ("低", "高"),
}


def a_file(language: str, encoding: str = "utf-8") -> bytes:
    """Four readings, two of them words, under a header of that language."""
    low, high = LIMITS[language]
    rows = [
        ("13.03.2026", "07:42", "110", ""),
        ("13.03.2026", "07:47", low, ""),
        ("13.03.2026", "07:52", high, ""),
        ("13.03.2026", "07:57", "121", ""),
    ]
    lines = [";".join(cells) for cells in (HEADERS[language], *rows)]
    return ("\n".join(lines) + "\n").encode(encoding)


@pytest.mark.parametrize("language", HEADERS)
def test_a_header_is_understood(language):
    """Date, time, value and note by their names; words beyond the limits on their side."""
    found = take(a_file(language), of="Fern")
    assert not found.questions
    assert readings_of(found, a_trial())["Fern"] == [
        "2026-03-13T07:42:00+01:00 110 mg/dL",
        "2026-03-13T07:47:00+01:00 low 40 mg/dL",
        "2026-03-13T07:52:00+01:00 high 400 mg/dL",
        "2026-03-13T07:57:00+01:00 121 mg/dL",
    ]


@pytest.mark.parametrize(
    ("language", "encoding"),
    [
        ("german", "cp1252"), ("french", "cp1252"), ("spanish", "cp1252"), ("portuguese", "cp1252"), ("swedish", "cp1252"),
        ("polish", "cp1250"), ("czech", "cp1250"), ("russian", "cp1251"), ("turkish", "cp1254"), ("japanese", "shift_jis"),
        ("german", "utf-16"), ("russian", "utf-16-le"), ("japanese", "utf-16-be"), ("polish", "utf-8-sig"),
    ],
)  # fmt: skip
def test_a_header_is_understood_in_the_encodings_of_its_land(language, encoding):
    """The same readings, whatever bytes the words were written in (said with encoding= where bytes cannot tell)."""
    data = a_file(language, encoding)
    found = take(data, of="Fern")
    if len(readings_of(found, a_trial()).get("Fern", ())) != 4:
        found = take(data, of="Fern", encoding=encoding)
    assert (
        readings_of(found, a_trial())["Fern"]
        == readings_of(take(a_file(language), of="Fern"), a_trial())["Fern"]
    )


@pytest.mark.parametrize(
    ("month", "number"),
    [
        ("March", 3), ("Mar", 3), ("März", 3), ("mars", 3), ("marzo", 3), ("março", 3), ("maart", 3), ("maaliskuuta", 3),
        ("marca", 3), ("března", 3), ("марта", 3), ("Mart", 3), ("December", 12), ("Dezember", 12), ("décembre", 12),
        ("diciembre", 12), ("dezembro", 12), ("joulukuuta", 12), ("grudnia", 12), ("prosince", 12), ("декабря", 12), ("Aralık", 12),
    ],
)  # fmt: skip
def test_months_are_known_by_name(month, number):
    """A month's name proves the order of the date."""
    year = 2026 if number < 6 else 2025
    found = take(f"time,mg/dL\n4 {month} {year} 07:42,110\n4 {month} {year} 07:47,112\n", of="Fern")
    assert not found.questions
    assert [text[:10] for text in readings_of(found, a_trial())["Fern"]] == [f"{year}-{number:02d}-04"] * 2


@pytest.mark.parametrize(
    ("word", "reason"),
    [
        ("plan", "plan"), ("geplant", "plan"), ("prévu", "plan"), ("gepland", "plan"), ("Gewohnheit", "habit"), ("rutina", "unknown"),
        ("habitude", "habit"), ("costumbre", "habit"), ("alarm", "prompted"), ("allarme", "prompted"), ("Symptom", "prompted"),
        ("Kalibrierung", "calibration"), ("étalonnage", "calibration"), ("calibración", "calibration"), ("", "unknown"),
    ],
)  # fmt: skip
def test_reasons_are_read_in_many_languages(word, reason):
    """A word nobody knows is no reason."""
    found = take(
        f"Time;Result mg/dL;Reason\n2026-03-13 07:42;110;{word}\n2026-03-13 12:42;120;plan\n", of="meter"
    )
    assert sticks_of(found)[0].split()[3] == reason


@pytest.mark.parametrize("space", ["\u00a0", "\u202f", "\u2009", " "])
@pytest.mark.parametrize("unit", ["mg/dL", "mg/dl", "mmol/L", "mmol/l"])
def test_units_glued_on_are_read_through_any_space(space, unit):
    """Thin and non-breaking spaces are spaces."""
    value = "110" if unit.startswith("mg") else "6,1"
    found = take(
        f"time;value\n2026-03-13 07:42;{value}{space}{unit}\n2026-03-13 07:47;{value}{space}{unit}\n",
        of="Fern",
    )
    assert not found.questions
    number = "110 mg/dL" if unit.startswith("mg") else "6.1 mmol/L"
    assert [text.split(" ", 1)[1] for text in readings_of(found, a_trial())["Fern"]] == [number, number]


def test_full_width_digits_are_digits():
    """As Japanese files write them; the text stays as recorded."""
    found = take("time;mg/dL\n2026-03-13 07:42;１１０\n2026-03-13 07:47;112\n", of="Fern")
    assert readings_of(found, a_trial())["Fern"][0] == "2026-03-13T07:42:00+01:00 110 mg/dL"
    assert found.change is not None
    assert found.change.batches[0].readings.text[0] == "１１０"


@pytest.mark.parametrize(
    "cell", ["1_10", "١١٠", "0x6E", "1e2", "nan", "inf", "--110", "11O", "1,1,0", "110..", "+-110"]
)
def test_what_only_a_lenient_parser_accepts_is_set_aside(cell):
    """Never what a general number parser happens to take: the row is set aside and named."""
    found = take(f"time;mg/dL\n2026-03-13 07:42;{cell}\n2026-03-13 07:47;112\n", of="Fern")
    assert [row.line for row in found.not_kept()] == [2]
    assert found.kept == 1

"""The card for the bedside: one tagged page, the same bytes every time, the words of the plan."""

from __future__ import annotations

import re
import shutil
import subprocess
import zlib

import pytest
from tests.plan.making import sensor, trial

from evenhand.clock import DAY
from evenhand.handouts.bedside import LINES, MOST_CHANGES, bedside_card, words
from evenhand.plan.draw import draw
from evenhand.records.question import Question


def card(**told):
    made = trial(**{"days": 20} | told)
    return made, draw(made, 0)


def test_it_is_one_tagged_page_of_a5_that_says_its_title():
    """Accessible (PDF/UA-1 is asked of the setter, which refuses what is not); 148 by 210 mm."""
    data = bedside_card(*card())
    assert data.startswith(b"%PDF-")
    assert b"/MarkInfo" in data
    assert len(re.findall(rb"/Type\s*/Page\b", data)) == 1
    width, height = (
        float(one) for one in re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", data).groups()
    )
    assert (width / 72 * 25.4, height / 72 * 25.4) == pytest.approx((148, 210), abs=0.5)


@pytest.mark.parametrize("sensors", [1, 2, 3])
@pytest.mark.parametrize("days", [10, 60])
def test_it_stays_one_page(sensors, days):
    """Three sensors, or two months: what does not fit is said to be in the plan."""
    made = trial(*(sensor(place, life=7 * DAY) for place in range(sensors)), days=days)
    data = bedside_card(made, draw(made, 0))
    assert len(re.findall(rb"/Type\s*/Page\b", data)) == 1


def test_the_same_plan_gives_the_same_bytes():
    """No date of today, no font of this computer."""
    made, drawn = card()
    assert bedside_card(made, drawn) == bedside_card(made, drawn)


def test_only_the_one_face_is_in_it():
    """Fonts embedded are the face of every page."""
    data = bedside_card(*card())
    raw = data + b"".join(_inflated(data))
    names = set(re.findall(rb"/BaseFont\s*/(?:[A-Z]{6}\+)?([\w-]+)", raw))
    assert names
    assert all(name.startswith(b"SourceSansPro") for name in names)


def _inflated(data):
    for part in re.findall(rb"stream\r?\n(.*?)endstream", data, re.S):
        try:
            yield zlib.decompress(part)
        except zlib.error:
            continue


def test_the_first_thing_it_says_is_to_treat_a_low():
    """Before anything that could be written down; and what must be read where someone could be hurt."""
    told = words(*card())
    assert told["low"].startswith("Low, or feeling low? Treat first.")
    safety = " ".join(told["safety"])
    for line in ("3.9 mmol/L", "54 (3.0)", "fingerstick decides", "sets no dose", "care team"):
        assert line in safety


def test_it_names_the_wearers_own_hours_and_sensors():
    """Waking hours as answered; a column for what each sensor showed."""
    made, drawn = card(question=Question("question", waking=(6 * 60 + 30, 22 * 60)))
    told = words(made, drawn)
    assert "between 22:00 and 06:30" in told["night"][0]
    assert told["columns"] == ("date, time", "meter", "Fern showed", "Slate showed", "why")
    assert told["lines"] == LINES


def test_changes_are_those_that_lie_ahead():
    """In order, with the arm; the last line is when all come off."""
    made, drawn = card()
    told = words(made, drawn)
    assert len(told["changes"]) == len(drawn.wears) + 1
    assert told["changes"][-1][0] == "all off"
    assert {row[2] for row in told["changes"][:-1]} == {"left", "right"}
    assert told["more"] == ""


def test_too_many_changes_are_counted():
    """What is left out is said."""
    made = trial(sensor(0, life=4 * DAY), sensor(1, life=4 * DAY), days=40)
    told = words(made, draw(made, 0))
    assert len(told["changes"]) == MOST_CHANGES
    assert re.fullmatch(r"and \d+ changes later: see the plan", told["more"])


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not on this computer")
def test_its_text_can_be_read_out(tmp_path):
    """A general reader of PDF finds the words in their order."""
    path = tmp_path / "card.pdf"
    path.write_bytes(bedside_card(*card()))
    text = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True, check=True).stdout
    order = [
        text.index(part)
        for part in (
            "By the bed",
            "Treat first",
            "nothing rings",
            "If you are awake anyway",
            "Sensors",
            "Below 70",
        )
    ]
    assert order == sorted(order)

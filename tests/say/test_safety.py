"""What must be read where someone could be hurt."""

from __future__ import annotations

from evenhand.findings.findings import SafetyLine
from evenhand.say import low, safety
from evenhand.units import Glucose, Unit


def test_stick_lines_are_the_contracts_words():
    """Below 70 (3.9) and below 54 (3.0) exactly one line each; none from the limit up, in the unit recorded."""
    said = [low.after_stick(Glucose(value, Unit.MG_DL, "")) for value in (53.9, 54.0, 69.9, 70.0)]
    assert said == [low.VERY_LOW_STICK, low.LOW_STICK, low.LOW_STICK, None]
    said = [low.after_stick(Glucose(value, Unit.MMOL_L, "")) for value in (2.9, 3.0, 3.8, 3.9)]
    assert said == [low.VERY_LOW_STICK, low.LOW_STICK, low.LOW_STICK, None]
    assert low.LOW_STICK == "Treat first. This can wait."
    assert low.VERY_LOW_STICK == "Serious low. Treat now; get help if you need it."


def test_the_general_cautions_cover_what_can_hurt():
    """Fingerstick decides, no dose, lows first, never provoked, an alarm stays on, pump, care team first."""
    text = " ".join(safety.CAUTIONS)
    for needed in (
        "a fingerstick decides",
        "insulin dose",
        "treat first",
        "Never go low or high",
        "alarm for serious lows on",
        "pump without your care team",
        "care team and your local rules come before",
    ):
        assert needed in text


def test_far_off_sticks_are_told_in_the_wearers_unit():
    """A dangerous line gives time, sensor, shown and stick."""
    line = SafetyLine("2026-03-04T13:10:00+00:00", "Slate", 104.0, 61.0, "missed-low")
    assert (
        safety.far_off(line, Unit.MMOL_L)
        == "4 March, 13:10: Slate showed 5.8 mmol/L while your finger said 3.4 mmol/L."
    )
    assert safety.misled([line] * 3).endswith("Slate 3 times")

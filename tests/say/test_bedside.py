"""The words of the card for the bedside."""

from __future__ import annotations

from tests.plan.making import sensor, trial

from evenhand.plan.draw import draw
from evenhand.records.question import Question
from evenhand.say import bedside


def test_the_night_has_three_lines_and_asks_for_nothing():
    """Nothing rings; the meter keeps the value; an alarm stays on."""
    sleep, stick, alarm = bedside.night(trial())
    assert "Nothing is planned between 23:00 and 07:00" in sleep
    assert "The meter keeps the value" in stick
    assert "alarm for serious lows on" in alarm


def test_waking_hours_over_midnight_are_told_as_they_are():
    """Somebody who sleeps from two to ten."""
    made = trial(question=Question("question", waking=(600, 120)))
    assert "between 02:00 and 10:00" in bedside.night(made)[0]


def test_columns_name_every_sensor():
    """What was shown is asked for each by its own name."""
    made = trial(sensor(0), sensor(1), sensor(2))
    assert bedside.columns(made)[2:5] == ("Fern showed", "Slate showed", "Birch showed")


def test_one_change_left_is_one():
    """Counted in words that fit."""
    assert bedside.more(1) == "and 1 change later: see the plan"


def test_the_foot_names_plan_and_zone():
    """Which drawing this is the card of."""
    made = trial()
    drawn = draw(made, 0)
    assert (
        bedside.foot(made, drawn)
        == f"Plan of 1 January 1970, drawing 1, seed {drawn.seed}; times are Europe/Berlin's."
    )

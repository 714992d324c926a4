"""The strip that names lines and marks."""

from __future__ import annotations

from dataclasses import replace

from tests.support.fake_findings import scenario

from evenhand.charts import keys
from evenhand.charts.look import LIGHT, NARROW, PAGE
from evenhand.records.diary import Reason


def test_only_what_is_there_is_named():
    """A trial without calibrations has no calibration in its strip."""
    _, trial = scenario("closer")
    assert "calibration" in [item.words for item in keys.items(trial, LIGHT)]
    without = replace(trial, sticks=tuple(stick for stick in trial.sticks if stick.reason is Reason.PLAN))
    words = [item.words for item in keys.items(without, LIGHT)]
    assert words == ["Fern", "Slate", "stick", "bars at the foot: start and warm-up"]


def test_kinds_of_stick_look_different():
    """Hollow, slim and filled: told apart without hue."""
    looks = [keys.stick_look(which, LIGHT, PAGE) for which in keys.STICKS]
    assert len({(look["marker"], look["markerfacecolor"]) for look in looks}) == 3


def test_the_strip_wraps_on_a_phone_and_loses_nothing():
    """All entries stay, in order, over more lines."""
    _, trial = scenario("three")
    given = keys.items(trial, LIGHT)
    lines = keys.arranged(given, NARROW)
    assert [item for line in lines for item in line] == given
    assert len(lines) > len(keys.arranged(given, PAGE)) == 1

"""Shown against exported."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.compare.making import usual

from evenhand.compare.layout import lay_out
from evenhand.compare.shown import shown_minus_exported
from evenhand.records.diary import Shown
from evenhand.units import Beyond, Glucose, Unit


def showing(trial, difference, every=1, beyond=None):
    """The trial with what Fern showed at each `every`-th stick: its reading then, plus `difference`."""
    layout = lay_out(trial)
    readings = {event.sticks[0].id: layout.pairs.reading[row, 0] for row, event in enumerate(layout.events)}
    sticks = []
    for number, stick in enumerate(trial.sticks):
        reading = readings.get(stick.id)
        if number % every or reading is None or reading != reading:
            sticks.append(stick)
            continue
        glucose = Glucose(float(reading) + difference, Unit.MG_DL, "", beyond)
        sticks.append(replace(stick, shown=(Shown("fern", glucose, stick.at.instant),)))
    return replace(trial, sticks=tuple(sticks))


@pytest.mark.parametrize("difference", [0.0, 4.0, -7.5])
def test_a_constant_difference_is_found(difference):
    """A screen that shows so much more than the file keeps is found, exactly where it is constant."""
    est = shown_minus_exported(lay_out(showing(usual(), difference)), 0, "fern")
    assert est.value == pytest.approx(difference, abs=1e-9)
    assert est.low == pytest.approx(difference, abs=1e-9)
    assert est.n > 100


def test_only_the_sensor_named():
    """A value shown of one sensor says nothing of the other; nothing shown says nothing."""
    layout = lay_out(showing(usual(), 4.0))
    assert shown_minus_exported(layout, 1, "slate") is None
    assert shown_minus_exported(lay_out(usual()), 0, "fern") is None


def test_limit_words_are_left_out():
    """A screen that says 'low' shows no number to compare."""
    assert shown_minus_exported(lay_out(showing(usual(), 0.0, beyond=Beyond.LOW)), 0, "fern") is None


def test_few_have_no_interval():
    """With fewer than six moments the mean stands alone, and says why."""
    est = shown_minus_exported(lay_out(showing(usual(days=3, wear_days=3), 4.0, every=5)), 0, "fern")
    assert est.value == pytest.approx(4.0)
    assert est.low is None
    assert est.why is not None

"""The words of the picture of the weeks."""

from __future__ import annotations

from dataclasses import replace

from tests.plan.making import sensor, trial

from evenhand.plan.draw import draw
from evenhand.say import weeks


def test_a_guarded_plan_says_so():
    """The finding of a plain plan; the first warm-up, in which nothing reads, is not told away."""
    made = trial(days=20)
    told = "After the first warm-up one sensor always reads, and no two warm up at once"
    assert weeks.title(made, draw(made, 0)) == told
    made = trial(sensor(0, warm_up=0), sensor(1, warm_up=0), days=20)
    assert weeks.title(made, draw(made, 0)) == "One sensor always reads, and no two warm up at once"


def test_two_warm_ups_at_once_are_the_finding():
    """Where all hours have a reading by a third sensor, and two still warm up together."""
    made = trial(sensor(0, warm_up=0), sensor(1), sensor(2), days=10)
    drawn = draw(made, 0)
    one = next(wear for wear in drawn.wears if wear.sensor == "s-1")
    moved = tuple(
        replace(wear, inserted=one.inserted, started=one.started, reads=one.reads)
        if wear.sensor == "s-2"
        else wear
        for wear in drawn.wears
    )
    assert weeks.title(made, replace(drawn, wears=moved)) == "Two sensors warm up at once"


def test_the_caveat_counts_wears_and_sticks():
    """With the span and the seed."""
    made = trial(days=20)
    drawn = draw(made, 0)
    text = weeks.caveat(made, drawn)
    assert text.startswith("A plan, 2 to 22 March 2026: 2 wears of Fern and 2 wears of Slate, ")
    assert f"{len(drawn.minutes)} sticks; drawn with seed {drawn.seed}" in text

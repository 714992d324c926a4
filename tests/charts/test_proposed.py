"""The picture of a proposal: what is drawn is what was read, and a clock's evidence before and after."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from tests.intake.helpers import a_trial, after, take
from tests.support.pictures import lines, texts

from evenhand.charts.clock_evidence import gather
from evenhand.charts.proposed import PROPOSAL, drawn, proposed

HEAD = "Time,Glucose mg/dL\n"


def wave(minute: float) -> int:
    """A glucose curve that never repeats within the days of a test."""
    return round(150 + 50 * math.sin(minute / 97) + 30 * math.sin(minute / 41) + 20 * math.sin(minute / 313))


def rows(late: int = 0, days: int = 3) -> str:
    """Readings every five minutes from 2 April on, the clock `late` minutes ahead."""
    begin = dt.datetime(2026, 4, 2)
    return "".join(
        f"{begin + dt.timedelta(minutes=at + late):%Y-%m-%d %H:%M},{wave(at)}\n"
        for at in range(0, days * 1440, 5)
    )


@pytest.fixture(scope="module")
def trial():
    """Fern's readings and two sticks are held."""
    held = after(a_trial(), take(HEAD + rows(), of="Fern").change)
    sticks = "Time,mg/dL\n2026-04-02 08:00,140\n2026-04-03 09:00,120\n"
    return after(held, take(sticks, of="meter", trial=held, prefix="m").change)


@pytest.fixture(scope="module")
def ahead(trial):
    """Slate's file, its clock an hour ahead."""
    return take(HEAD + rows(60), of="Slate", trial=trial, prefix="s", name="slate.csv")


def test_every_point_drawn_was_read_or_held(trial, ahead):
    """New lines hold only readings of the file, pale ones only readings held."""
    figure = proposed(ahead, trial).figure
    for gid, part in (("new-Slate", ahead.change.batches[0].readings), ("held-Fern", trial.readings["s1"])):
        known = set(zip(part.instant.tolist(), part.mg_dl.tolist(), strict=True))
        # The picture's first row of days; the day at the foot shows the readings moved.
        axes = next(axes for axes in figure.axes if axes.get_gid() == "row")
        shown = [line for line in axes.lines if line.get_gid() == gid]
        assert shown
        for line in shown:
            x, y = (np.asarray(values, float) for values in line.get_data())
            good = ~np.isnan(y)
            assert {(int(a), b) for a, b in zip(x[good], y[good], strict=True)} <= known


def test_title_caveat_and_words_say_what_was_found(trial, ahead):
    """The finding is the title; the words say the numbers and how to accept."""
    picture = proposed(ahead, trial)
    assert picture.title == "The clock of Slate looks about 60 min ahead of Fern's."
    assert "correlation" in picture.alternative
    assert "shift=-60min" in picture.alternative
    said = " ".join(text.get_text() for text in texts(picture.figure))
    assert "before it is taken in" in said
    assert "as written" in said
    assert "no judgement of a sensor" in said


def test_the_profile_drawn_is_the_proposals_own(trial, ahead):
    """Nothing is computed here: each point of the profile stands in the proposal."""
    figure = proposed(ahead, trial).figure
    (drawn_line,) = lines(figure, "profile")
    profile = ahead.proposals[0].profile
    assert drawn_line.get_xdata().tolist() == [-shift / 60 for shift in profile.shifts]
    assert drawn_line.get_ydata().tolist() == list(profile.heights)
    assert len(lines(figure, "mark")) == 2


def test_before_and_after_differ_by_the_shift(trial, ahead):
    """The second day is the first with every reading an hour earlier; values stay."""
    shown = drawn(ahead, trial)
    evidence = gather(ahead, shown.new, shown.held, trial)
    (written,), (corrected,) = evidence.written, evidence.corrected
    assert set((written.instant - corrected.instant).tolist()) == {3600}
    assert (written.value == corrected.value).all()
    days = [axes for axes in proposed(ahead, trial).figure.axes if axes.get_gid() == "day"]
    assert len(days) == 2


def test_a_file_without_a_doubt_has_no_evidence(trial):
    """Its title says what it brings; one line a sensor, no profile, no day."""
    found = take(HEAD + rows(), of="Slate", trial=trial, prefix="s", name="slate.csv", sure="yes")
    picture = proposed(found, trial)
    assert found.proposals == ()
    assert picture.title == "slate.csv brings 864 readings of Slate."
    assert lines(picture.figure, "profile") == []
    assert not [axes for axes in picture.figure.axes if axes.get_gid() == "day"]


def test_a_file_that_adds_nothing_is_said(trial):
    """Everything held already: nothing new is drawn."""
    again = take(HEAD + rows(), of="Fern", trial=trial, prefix="s", name="fern.csv")
    picture = proposed(again, trial)
    assert picture.title == "fern.csv brings nothing that is new."
    assert lines(picture.figure, "new-Fern") == []


def test_sticks_are_drawn_new_and_held(trial):
    """A meter's file: its stick in ink, those held paler."""
    found = take("Time,mg/dL\n2026-04-03 12:00,111\n", of="meter", trial=trial, prefix="s", name="m.csv")
    figure = proposed(found, trial).figure
    (new,) = lines(figure, "new-stick")
    assert new.get_ydata() == [111]
    assert {line.get_alpha() for line in lines(figure, "held-stick")} != {1}


def test_both_files_are_the_same_each_time(trial, ahead):
    """PNG and SVG, the same bytes for the same proposal, text as text and within the frame."""
    one, two = proposed(ahead, trial), proposed(ahead, trial)
    assert one.png() == two.png()
    assert one.svg() == two.svg()
    assert "<text" in one.svg()
    assert one.figure.get_size_inches()[0] * 72 == PROPOSAL.width

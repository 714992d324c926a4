"""A clock's evidence: room for what there is, corrections of every kind as `intake` would make them."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from tests.intake.helpers import a_trial, after, take

from evenhand.charts.clock_evidence import gather, height
from evenhand.charts.proposed import PROPOSAL, drawn
from evenhand.intake.ask import Suggested

HEAD = "Time,Glucose mg/dL\n"


def rows(start: str, many: int = 600) -> str:
    """Readings every five minutes at wall times that are not changed."""
    begin = dt.datetime.fromisoformat(start)
    return "".join(
        f"{begin + dt.timedelta(minutes=5 * number):%Y-%m-%d %H:%M},{100 + (7 * number) % 60}\n"
        for number in range(many)
    )


@pytest.mark.parametrize(
    "said", ["shift=-57min", "shift=+1d", "shift=+365d", "zone=+01:00", "shift=+1h@2026-04-03T02:00.."]
)  # fmt: skip
def test_corrected_is_what_intake_makes_of_the_setting(said):
    """The readings drawn as corrected are those that the file brings with the setting."""
    text = HEAD + rows("2026-04-02 08:00")
    found = take(text, of="Fern")
    found = replace(found, proposals=(Suggested("clock-off", "T", "e", said, sensor="s1"),))
    shown = drawn(found, a_trial())
    (corrected,) = gather(found, shown.new, shown.held, a_trial()).corrected
    key, _, value = said.partition("=")
    again = take(text, of="Fern", **{key: value}).change.batches[0].readings
    assert np.sort(corrected.instant).tolist() == again.instant.tolist()


def test_without_another_sensor_there_is_no_day_to_show():
    """A file alone: nothing to compare with, and no room is taken."""
    found = take(HEAD + rows("2026-03-28 20:00"), of="Fern")
    assert [one.code for one in found.proposals] == ["clock-not-changed"]
    shown = drawn(found, a_trial())
    evidence = gather(found, shown.new, shown.held, a_trial())
    assert evidence.day is None
    assert height(evidence, PROPOSAL) == 0
    assert "accepted with zone=+01:00" in evidence.said


def test_the_day_shown_is_one_on_which_both_have_readings():
    """And on which the correction moves something."""
    held = after(a_trial(), take(HEAD + rows("2026-04-02 08:00"), of="Fern").change)
    found = take(HEAD + rows("2025-04-02 09:00"), of="Slate", trial=held, prefix="s")
    assert found.proposals[0].set == "shift=+365d"
    shown = drawn(found, held)
    evidence = gather(found, shown.new, shown.held, held)
    start, end = evidence.day
    assert end - start == 86_400
    corrected = evidence.corrected[0].instant
    assert ((corrected >= start) & (corrected < end)).any()
    assert height(evidence, PROPOSAL) > 0


def test_no_proposal_no_evidence():
    """A good file takes no room."""
    found = take(HEAD + rows("2026-04-02 08:00"), of="Fern")
    shown = drawn(found, a_trial())
    assert gather(found, shown.new, shown.held, a_trial()) is None
    assert height(None, PROPOSAL) == 0

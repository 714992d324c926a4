"""The seal: when it holds, and that nothing under it tells who is ahead."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from tests.compare.making import DAY, MIDNIGHT, sensor, stamp, trial
from tests.judge.making import by_sticks as judge
from tests.judge.making import codes, declared, opened, sound, twenty_days

from evenhand.compare.layout import lay_out
from evenhand.findings import edge
from evenhand.findings.cautions import CAUTIONS
from evenhand.judge.seal import TELLING, is_sealed, last_known

END = stamp(MIDNIGHT + 30 * DAY)
HIDDEN = ("accuracy", "phases", "days", "wear_by_wear", "levels", "zones", "against_reconstruction", "strays",
          "lag_minutes", "pressure_lows", "calibrations", "alarms", "ranges")  # fmt: skip


@pytest.fixture(scope="module")
def closed():
    """A declared trial whose end is not reached, judged."""
    return judge(declared(twenty_days(), end=END))


def test_sealed_before_the_end(closed):
    """Before the declared end no sensor's numbers and no comparison stand in the judgement; it is sound JSON."""
    plain = sound(closed)
    assert plain["sealed"] is True
    assert plain["head_to_head"] == []
    for each in plain["sensors"]:
        assert all(each[key] is None for key in HIDDEN)
        assert each["readings"] > 0
        assert each["upkeep"] is not None
    assert "sealed" in codes(closed)


def test_coverage_cautions_and_safety_stay(closed):
    """What guards the wearer, and what tells how complete the trial is, is never sealed."""
    open_ = judge(declared(twenty_days()))
    assert closed.safety == open_.safety
    assert closed.wears == open_.wears
    assert closed.meter == open_.meter
    assert codes(open_) - codes(closed) <= TELLING
    assert codes(closed) - codes(open_) == {"sealed"}


def test_safety_lines_are_never_sealed():
    """A sensor far off shows under seal as well."""
    made = declared(twenty_days(), end=END)
    far = replace(made.sticks[5], glucose=replace(made.sticks[5].glucose, value=45.0))
    made = replace(made, sticks=(*made.sticks[:5], far, *made.sticks[6:]))
    found = judge(made)
    assert found.sealed
    assert found.safety


def test_nothing_in_the_file_tells(closed):
    """The JSON under seal holds no difference and no answer: the words do not occur with a number."""
    text = edge.to_json(closed).decode()
    assert '"answer"' not in text
    assert '"mad": {' not in text
    assert json.loads(text)["primary"]["sealed_until"]["time"] == END.iso


def test_the_end_opens_it():
    """With the declared end reached, by now or by the data, the judgement is open."""
    made = declared(twenty_days(), end=END)
    layout = lay_out(made)
    assert is_sealed(made, layout, None)
    assert is_sealed(made, layout, END.instant - 1)
    assert not is_sealed(made, layout, END.instant)
    assert not judge(made, now=END.instant).sealed
    early = declared(twenty_days(), end=stamp(MIDNIGHT + 19 * DAY))
    assert not judge(early).sealed


def test_breaking_the_seal_opens_it():
    """Opened early: everything shows, and it is said on which day."""
    found = judge(opened(declared(twenty_days(), end=END), 9))
    assert not found.sealed
    assert [each.day for each in found.primary.opened] == [9]
    assert "opened-early" in codes(found)
    assert found.head_to_head


def test_sealed_until_so_many_wears():
    """An end by wears is reached when every sensor has so many ended ones."""
    made = declared(twenty_days(), end_wears=2)
    assert not judge(made).sealed
    assert judge(declared(twenty_days(), end_wears=3)).sealed
    assert judge(declared(twenty_days(), end_wears=3)).primary.sealed_until.wears == 3


def test_never_sealed_without_a_declaration_or_an_end():
    """An undeclared trial, or a declared one without an end, is open."""
    assert not judge(twenty_days()).sealed
    assert not judge(declared(twenty_days())).sealed


def test_an_empty_sealed_trial_stays_sealed():
    """Declared, with an end, and nothing measured yet: sealed, and sound."""
    made = declared(trial([sensor("Fern"), sensor("Slate", 1)]), end=END)
    assert last_known(made) is None
    assert sound(judge(made))["sealed"] is True


def test_telling_codes_are_of_the_catalogue():
    """Every code held back under seal exists."""
    assert set(CAUTIONS) >= TELLING

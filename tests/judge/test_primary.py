"""The question as judged: pair, terms, standing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, sensor, stamp, trial
from tests.judge.making import declared, opened, twenty_days

from evenhand.compare.layout import lay_out
from evenhand.findings import METHOD
from evenhand.judge.primary import duels, looks_taken, primary, standing, terms
from evenhand.records.question import Declared, Deviation, Opening, PairsAsked, Policy, Question
from evenhand.stats.decision import Confidence


def three():
    """Three sensors and nothing else."""
    return trial([sensor(name, place) for place, name in enumerate(("Fern", "Slate", "Moss"))])


def test_two_sensors_are_one_pair():
    """Without a word on it, the first minus the second."""
    assert duels(twenty_days()) == ((0, 1),)
    told = primary(twenty_days(), lay_out(twenty_days()), None)
    assert told.pair == ("Fern", "Slate")


def test_a_declared_pair_sets_the_order():
    """The declared pair is taken as declared, whatever the order of the sensors; of three the only one."""
    turned = replace(twenty_days(), question=Question("q", pair=("slate", "fern")))
    assert duels(turned) == ((1, 0),)
    assert duels(replace(three(), question=Question("q", pair=("moss", "fern")))) == ((2, 0),)


def test_three_sensors_without_a_pair_share_the_error():
    """Three answers at 98.3 and 96.7 %, and no primary pair."""
    made = three()
    assert duels(made) == ((0, 1), (0, 2), (1, 2))
    assert terms(made, 5.0).levels == Confidence(0.983, 0.967)
    assert primary(made, lay_out(made), None).pair is None


def test_a_pair_of_unknown_sensors_is_no_pair():
    """A pair that names a sensor that is gone falls back to all pairs."""
    assert duels(replace(twenty_days(), question=Question("q", pair=("fern", "gone")))) == ((0, 1),)


def test_terms_come_from_the_question():
    """Margin, tolerance, pairs asked, looks and the policy 'none' reach the comparison."""
    question = Question("q", pairs=PairsAsked.ALL, margin=5.0, tolerance=15, looks=2, policy=Policy.NONE)
    asked = terms(replace(twenty_days(), question=question), 4.0)
    assert (asked.steady, asked.margin, asked.tolerance, asked.scatter) == (False, 5.0, 15, 4.0)
    assert asked.uncalibrated
    assert asked.levels == Confidence(0.9706, 0.9393)
    assert not terms(twenty_days(), 4.0).uncalibrated


def test_undeclared():
    """Nothing declared: unknown sticks judge, defaults hold."""
    told = primary(twenty_days(), lay_out(twenty_days()), None)
    assert (told.standing, told.declared, told.fingerprint) == ("undeclared", None, None)
    assert told.sticks == ("plan", "habit", "unknown")
    assert (told.margin, told.tolerance, told.pairs, told.stream) == (3.0, "20/20", "steady", "kept")
    assert told.waking is None
    assert told.sealed_until is None


def test_declared():
    """A declaration before the first reading; its day, sticks, method, fingerprint and hours are told."""
    made = declared(twenty_days(), waking=(420, 1380), end=stamp(MIDNIGHT + 20 * DAY))
    told = primary(made, lay_out(made), None)
    assert told.standing == "declared"
    assert told.sticks == ("plan", "habit")
    assert told.waking == ("07:00", "23:00")
    assert told.fingerprint == "f" * 64
    assert (told.declared.day, told.declared.sticks_before, told.declared.method) == (1, 0, METHOD)
    assert told.sealed_until.time == "2026-03-21T00:00:00+00:00"
    assert (told.looks.declared, told.looks.taken) == (1, 0)
    assert told.deviations == ()


@pytest.mark.parametrize(("at", "before"), [(MIDNIGHT + 2 * HOUR, 0), (MIDNIGHT - DAY, 3)])
def test_declared_late(at, before):
    """After the first reading, or after sticks: declared late."""
    made = twenty_days()
    question = Question("q", declared=Declared(stamp(at), 1, before, METHOD, ""))
    made = replace(made, question=question)
    assert standing(made, lay_out(made)) == "declared late"


def test_explored_beyond_the_declared_end():
    """Sticks that judge after the declared end make the answer explored; a prompted one does not."""
    made = declared(twenty_days(), end=stamp(MIDNIGHT + 10 * DAY))
    assert standing(made, lay_out(made)) == "explored"
    kept = tuple(each for each in made.sticks if each.at.instant < MIDNIGHT + 10 * DAY)
    short = replace(made, sticks=kept)
    assert standing(short, lay_out(short)) == "declared"


def test_sticks_after_the_end_that_meet_no_sensor_are_no_extension():
    """A habit of pricking goes on when the sensors are off: the trial ended all the same."""
    made = declared(twenty_days(), end=stamp(MIDNIGHT + 20 * DAY))
    later = replace(made.sticks[0], id="later", at=stamp(MIDNIGHT + 25 * DAY))
    assert standing(replace(made, sticks=(*made.sticks, later)), lay_out(made)) == "declared"


def test_a_broken_seal_makes_the_answer_explored():
    """Looked at before the declared end, whatever comes after: one look more than declared once the end is reached."""
    made = opened(declared(twenty_days(), end=stamp(MIDNIGHT + 21 * DAY)), 9)
    layout = lay_out(made)
    assert standing(made, layout) == "explored"
    assert looks_taken(made, layout, MIDNIGHT + 10 * DAY) == 1
    assert looks_taken(made, layout, MIDNIGHT + 22 * DAY) == 2


def test_declared_looks_are_no_departure():
    """Two looks declared, one taken on its day and one at the end: declared still; a third look ends that."""
    made = declared(twenty_days(), end=stamp(MIDNIGHT + 20 * DAY), looks=2)
    halfway = Opening("o", stamp(MIDNIGHT + 10 * DAY), 11, look=1)
    looked = replace(made, openings=(halfway,))
    layout, after = lay_out(looked), MIDNIGHT + 20 * DAY
    assert (looks_taken(looked, layout, after - 1), looks_taken(looked, layout, after)) == (1, 2)
    assert standing(looked, layout, after) == "declared"
    more = replace(looked, openings=(halfway, Opening("p", stamp(MIDNIGHT + 15 * DAY), 16)))
    assert looks_taken(more, layout, after) == 3
    assert standing(more, layout, after) == "explored"


def test_a_look_that_ended_the_trial_is_its_end():
    """Ended at a look as declared: declared with what was there; sticks that judge afterwards make it explored."""
    made = declared(twenty_days(), end=stamp(MIDNIGHT + 20 * DAY), looks=2)
    done = replace(made, openings=(Opening("o", stamp(MIDNIGHT + 10 * DAY), 11, look=1, ended=True),))
    assert standing(done, lay_out(done)) == "explored"
    kept = tuple(each for each in made.sticks if each.at.instant < MIDNIGHT + 10 * DAY)
    stopped = replace(done, sticks=kept)
    assert standing(stopped, lay_out(stopped)) == "declared"
    assert looks_taken(stopped, lay_out(stopped), MIDNIGHT + 40 * DAY) == 1


def test_departures_are_told_with_date_and_reason():
    """What was written down after declaring stands in the judgement, in order."""
    made = declared(twenty_days())
    gone = Deviation("d", stamp(MIDNIGHT + 3 * DAY), "strip lot: L1, then L2", "the shop had no other")
    (only,) = primary(replace(made, deviations=(gone,)), lay_out(made), None).deviations
    assert (only.at, only.what, only.why) == (gone.at.iso, gone.what, gone.why)


def test_a_raised_method_is_a_deviation():
    """Declared under another METHOD: listed with both numbers."""
    made = twenty_days()
    question = Question("q", declared=Declared(stamp(MIDNIGHT - DAY), 1, 0, 0, ""))
    made = replace(made, question=question)
    (only,) = primary(made, lay_out(made), None).deviations
    assert f"method {METHOD}" in only.what
    assert "method 0" in only.what

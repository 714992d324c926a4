"""The question as judged: pair, terms, standing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, sensor, stamp, trial
from tests.judge.making import declared, twenty_days

from evenhand.compare.layout import lay_out
from evenhand.findings import METHOD
from evenhand.judge.judge import judge
from evenhand.judge.primary import duels, primary, standing, terms
from evenhand.records.question import Declared, Opening, PairsAsked, Policy, Question
from evenhand.stats.decision import Confidence


def three():
    """Three sensors and nothing else."""
    return trial([sensor(name, place) for place, name in enumerate(("Fern", "Slate", "Moss"))])


def test_two_sensors_are_one_pair():
    """Without a word on it, the first minus the second."""
    assert duels(twenty_days()) == ((0, 1),)
    told = primary(twenty_days(), lay_out(twenty_days()), ended=True)
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
    assert primary(made, lay_out(made), ended=True).pair is None


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
    told = primary(twenty_days(), lay_out(twenty_days()), ended=True)
    assert (told.standing, told.declared, told.fingerprint) == ("undeclared", None, None)
    assert told.sticks == ("plan", "habit", "unknown")
    assert (told.margin, told.tolerance, told.pairs, told.stream) == (3.0, "20/20", "steady", "kept")
    assert told.waking is None
    assert told.sealed_until is None


def test_declared():
    """A declaration before the first reading; its day, sticks, method, fingerprint and hours are told."""
    made = declared(twenty_days(), waking=(420, 1380), end=stamp(MIDNIGHT + 20 * DAY))
    told = primary(made, lay_out(made), ended=False)
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


@pytest.mark.parametrize(
    ("looks", "openings", "expected"),
    [
        (1, 0, "declared"),
        (1, 1, "explored"),
        (2, 1, "declared"),
        (2, 2, "explored"),
        (3, 2, "declared"),
        (3, 3, "explored"),
    ],
)
def test_more_looks_than_declared_end_what_was_declared(looks, openings, expected):
    """The last declared look is that at the end: the seal may be opened before it once less than looks were declared."""
    made = declared(twenty_days(), end=stamp(MIDNIGHT + 20 * DAY), looks=looks)
    each = tuple(Opening(f"o{n}", stamp(MIDNIGHT + n * DAY), n) for n in range(1, openings + 1))
    made = replace(made, openings=each)
    assert standing(made, lay_out(made)) == expected


def test_looks_taken_count_openings_and_the_end():
    """Opened on one day and looked at before the end: one look, not two; at the end, two."""
    made = replace(twenty_days(), openings=(Opening("o", stamp(MIDNIGHT + DAY), 2),))
    assert primary(made, lay_out(made), ended=False).looks.taken == 1
    assert primary(made, lay_out(made), ended=True).looks.taken == 2
    whole = declared(made, end=stamp(MIDNIGHT + 40 * DAY))
    whole = replace(whole, openings=made.openings)
    assert judge(whole).primary.looks.taken == 1
    assert judge(whole, now=MIDNIGHT + 41 * DAY).primary.looks.taken == 2


def test_a_raised_method_is_a_deviation():
    """Declared under another METHOD: listed with both numbers."""
    made = twenty_days()
    question = Question("q", declared=Declared(stamp(MIDNIGHT - DAY), 1, 0, 0, ""))
    made = replace(made, question=question)
    (only,) = primary(made, lay_out(made), ended=True).deviations
    assert f"method {METHOD}" in only.what
    assert "method 0" in only.what

"""Head to head as the contract has it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.compare.making import DAY, MIDNIGHT, stamp, stick
from tests.judge.making import by_sticks as judge
from tests.judge.making import declared, sound, twenty_days

from evenhand.clock import HOUR
from evenhand.judge.pairs import answer
from evenhand.records.diary import Mark, MarkKind, Reason
from evenhand.records.question import Policy
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import Model, World
from evenhand.stats.decision import NOT_SETTLED, Verdict


@pytest.mark.parametrize(
    ("verdict", "who", "beyond"),
    [
        (Verdict("closer", -1, "yes"), "Fern", "yes"),
        (Verdict("closer", 1, "open"), "Slate", "open"),
        (Verdict("equal", 0, "no"), None, "no"),
        (Verdict("equal", 1, "no"), "Slate", "no"),
        (NOT_SETTLED, None, None),
    ],
)
def test_who_is_named(verdict, who, beyond):
    """Below zero the first is closer; equal may name one; not settled names none."""
    told = answer(("Fern", "Slate"), verdict)
    assert (told.state, told.who, told.beyond_margin) == (verdict.state, who, beyond)


def test_every_number_stands():
    """On 20 whole days nothing is missing but the chance (two wears cannot tell it)."""
    (only,) = sound(judge(twenty_days()))["head_to_head"]
    for key in ("difference", "interval_for_equal", "with_prompted", "all_pairs", "mean_square_difference",
                "agreement_difference", "next_ratio"):  # fmt: skip
        assert only[key]["low"] is not None, key
    assert all(only["variances"][key]["low"] is not None for key in ("meter", "a", "b"))
    assert set(only["right_and_present"]) == {"Fern", "Slate"}
    assert only["chance_next_closer"] == {"who": None, "chance": None, "range": None, "why": "two-wears"}
    assert only["next_ratio"]["about"] == "next_sensor"
    assert only["difference"]["about"] == "these_wears"
    assert only["with_marked"] is None
    assert only["uncalibrated"] is None
    assert len(only["between_sensors"]["concurrence"]) == 5
    assert 0 < only["k"] < 1
    assert only["to_settle"]["in"] in ("sticks", "days", "wears", "no")


def test_three_wears_tell_a_chance():
    """Three wears of each: a chance at most 0.85, inside its range."""
    made = invent(World(days=30, wears=3), 3).trial
    chance = judge(made).head_to_head[0].chance_next_closer
    assert chance.why is None
    assert 0.5 <= chance.chance <= 0.85
    assert chance.range[0] <= chance.chance <= chance.range[1] <= 0.85
    assert chance.who in ("Fern", "Slate")


def test_three_sensors_get_three_answers():
    """Three pairs at 98.3 and 96.7 %; with a declared pair that one alone."""
    world = World(sensors=(Model("Fern"), Model("Slate"), Model("Moss")), declared=False)
    made = invent(world, 1).trial
    found = judge(replace(made, question=replace(made.question, pair=None)))
    assert [(each.a, each.b) for each in found.head_to_head] == [
        ("Fern", "Slate"),
        ("Fern", "Moss"),
        ("Slate", "Moss"),
    ]
    assert {each.difference.level for each in found.head_to_head} == {0.983}
    assert {each.interval_for_equal.level for each in found.head_to_head} == {0.967}
    asked = judge(
        replace(made, question=replace(made.question, pair=(made.sensors[2].id, made.sensors[0].id)))
    )
    assert [(each.a, each.b) for each in asked.head_to_head] == [("Moss", "Fern")]
    assert asked.head_to_head[0].difference.level == 0.95


def test_prompted_sticks_never_move_the_answer():
    """In a declared trial prompted and unknown sticks change neither difference nor answer."""
    made = declared(twenty_days())
    more = [
        stick(MIDNIGHT + day * DAY + 13 * HOUR + 7, 40, reason, id=f"odd{day}{reason}")
        for day in range(20)
        for reason in (Reason.PROMPTED,)
    ]
    far = [each for each in more if all(abs(each.at.instant - one.at.instant) > 1800 for one in made.sticks)]
    # sticks that come shortly after these would turn rechecks, which is the rule and not what is tested here
    added = replace(made, sticks=tuple(sorted((*made.sticks, *far), key=lambda each: each.at.instant)))
    one, two = judge(made).head_to_head[0], judge(added).head_to_head[0]
    assert len(far) > 5
    assert one.difference == two.difference
    assert one.answer == two.answer
    assert one.with_prompted != two.with_prompted


def test_marks_set_later_stand_beside():
    """A mark made after the fact takes nothing out of the answer; the answer without stands beside."""
    made = twenty_days()
    late = Mark(MarkKind.UNWASHED, early=False)
    marked = replace(made, sticks=tuple(replace(each, marks=(late,)) if i % 9 == 0 else each for i, each in enumerate(made.sticks)))  # fmt: skip
    one, two = judge(made).head_to_head[0], judge(marked).head_to_head[0]
    assert one.difference == two.difference
    assert two.with_marked is not None
    assert two.with_marked.difference.n < one.difference.n
    early = replace(marked, sticks=tuple(replace(each, marks=(Mark(MarkKind.UNWASHED),)) if each.marks else each for each in marked.sticks))  # fmt: skip
    out = judge(early).head_to_head[0]
    assert out.with_marked is None
    assert out.difference.n <= two.with_marked.difference.n + 5


def calibrated(policy=None):
    """20 days with a calibration of Fern's first wear on day 6."""
    made = declared(twenty_days(), policy=policy)
    at = MIDNIGHT + 5 * DAY + 4 * HOUR + 11
    tuned = stick(at, 120, Reason.CALIBRATION, into="fern", id="cal")
    quiet = [each for each in made.sticks if not at <= each.at.instant <= at + 900]
    return replace(made, sticks=tuple(sorted((*quiet, tuned), key=lambda each: each.at.instant)))


def test_policy_none_takes_what_follows_out_of_the_answer():
    """Where no calibration was to be, the answer rests on what came before it; as the maker says, on all."""
    none, free = (
        judge(calibrated(Policy.NONE)).head_to_head[0],
        judge(calibrated(Policy.FREE)).head_to_head[0],
    )
    assert none.difference.n < free.difference.n
    assert none.difference == none.uncalibrated.difference
    assert free.uncalibrated.difference == none.difference
    assert free.difference != free.uncalibrated.difference


def test_wears_left_out_are_named():
    """A wear with two sticks counts for nothing and is named with its reason."""
    made = twenty_days()
    cut = MIDNIGHT + 10 * DAY
    late = [each for each in made.sticks if each.at.instant >= cut][:2]
    thin = replace(made, sticks=(*(each for each in made.sticks if each.at.instant < cut), *late))
    (only,) = judge(thin).head_to_head
    assert [(each.wear, each.why) for each in only.left_out] == [(2, "few-visits")]


def test_stamp_of_the_second_wear():
    """The made trial has its second wears from day 11 on (guards the test above)."""
    assert stamp(MIDNIGHT + 10 * DAY).iso in {wear.start.iso for wear in twenty_days().wears}

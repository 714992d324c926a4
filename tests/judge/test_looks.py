"""Declared looks: when they fall, that each is taken once, that the answer alone opens, and when it ends the trial."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compare.making import DAY, HOUR, MIDNIGHT, stamp
from tests.judge.making import codes, declared, sound, twenty_days
from tests.judge.test_seal import HIDDEN

from evenhand.judge.judge import judge
from evenhand.judge.looks import SHOWN_FOR, due_look, ends_the_trial, look_times
from evenhand.judge.seal import BESIDE
from evenhand.records.plan import Plan, Wanted
from evenhand.records.question import Opening
from evenhand.stats.decision import confidence

END = MIDNIGHT + 20 * DAY


def looking(looks, *taken, end=END):
    """Twenty declared days with a number of declared looks, some of them taken at an instant."""
    made = declared(twenty_days(), end=stamp(end), looks=looks)
    made = replace(made, plan=Plan(wanted=Wanted(start=stamp(MIDNIGHT))))
    openings = tuple(
        Opening(f"look-{number}", stamp(at), 1, look=number, ended=ended) for number, at, ended in taken
    )
    return replace(made, openings=openings)


def test_looks_fall_at_equal_numbers_of_days():
    """One look: none before the end. Two: halfway. Three: at each third."""
    assert look_times(looking(1)) == ()
    assert look_times(looking(2)) == (MIDNIGHT + 10 * DAY,)
    assert look_times(looking(3)) == (MIDNIGHT + 20 * DAY // 3, MIDNIGHT + 40 * DAY // 3)


def test_looks_are_counted_from_the_plan_the_first_wear_or_the_declaration():
    """Whatever is known of the start, in this order."""
    planned = looking(2)
    assert look_times(planned)[0] == (MIDNIGHT + END) // 2
    worn = replace(planned, plan=Plan())
    first = min(wear.start.instant for wear in worn.wears)
    assert look_times(worn)[0] == (first + END) // 2
    bare = replace(worn, wears=())
    assert look_times(bare)[0] == (bare.question.declared.at.instant + END) // 2
    assert look_times(replace(bare, question=replace(bare.question, declared=None))) == ()


def test_a_look_is_due_once_its_time_has_come():
    """Before its time none is due, then it is, once taken no more; at the end there is nothing left to take."""
    made = looking(3)
    first, second = look_times(made)
    assert due_look(made, first - 1) is None
    assert due_look(made, first) == 1
    assert due_look(made, second) == 2
    assert due_look(made, END) is None
    taken = looking(3, (1, first, False))
    assert due_look(taken, first + DAY) is None
    assert due_look(taken, second) == 2


@given(st.integers(2, 3), st.integers(0, 20 * 24))
def test_a_look_let_pass_is_gone(looks, hours):
    """Never more than one is due, and never one whose successor is due."""
    made = looking(looks)
    now = MIDNIGHT + hours * HOUR
    come = [number for number, at in enumerate(look_times(made), 1) if at <= now]
    assert due_look(made, now) == (come[-1] if come and now < END else None)


def test_at_a_look_the_answer_alone_opens():
    """The answer with its corrected level stands there; of each sensor by itself nothing does. A day later it is
    sealed again."""
    at = MIDNIGHT + 10 * DAY
    made = looking(2, (1, at, False))
    shown = judge(made, now=at)
    plain = sound(shown)
    assert (shown.sealed, len(shown.head_to_head)) == (False, 1)
    assert shown.head_to_head[0].difference.level == 0.9706
    assert all(each[key] is None for each in plain["sensors"] for key in HIDDEN)
    assert "at-look" in codes(shown)
    assert not codes(shown) & BESIDE
    assert shown.primary.opened == ()
    assert not judge(made, now=at + SHOWN_FOR - 1).sealed
    assert judge(made, now=at + SHOWN_FOR).sealed
    assert judge(made, now=at - 1).sealed


def test_a_look_that_ended_the_trial_stays_open():
    """Ended as declared: everything is open from then on."""
    at = MIDNIGHT + 10 * DAY
    found = judge(looking(2, (1, at, True)), now=at + 3 * DAY)
    assert not found.sealed
    assert found.sensors[0].accuracy is not None
    assert "at-look" not in codes(found)


@pytest.mark.parametrize(
    ("state", "beyond", "ends"),
    [("equal", "no", True), ("closer", "yes", True), ("closer", "open", False), ("not settled", None, False)],
)
def test_only_a_settled_answer_ends_the_trial(state, beyond, ends):
    """Closer by more than the margin, or equal; a winner with the margin open goes on to the end."""
    (head,) = judge(twenty_days()).head_to_head
    answer = replace_struct(head.answer, state=state, beyond_margin=beyond)
    assert ends_the_trial([replace_struct(head, answer=answer)]) is ends


def replace_struct(struct, **more):
    """A findings part with other fields."""
    from msgspec.structs import replace as changed

    return changed(struct, **more)


@pytest.mark.parametrize(("looks", "five", "ten"), [(2, 0.0294, 0.0607), (3, 0.0221, 0.0464)])
def test_levels_of_looks_are_those_printed(looks, five, ten):
    """Pocock, Biometrika 1977;64:191-199, Table 1 (nominal levels at 5 %: 0.0294, 0.0221; the row from memory), and at
    10 % 0.0607, 0.0464 (computed)."""
    levels = confidence(looks)
    assert levels.difference == pytest.approx(1 - five)
    assert levels.equal == pytest.approx(1 - ten)


@pytest.mark.parametrize(
    ("looks", "nominal", "alpha"),
    [(2, 0.0294, 0.05), (3, 0.0221, 0.05), (2, 0.0607, 0.10), (3, 0.0464, 0.10)],
)
def test_levels_of_looks_keep_the_error_they_promise(looks, nominal, alpha):
    """Pocock's constants by integrating the joint normal of equally spaced looks anew: the chance that none of them
    names a winner where there is no difference is 95 % (90 % for equal)."""
    import numpy as np
    from scipy.stats import multivariate_normal, norm

    z = norm.isf(nominal / 2)
    at = np.arange(1, looks + 1)
    together = np.sqrt(np.minimum.outer(at, at) / np.maximum.outer(at, at))
    held = multivariate_normal(np.zeros(looks), together).cdf(
        np.full(looks, z), lower_limit=np.full(looks, -z), rng=np.random.default_rng(1)
    )
    assert 1 - held == pytest.approx(alpha, abs=4e-4)

"""Planning as functions: what is saved, when it is drawn anew, what is refused."""

from __future__ import annotations

import pytest
from tests.desk.frozen import Frozen

from evenhand.desk.making import TrialSaid, make_trial
from evenhand.desk.planning import Papers, cheapest_plan, plan, what_next, wish, write_papers
from evenhand.errors import BadValue, CannotPlan, WrongUse
from evenhand.plan import cheapest, tells
from evenhand.store import file as store

FACTS = tuple(
    f"{name}.{fact}"
    for name in ("Fern", "Slate")
    for fact in ("life=10d", "warm_up=1h", "grace=12h", "counts_from=start")
)


@pytest.fixture(autouse=True)
def _few_lives(monkeypatch):
    monkeypatch.setattr(tells, "LIVES", (2, 2))
    monkeypatch.setattr(cheapest, "TRY_LIVES", 8)


@pytest.fixture(name="path")
def _path(tmp_path):
    made = tmp_path / "spring.trial"
    make_trial(made, TrialSaid(("Fern", "Slate"), zone="Europe/Lisbon", settings=FACTS), Frozen())
    return made


START = "start=2026-03-02 09:00"


def test_wishes_and_answers_are_saved_together(path):
    """Each in its own record: what is wanted of the plan, and the question."""
    trial = wish(path, [START, "sticks=5", "waking=8-22", "strips=200", "Fern.price=60"], Frozen())
    assert trial.plan.wanted.sticks == 5
    assert (trial.question.waking, trial.question.strips) == ((480, 1320), 200)
    assert trial.sensor("Fern").price == 60


def test_a_wish_that_changes_nothing_writes_nothing(path):
    """The same twice is one change."""
    wish(path, [START], Frozen())
    before = store.read(path).change
    wish(path, [START], Frozen())
    assert store.read(path).change == before


def test_one_wrong_wish_saves_none(path):
    """Whole or not at all."""
    before = store.read(path).change
    with pytest.raises(BadValue):
        wish(path, ["sticks=5", "days=some"], Frozen())
    assert store.read(path).change == before


def test_the_plan_is_saved_with_what_it_can_tell(path):
    """Progress runs through; what is read back is what was drawn."""
    wish(path, [START], Frozen())
    told = []
    made = plan(path, Frozen(), progress=lambda share, what: told.append((share, what)))
    kept = store.read(path).plan
    assert made.fresh
    assert kept.drawn == made.drawn
    assert kept.tells is not None
    assert told[-1][0] == 1.0


def test_looking_later_draws_nothing(path):
    """A day later the same plan is told as it was drawn."""
    wish(path, [START], Frozen())
    made = plan(path, Frozen())
    again = plan(path, Frozen("2026-03-02 07:00"))
    assert not again.fresh
    assert again.drawn == made.drawn


def test_drawing_again_is_another_drawing(path):
    """Asked for, it is drawn and counted, though nothing differs."""
    wish(path, [START], Frozen())
    first = plan(path, Frozen())
    second = plan(path, Frozen(), again=True)
    assert (first.drawn.number, second.drawn.number) == (1, 2)
    assert first.drawn.minutes == second.drawn.minutes


def test_one_sensor_has_a_plan_and_nothing_to_tell(tmp_path):
    """Wears and sticks, no chances."""
    path = tmp_path / "alone.trial"
    make_trial(path, TrialSaid(("Fern",), zone="Europe/Lisbon", settings=FACTS[:4]), Frozen())
    wish(path, [START], Frozen())
    assert plan(path, Frozen()).trial.plan.tells is None


def test_next_needs_a_plan(path):
    """The cure draws one."""
    with pytest.raises(CannotPlan, match="No plan is drawn yet"):
        what_next(path, Frozen())
    wish(path, [START], Frozen())
    plan(path, Frozen())
    assert what_next(path, Frozen()).next.minute is not None


def test_papers_not_asked_for_are_not_written(path, tmp_path):
    """Only what is named, and its path is told."""
    wish(path, [START], Frozen())
    made = plan(path, Frozen())
    assert write_papers(made, Papers(), Frozen()) == []
    told = write_papers(made, Papers(calendar=tmp_path / "a.ics"), Frozen())
    assert told == [tmp_path / "a.ics"]
    with pytest.raises(WrongUse):
        write_papers(made, Papers(picture=tmp_path / "a.bmp"), Frozen())


def test_the_cheapest_plan_asks_in_the_wearers_unit(path):
    """0.6 mmol/L is 10.8 mg/dL; without a difference five thirds of the margin."""
    wish(path, [START], Frozen())
    _, found = cheapest_plan(path, Frozen(), 50, "0.6 mmol/L")
    assert found.difference == pytest.approx(10.81, abs=0.01)
    _, usual = cheapest_plan(path, Frozen(), 20, None)
    assert usual.difference == 5.0

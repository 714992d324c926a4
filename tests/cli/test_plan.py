"""`evenhand plan`, as it is typed."""

from __future__ import annotations

import json

import pytest

from evenhand.plan import tells
from evenhand.store import file as store

FACTS = [
    "Fern.life=10d", "Fern.warm_up=2h", "Fern.grace=12h", "Fern.counts_from=insertion", "Fern.price=60", "Slate.life=14d",
    "Slate.warm_up=1h", "Slate.counts_from=start", "Slate.price=72.5",
]  # fmt: skip


@pytest.fixture(autouse=True)
def _few_lives(monkeypatch):
    monkeypatch.setattr(tells, "LIVES", (3, 3))


def sets(*settings):
    return [word for one in settings for word in ("--set", one)]


@pytest.fixture(name="spring")
def _spring(desk):
    """A trial of two sensors whose lives are known."""
    desk.done(
        "new",
        "spring.trial",
        "--sensor",
        "Fern",
        "--sensor",
        "Slate",
        "--zone",
        "Europe/Lisbon",
        *sets(*FACTS),
    )
    return desk


def plan(desk, *words):
    return desk.done("plan", "spring.trial", *words)


def test_a_plan_is_drawn_saved_and_told(spring):
    """Wears with their arms and times, sticks, cost, chances, what to mind, what comes next; and the safety lines."""
    said = plan(spring, *sets("start=2026-03-02 09:00", "strip_price=0.4"))
    for words in (
        "drawn with seed",
        "Fern 1",
        "Slate 2",
        "left",
        "right",
        "at drawn minutes",
        "In all",
        "What this plan can tell",
        "About the model: no",
        "treat first",
        "care team",
    ):
        assert words in said.flat
    trial = store.read(spring.folder / "spring.trial")
    assert trial.plan.drawn is not None
    assert trial.plan.tells is not None
    assert str(trial.plan.drawn.seed) in said.out


def test_the_same_plan_is_told_again_and_not_drawn_again(spring):
    """No change is written by looking."""
    plan(spring, *sets("start=2026-03-02 09:00"))
    before = store.read(spring.folder / "spring.trial").change
    plan(spring)
    assert store.read(spring.folder / "spring.trial").change == before


def test_a_changed_wish_draws_anew(spring):
    """Before anything is declared or worn."""
    plan(spring, *sets("start=2026-03-02 09:00"))
    plan(spring, *sets("sticks=4"))
    drawn = store.read(spring.folder / "spring.trial").plan.drawn
    assert drawn.number == 2
    assert len(drawn.minutes) < 90


def test_hours_of_the_question_draw_anew_too(spring):
    """Quiet hours said with 'plan --set' or 'declare --set' alike."""
    plan(spring, *sets("start=2026-03-02 09:00"))
    spring.done("declare", "spring.trial", *sets("quiet=12:00-16:00"))
    plan(spring)
    trial = store.read(spring.folder / "spring.trial")
    assert not any(12 <= trial.zones.stamp(minute).wall.hour < 16 for minute in trial.plan.drawn.minutes)


def test_without_a_start_it_says_what_is_missing_and_keeps_the_rest(spring):
    """The wish is saved, the exit code is 1, the cure names the setting."""
    said = spring("plan", "spring.trial", *sets("sticks=5"))
    assert said.code == 1
    assert "--set start=" in said.err
    assert "is saved" in said.err
    assert store.read(spring.folder / "spring.trial").plan.wanted.sticks == 5


def test_next_is_one_stick_and_one_change(spring):
    """And, before declaring, what the schedule leaves thin."""
    plan(spring, *sets("start=2026-03-02 09:00", "sticks=1"))
    said = plan(spring, "--next")
    trial = store.read(spring.folder / "spring.trial")
    first = trial.zones.stamp(min(trial.plan.drawn.minutes)).wall
    assert f"The next planned stick is {first.day} March, {first:%H:%M}" in said.flat
    assert "Next change:" in said.flat
    assert "Thin in this schedule: first 24 h of Fern" in said.flat
    assert len(said.out.splitlines()) <= 5


def test_next_without_a_plan_is_refused(spring):
    """With the way to one."""
    said = spring("plan", "spring.trial", "--next")
    assert said.code == 1
    assert "No plan is drawn yet" in said.err


def test_next_asks_nothing_on_a_sick_day(spring):
    """The diary says ill: no task."""
    plan(spring, *sets("start=2026-03-02 09:00"))
    spring.done("note", "spring.trial", "ill")
    assert "no planned stick now" in plan(spring, "--next").flat


def test_json_says_the_same(spring):
    """Times with offsets, every stick and wear, chances, cost, why nothing about the model."""
    plan(spring, *sets("start=2026-03-02 09:00"))
    said = json.loads(plan(spring, "--json").out)
    trial = store.read(spring.folder / "spring.trial")
    assert [one["time"] for one in said["sticks"]] == [
        trial.zones.stamp(at).iso for at in trial.plan.drawn.minutes
    ]
    assert {one["sensor"] for one in said["wears"]} == {"Fern", "Slate"}
    assert said["drawn"]["seed"] == trial.plan.drawn.seed
    assert said["tells"]["about_model"] is False
    assert said["tells"]["why"].startswith("About the model: no")
    assert said["cost"]["strips"] == len(said["sticks"]) + sum(one["twice"] for one in said["sticks"])
    assert all(one["text"] for one in said["minded"])
    assert said["misfits"] == []


def test_papers_are_written(spring, tmp_path):
    """Calendar, card and picture, each where it was asked for."""
    plan(spring, *sets("start=2026-03-02 09:00"))
    names = {"--calendar": "a.ics", "--card": "a.pdf", "--picture": "a.png"}
    said = plan(spring, *(word for flag, name in names.items() for word in (flag, str(tmp_path / name))))
    assert said.out.count("Written:") == 3
    heads = {"a.ics": b"BEGIN:VCALENDAR", "a.pdf": b"%PDF-", "a.png": b"\x89PNG"}
    for name, head in heads.items():
        assert (tmp_path / name).read_bytes().startswith(head)
    plan(spring, "--picture", str(tmp_path / "a.svg"))
    assert b"<svg" in (tmp_path / "a.svg").read_bytes()


def test_a_picture_of_another_kind_is_wrong_use(spring, tmp_path):
    """The endings that can be drawn are named."""
    plan(spring, *sets("start=2026-03-02 09:00"))
    said = spring("plan", "spring.trial", "--picture", str(tmp_path / "a.gif"))
    assert said.code == 2
    assert ".svg or .png" in said.err


def test_the_cheapest_plan_is_told_and_nothing_saved(spring):
    """With the settings that take it."""
    plan(spring, *sets("start=2026-03-02 09:00", "strip_price=0.4"))
    before = store.read(spring.folder / "spring.trial").change
    said = plan(spring, "--chance", "60", "--difference", "12 mg/dL")
    assert "The cheapest that reaches naming the closer one 60 % of the time" in said.flat
    assert "To take it: evenhand plan --set days=any --set sticks=" in said.flat
    assert store.read(spring.folder / "spring.trial").change == before


@pytest.mark.parametrize(
    ("chance", "difference"), [("3", "5"), ("100", "5"), ("80", "much"), ("80", "-4"), ("80", "500")]
)
def test_a_chance_or_difference_that_is_none_is_refused(spring, chance, difference):
    """Named, with what would be right."""
    plan(spring, *sets("start=2026-03-02 09:00"))
    said = spring("plan", "spring.trial", "--chance", chance, f"--difference={difference}")
    assert said.code == 1
    assert "for example" in said.err


def test_once_declared_a_wish_is_no_longer_edited(spring):
    """It is refused with the way to say what is done otherwise."""
    plan(spring, *sets("start=2026-03-02 09:00"))
    spring.done(
        "declare",
        "spring.trial",
        *sets("tolerance=20", "margin=3", "policy=none", "driver=nobody", "waking=7-23", "must=none"),
    )
    spring.done("declare", "spring.trial", "--yes")
    said = spring("plan", "spring.trial", *sets("sticks=3"))
    assert said.code != 0
    assert "was declared" in said.err


def test_a_sensor_torn_off_is_seen_and_planned_around(spring):
    """Told at the next look; with --again the rest is laid anew to the same end, the past stays."""
    plan(spring, *sets("start=2026-03-02 09:00", "days=20"))
    path = spring.folder / "spring.trial"
    drawn = store.read(path).plan.drawn
    trial = store.read(path)
    names = {one.id: one.name for one in trial.sensors}
    for wear in drawn.wears:
        if wear.number == 1:
            spring.now.now = wear.started.instant + 3600
            spring.done(
                "wear",
                "spring.trial",
                "--sensor",
                names[wear.sensor],
                "--inserted",
                wear.inserted.iso,
                "--side",
                str(wear.side),
            )
    spring.now.now += 3 * 86_400
    spring.done("wear", "spring.trial", "--sensor", "Fern", "--removed", "now", "--ending", "accident")
    spring.now.now += 60
    said = plan(spring)
    assert "has left the plan" in said.flat
    assert "Fern came off" in said.flat
    again = plan(spring, "--again")
    assert "drawing 2" in again.flat
    assert "has left the plan" not in again.flat
    after = store.read(path).plan.drawn
    assert after.end == drawn.end
    assert after.number == 2

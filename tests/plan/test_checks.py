"""What has to be minded about a plan, and when it no longer fits what was worn."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from tests.plan.making import at, reads, sensor, trial, trials

from evenhand.clock import DAY, HOUR, MINUTE, Stamp
from evenhand.plan.checks import both_warming, dark, no_longer_fits, notes, reads_together
from evenhand.plan.draw import draw
from evenhand.records.plan import Held, SensorPlan
from evenhand.records.question import Driver, Driving, Question
from evenhand.records.sensors import CountsFrom, Ending, Wear

ZONE = "Europe/Berlin"


def minded(made):
    """Notes by code."""
    return {note.code: note for note in notes(made, draw(made, 0))}


def test_the_first_warm_up_is_told():
    """Until the first reading nothing guards the wearer, unless a sensor worn before runs on."""
    note = minded(trial())["nothing-reads-at-first"]
    assert note.span == (at("2026-03-02T09:00"), at("2026-03-02T10:00"))


def test_a_plain_plan_has_no_other_hour_without_a_reading():
    """Neither darkness nor two warm-ups at once are told of it."""
    assert not {"nothing-reads", "both-in-warm-up"} & minded(trial(days=40)).keys()


@settings(max_examples=40, deadline=None)
@given(trials())
def test_darkness_is_found_as_minute_by_minute(made):
    """The stretches without a reading of one sensor alone, worked out from its wears, against every tenth minute."""
    drawn = draw(made, 0)
    one = made.sensors[0].id
    start, end = drawn.wears[0].inserted.instant // 600 * 600, drawn.end.instant
    found = dark(drawn.wears, [one], start, end)
    for moment in range(start, end, 10 * MINUTE):
        assert any(begin <= moment < stop for begin, stop in found) == (not reads(drawn, one, moment))


def test_two_warm_ups_at_once_are_found():
    """Half an hour of overlap is told as that half hour."""
    drawn = draw(trial(), 0)
    one, two = drawn.wears[0], drawn.wears[1]
    shift = one.started.instant + HOUR // 2
    moved = replace(two, inserted=stamp(shift), started=stamp(shift), reads=stamp(shift + HOUR))
    assert both_warming((one, moved)) == [(shift, one.reads.instant)]


def stamp(instant):
    return Stamp.at(instant, ZONE)


def test_a_wear_too_short_to_count_is_told():
    """Three pricked days are the least; 21 days of ten-day sensors leave one day."""
    note = minded(trial(days=21))["too-short-to-count"]
    assert note.number < 25
    assert "too-short-to-count" not in minded(trial(days=24))


def test_early_insertion_says_what_it_costs():
    """Common practice, no source: where life counts from insertion, two wears a day early cost two days in all; where it
    counts from the start, nothing."""
    wish = (SensorPlan("s-0", early=DAY),)
    paid = minded(trial(sensor(0, counts_from=CountsFrom.INSERTION), sensor(1), sensors=wish))
    assert paid["early-costs"].number == pytest.approx(48, abs=1)
    assert "early-costs" not in minded(trial(sensor(0), sensor(1), sensors=wish))


def test_life_left_unused_is_told():
    """A life that ends at night and has no grace is cut by hours at each change."""
    odd = sensor(0, life=10 * DAY + 16 * HOUR, grace=0)
    note = minded(trial(odd, sensor(1, life=14 * DAY), days=24))["life-unused"]
    assert note.sensor == "Fern"
    assert note.number >= 2


@pytest.mark.parametrize(("by", "code"), [(Driving.PUMP, "drives-pump"), (Driving.WEARER, "drives-wearer")])
def test_a_sensor_that_drives_insulin_is_named(by, code):
    """By a pump: not swapped without the care team. By the wearer: a fingerstick decides through warm-ups."""
    made = trial(question=Question("question", driver=Driver(by, "s-1")))
    assert minded(made)[code].sensor == "Slate"


def test_nobody_drives_nothing_is_said():
    """No sensor acted on, no line."""
    made = trial(question=Question("question", driver=Driver(Driving.NOBODY)))
    assert not any(code.startswith("drives") for code in minded(made))


def test_what_is_not_known_is_told():
    """Warm-up, what life counts from where it is inserted early, and whether readings can be got out."""
    bare = sensor(0, warm_up=None, counts_from=None)
    found = minded(trial(bare, sensor(1, exports=False), sensors=(SensorPlan("s-0", early=HOUR),)))
    assert found["warm-up-unknown"].sensor == "Fern"
    assert found["counts-from-unknown"].sensor == "Fern"
    assert found["exports-not-proved"].sensor == "Fern"
    assert found["does-not-export"].sensor == "Slate"


def test_a_sensor_whose_export_is_proved_is_not_mentioned():
    """Proved before the first insertion: nothing to mind."""
    found = minded(trial(sensor(0, exports=True), sensor(1, exports=True)))
    assert not {"exports-not-proved", "does-not-export"} & found.keys()


def test_boxes_are_counted_spares_included():
    """Two wears and a spare take three boxes; two are held."""
    found = minded(trial(sensors=(SensorPlan("s-0", spares=1, held=(Held(2),)),)))
    assert (found["boxes-lacking"].sensor, found["boxes-lacking"].number) == ("Fern", 1)
    enough = minded(trial(sensors=(SensorPlan("s-0", spares=1, held=(Held(3),)),)))
    assert "boxes-lacking" not in enough


def test_a_box_that_expires_before_its_turn_is_told():
    """The second goes in on 12 March; both in the drawer end on the tenth."""
    found = minded(trial(sensors=(SensorPlan("s-0", held=(Held(2, "L", date(2026, 3, 10)),)),)))
    assert found["boxes-expired"].sensor == "Fern"


def test_no_spare_is_told_of_each_sensor_without_one():
    """An early failure leaves its days empty."""
    made = trial(sensors=(SensorPlan("s-0", spares=1),))
    assert [note.sensor for note in notes(made, draw(made, 0)) if note.code == "no-spare"] == ["Slate"]


def test_strips_and_money_that_do_not_reach_are_told():
    """Strips bring the sticks a day down; money too little is told as what is lacking."""
    question = Question("question", strips=80, strip_price=0.5, money=200.0)
    found = minded(trial(sensor(0, price=60.0), sensor(1, price=70.0), question=question))
    assert 3 < found["strips-limit"].number < 4
    assert found["over-money"].number == pytest.approx(2 * 60 + 2 * 70 + 80 * 0.5 - 200, abs=2)


def test_time_in_which_all_read_is_counted():
    """Against every tenth minute."""
    made = trial(days=20)
    drawn = draw(made, 0)
    moments = range(drawn.wears[0].inserted.instant, drawn.end.instant, 10 * MINUTE)
    slow = sum(all(reads(drawn, one.id, moment) for one in made.sensors) for moment in moments)
    assert reads_together(made, drawn) == pytest.approx(slow * 600, rel=0.01)


def under(**last):
    """A plan and the trial two days after its start, Fern's wear as planned but for `last`."""
    made = trial(days=20)
    drawn = draw(made, 0)
    wears = [
        Wear(f"w-{wear.sensor}", wear.sensor, wear.inserted, wear.started, side=wear.side)
        for wear in drawn.wears
        if wear.number == 1
    ]
    wears = [replace(wear, **last) if wear.sensor == "s-0" else wear for wear in wears]
    now = max(wear.started.instant for wear in drawn.wears if wear.number == 1) + 2 * DAY
    return replace(made, wears=tuple(wears), plan=replace(made.plan, drawn=drawn)), drawn, now


def test_what_goes_as_planned_fits():
    """Nothing to say two days in."""
    made, drawn, now = under()
    assert no_longer_fits(made, drawn, now) == ()


def test_a_wear_that_ended_early_no_longer_fits():
    """Torn off on its second day."""
    made, drawn, now = under()
    off = Stamp.at(now, ZONE)
    made, drawn, now = under(removed=off, ending=Ending.ACCIDENT)
    (note,) = no_longer_fits(made, drawn, now + HOUR)
    assert (note.code, note.sensor, note.span[0]) == ("ended-early", "Fern", now)


def test_a_wear_started_hours_otherwise_no_longer_fits():
    """Five hours late is told with both times."""
    first = next(wear for wear in draw(trial(days=20), 0).wears if wear.sensor == "s-0")
    late = Stamp.at(first.started.instant + 5 * HOUR, ZONE)
    made, drawn, now = under(inserted=late, started=late)
    (note,) = no_longer_fits(made, drawn, now)
    assert (note.code, note.span) == ("started-otherwise", (late.instant, first.started.instant))


def test_a_wear_that_is_overdue_or_unplanned_is_told():
    """One not logged a day after its time; one more than there were to be."""
    made, drawn, now = under()
    without = replace(made, wears=made.wears[:1])
    codes = [note.code for note in no_longer_fits(without, drawn, now)]
    assert codes == ["overdue"]
    later = Stamp.at(now, ZONE)
    fewer = replace(drawn, wears=tuple(wear for wear in drawn.wears if wear.sensor != "s-0"))
    assert "worn-unplanned" in [note.code for note in no_longer_fits(made, fewer, later.instant)]

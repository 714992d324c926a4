"""Which sticks are one event, which judge, which are left out."""

import pytest
from tests.compare.making import MIDNIGHT, stick

from evenhand.compare.events import judges, left_out_counts, stick_events, why_not
from evenhand.records.diary import Mark, MarkKind, Reason
from evenhand.units import Beyond, Unit


def at(minutes, value=100, **more):
    return stick(MIDNIGHT + round(minutes * 60), value, **more)


def test_planned_repeat_is_one_event_with_its_stick():
    """A repeat at most 5 min after the stick before it joins it: mean of value and time, reason of the first."""
    (event,) = stick_events([at(0, 100, reason=Reason.PLAN), at(5, 108, repeat=True)])
    assert (event.mg_dl, event.at, event.reason, event.recheck) == (104.0, MIDNIGHT + 150, Reason.PLAN, False)
    assert len(event.sticks) == 2


@pytest.mark.parametrize("minutes", [5.1, 12, 15])
def test_late_repeat_is_a_recheck(minutes):
    """More than 5 min later it stands alone, and within 15 min it is a recheck."""
    first, second = stick_events([at(0), at(minutes, repeat=True)])
    assert (first.recheck, second.recheck) == (False, True)


def test_three_of_one_kind():
    """A repeat of a repeat joins too."""
    (event,) = stick_events([at(0, 90), at(4, 100, repeat=True), at(8, 110, repeat=True)])
    assert (event.mg_dl, event.at) == (100.0, MIDNIGHT + 240)


@pytest.mark.parametrize(("minutes", "recheck"), [(1, True), (15, True), (15.1, False), (60, False)])
def test_recheck_within_fifteen_minutes(minutes, recheck):
    """Any other stick at most 15 min after one before it is a recheck: the first counts."""
    first, second = stick_events([at(minutes, reason=Reason.PLAN), at(0, reason=Reason.HABIT)])
    assert judges(first, declared=True)
    assert judges(second, declared=True) is not recheck


def test_rechecks_chain():
    """Each is measured from the stick before it, itself a recheck or not."""
    assert [event.recheck for event in stick_events([at(0), at(12), at(24), at(50)])] == [
        False, True, True, False,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("reason", "in_declared", "in_undeclared"),
    [
        (Reason.PLAN, None, None),
        (Reason.HABIT, None, None),
        (Reason.UNKNOWN, "unknown", None),
        (Reason.PROMPTED, "prompted", "prompted"),
        (Reason.CALIBRATION, "calibration", "calibration"),
    ],
)
def test_reasons(reason, in_declared, in_undeclared):
    """Plan and habit judge; unknown in an undeclared trial alone; prompted and calibration never."""
    (event,) = stick_events([at(0, reason=reason)])
    assert (why_not(event, declared=True), why_not(event, declared=False)) == (in_declared, in_undeclared)
    assert judges(event, declared=True) is (in_declared is None)
    assert judges(event, declared=False) is (in_undeclared is None)


@pytest.mark.parametrize("kind", [MarkKind.STRIP_ERROR, MarkKind.UNWASHED])
def test_marks_early_and_late(kind):
    """Marked with the value: left out. Marked later: kept, and the mark is told."""
    assert stick_events([at(0, marks=(Mark(kind),))]) == ()
    (event,) = stick_events([at(0, marks=(Mark(kind, early=False),))])
    assert event.marked
    assert judges(event, declared=False)


@pytest.mark.parametrize("early", [True, False])
def test_control_solution_is_no_blood(early):
    """Control solution never counts, whenever it was marked."""
    assert stick_events([at(0, marks=(Mark(MarkKind.CONTROL, early),))]) == ()


def test_after_a_strip_error_the_next_is_no_recheck():
    """A stick that is no event stands before nothing: neither recheck nor repeat."""
    (event,) = stick_events([at(0, 300, marks=(Mark(MarkKind.STRIP_ERROR),)), at(2, 110, repeat=True)])
    assert (event.mg_dl, event.recheck) == (110.0, False)


def test_same_drop_is_a_recheck():
    """A second value from the same drop counts as one."""
    _, second = stick_events([at(0), at(1, marks=(Mark(MarkKind.SAME_DROP),))])
    assert second.recheck
    assert not second.marked


@pytest.mark.parametrize(
    ("value", "unit", "level"),
    [
        (69, Unit.MG_DL, 0), (70, Unit.MG_DL, 1), (180, Unit.MG_DL, 1), (181, Unit.MG_DL, 2),
        (3.8, Unit.MMOL_L, 0), (3.9, Unit.MMOL_L, 1), (10.0, Unit.MMOL_L, 1), (10.1, Unit.MMOL_L, 2),
    ],
)  # fmt: skip
def test_level_in_the_unit_recorded(value, unit, level):
    """10.0 mmol/L is in range though it converts to 180.156; 3.9 is not low."""
    (event,) = stick_events([at(0, value, unit=unit)])
    assert event.level == level


def test_beyond_the_meter():
    """LO and HI keep their side; a mean with one of them does too."""
    low, high = stick_events([at(0, 20, beyond=Beyond.LOW), at(60, 600, beyond=Beyond.HIGH)])
    assert (low.flag, low.level, high.flag, high.level) == (1, 0, 2, 2)
    (both,) = stick_events([at(0, 20, beyond=Beyond.LOW), at(3, 30, repeat=True)])
    assert (both.flag, both.mg_dl) == (1, 25.0)


def test_repeat_in_the_other_unit():
    """Two units in one event: the mean is taken, and judged, in mg/dL."""
    (event,) = stick_events([at(0, 180), at(2, 10.2, unit=Unit.MMOL_L, repeat=True)])
    assert event.mg_dl == pytest.approx((180 + 10.2 * 18.0156) / 2)
    assert event.level == 2


def test_counts_by_code():
    """Every stick that judges nothing is counted once, under one code; members of an event each."""
    sticks = [
        at(0, reason=Reason.PLAN), at(3, reason=Reason.PLAN, repeat=True),
        at(60, reason=Reason.PROMPTED), at(64, repeat=True, reason=Reason.PROMPTED),
        at(120, reason=Reason.CALIBRATION), at(125, reason=Reason.PLAN),
        at(180), at(240, marks=(Mark(MarkKind.CONTROL),)), at(300, marks=(Mark(MarkKind.UNWASHED),)),
    ]  # fmt: skip
    counts = dict(left_out_counts(sticks, stick_events(sticks), declared=True))
    assert counts == {
        "prompted": 2,
        "calibration": 1,
        "recheck": 1,
        "unknown": 1,
        "control": 1,
        "unwashed": 1,
    }
    assert "unknown" not in dict(left_out_counts(sticks, stick_events(sticks), declared=False))

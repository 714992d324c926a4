"""Named splits: which pairs and which minutes."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, stamp, stick, usual

from evenhand.compare import splits
from evenhand.compare.layout import lay_out
from evenhand.records.diary import Reason
from evenhand.records.question import Declared, Question


@pytest.fixture(scope="module")
def made():
    """Two sensors, two wears each of 3 days."""
    return lay_out(usual(6, wear_days=3))


def counts(split):
    return int(split.pairs.sum()), int(split.minutes.sum())


@pytest.mark.parametrize("sensors", [(0,), (1,), (0, 1)])
def test_movement_parts_the_whole(made, sensors):
    """Steady and moving part what has a known movement; rising and falling part the moving."""
    every, steady, moving, rising, falling = (
        counts(splits.whole(made, sensors, name)) for name in ("all", "steady", "moving", "rising", "falling")
    )
    known = ~np.isnan(made.pairs.slope)
    assert steady[0] + moving[0] == int((splits.whole(made, sensors, "all").pairs & known).sum())
    assert steady[1] + moving[1] <= every[1]
    assert (rising[0] + falling[0], rising[1] + falling[1]) == moving


def test_edge_of_steady(made):
    """Exactly 1 mg/dL per minute is moving; no slope is neither."""
    slope = np.array([0.99, 1.0, -1.0, -0.99, np.nan, 3.0])
    rows = replace(
        made.pairs, **{name: getattr(made.pairs, name)[:6] for name in made.pairs.__dataclass_fields__}
    )
    six = replace(made, pairs=replace(rows, slope=slope, judging=np.ones(6, bool), scored=np.ones((6, 2), bool)))  # fmt: skip
    found = {
        name: splits.whole(six, (0,), name).pairs.tolist()
        for name in ("steady", "moving", "rising", "falling")
    }
    assert found["steady"] == [True, False, False, True, False, False]
    assert found["moving"] == [False, True, True, False, False, True]
    assert found["rising"] == [False, True, False, False, False, True]
    assert found["falling"] == [False, False, True, False, False, False]


def test_day_and_night_part_the_undeclared_trial(made):
    """Without a declaration every hour counts, and day and night part it."""
    every, day, night = (counts(splits.whole(made, (0,), name)) for name in ("all", "day", "night"))
    assert (day[0] + night[0], day[1] + night[1]) == every


def test_night_alone_holds_what_is_outside_the_target_hours():
    """Declared waking hours: night sticks count in 'night' alone; quiet hours count nowhere."""
    question = Question(
        "q", waking=(420, 1320), quiet=(780, 840), declared=Declared(stamp(MIDNIGHT), 1, 0, 1, "f")
    )
    trial = usual(6, wear_days=3)
    trial = replace(
        trial, question=question, sticks=tuple(replace(one, reason=Reason.HABIT) for one in trial.sticks)
    )
    made = lay_out(trial)
    minute = ((made.minutes.at - MIDNIGHT) // 60) % 1440
    all_of, day, night = (splits.whole(made, (0,), name) for name in ("all", "day", "night"))
    assert not (all_of.pairs & night.pairs).any()
    assert not (all_of.minutes & night.minutes).any()
    np.testing.assert_array_equal(all_of.minutes, day.minutes)
    assert not all_of.minutes[(minute >= 780) & (minute < 840)].any()
    assert night.minutes[(minute < 420) & made.minutes.have[:, 0]].all()
    assert night.pairs.sum() > 3


@pytest.mark.parametrize("sensors", [(0,), (0, 1)])
def test_phases_part_a_long_wear(made, sensors):
    """In wears over 48 h the three phases part the whole, and day cells may hold a single day."""
    every = counts(splits.whole(made, sensors, "all"))
    parts = [splits.phase(made, sensors, name) for name in splits.PHASES]
    assert np.sum([counts(part) for part in parts], axis=0).tolist() == list(every)
    assert [part.least_days for part in parts] == [1, 1, 1]
    age = made.pairs.age[parts[0].pairs, 0]
    assert (age < DAY).all()


def test_short_wear_is_first_and_last():
    """In a wear under 48 h a pair may be in both; a wear still worn has no last 24 h."""
    trial = usual(3, wear_days=1)
    made = lay_out(trial)
    first, middle, last = (splits.phase(made, (0,), name) for name in splits.PHASES)
    np.testing.assert_array_equal(first.pairs, last.pairs)
    assert not middle.pairs.any()
    worn_on = replace(trial, wears=tuple(replace(one, removed=None) for one in trial.wears))
    still = splits.phase(lay_out(worn_on), (0,), "last_24h")
    assert still.pairs[made.pairs.at > MIDNIGHT + 2 * DAY].sum() == 0


def test_phase_of_two_is_where_both_are_in_it():
    """Head to head, a phase holds only what is in it for both sensors."""
    trial = usual(6, wear_days=3)
    later = tuple(
        replace(one, started=stamp(one.started.instant + 12 * HOUR)) if one.sensor == "slate" else one
        for one in trial.wears
    )
    made = lay_out(replace(trial, wears=later))
    both, one, other = (splits.phase(made, sensors, "first_24h") for sensors in ((0, 1), (0,), (1,)))
    np.testing.assert_array_equal(both.pairs, one.pairs & other.pairs)
    np.testing.assert_array_equal(both.minutes, one.minutes & other.minutes)
    assert 0 < both.minutes.sum() < one.minutes.sum()


def test_levels_by_stick_have_no_minutes(made):
    """By the stick the minutes cannot be counted; the three levels part the whole, alike for every sensor."""
    parts = [splits.level_by_stick(made, (0,), name) for name in splits.LEVELS]
    assert all(part.minutes is None for part in parts)
    total = np.sum([part.pairs for part in parts], axis=0)
    np.testing.assert_array_equal(total, splits.whole(made, (0,), "all").pairs)
    assert (made.pairs.stick[parts[0].pairs] < 70).all()
    assert (made.pairs.stick[parts[2].pairs] > 180).all()


def test_levels_by_sensor_have_minutes(made):
    """By the sensor's own reading minutes are counted too."""
    parts = [splits.level_by_sensor(made, 1, name) for name in splits.LEVELS]
    every = splits.whole(made, (1,), "all")
    np.testing.assert_array_equal(np.sum([part.pairs for part in parts], axis=0), every.pairs)
    np.testing.assert_array_equal(np.sum([part.minutes for part in parts], axis=0), every.minutes)
    assert (made.minutes.reading[parts[2].minutes, 1] > 180).all()


def test_days_and_wears_part_the_whole(made):
    """Every pair and minute lies on one day and in one wear."""
    base = splits.whole(made, (0,), "all")
    days = [splits.on_day(made, base, day) for day in np.unique(made.minutes.day).tolist()]
    wears = [splits.in_wear(made, base, place) for place, worn in enumerate(made.worn) if worn.sensor == 0]
    for parts in (days, wears):
        assert np.sum([counts(part) for part in parts], axis=0).tolist() == list(counts(base))
    assert (days[0].least_days, wears[0].least_days) == (1, 2)


def test_before_and_after_a_calibration():
    """'Uncalibrated' ends with the first calibration of either sensor in its wear; parts are counted from 0."""
    trial = usual(6, wear_days=3)
    at = MIDNIGHT + 30 * HOUR
    calibration = stick(at, 120, Reason.CALIBRATION, into="slate", id="cal")
    made = lay_out(replace(trial, sticks=(*trial.sticks, calibration)))
    base = splits.whole(made, (0, 1), "all")
    free = splits.uncalibrated(made, base)
    np.testing.assert_array_equal(
        free.pairs, base.pairs & ((made.pairs.at <= at) | (made.pairs.at > MIDNIGHT + 3 * DAY))
    )
    alone = splits.whole(made, (1,), "all")
    np.testing.assert_array_equal(splits.in_part(made, alone, 1).pairs, alone.pairs & ~free.pairs)
    assert counts(splits.uncalibrated(made, splits.whole(made, (0,), "all"))) == counts(
        splits.whole(made, (0,), "all")
    )


def test_common_pairs_alone(made):
    """Two sensors: sticks and minutes at which both have a reading."""
    both = splits.whole(made, (0, 1), "all")
    np.testing.assert_array_equal(both.pairs, made.pairs.judging & made.pairs.scored.all(axis=1))
    np.testing.assert_array_equal(both.minutes, made.minutes.have.all(axis=1))


def test_which_sticks_count(made):
    """The sticks that count can be chosen."""
    none = splits.whole(made, (0,), "all", np.zeros(made.pairs.at.size, bool))
    assert counts(none)[0] == 0
    assert counts(none)[1] == counts(splits.whole(made, (0,), "all"))[1]


@pytest.mark.parametrize("sensors", [(0,), (0, 1), (1, 0)])
def test_labels_name_the_wears(made, sensors):
    """A label stands for the wears that run together, and can be read back."""
    base = splits.whole(made, sensors, "all")
    wear = made.pairs.wear[base.pairs]
    for label, row in zip(splits.labels(made, wear, sensors).tolist(), wear.tolist(), strict=True):
        assert splits.wears_in(made, label, sensors) == tuple(row[sensor] for sensor in sensors)


def test_stretches_change_with_either_wear():
    """Staggered wears make as many stretches as pairs of wears that ran together."""
    trial = usual(6, wear_days=3)
    moved = []
    for one in trial.wears:
        if one.sensor == "fern":
            moved.append(one)
        elif one.started.instant > MIDNIGHT:
            moved.append(replace(one, started=stamp(one.started.instant - DAY)))
        else:
            moved.append(replace(one, removed=stamp(one.removed.instant - DAY)))
    made = lay_out(replace(trial, wears=tuple(moved)))
    base = splits.whole(made, (0, 1), "all")
    label = splits.labels(made, made.minutes.wear[base.minutes], (0, 1))
    changes = [label[0], *(after for before, after in pairwise(label.tolist()) if after != before)]
    assert [splits.wears_in(made, int(one), (0, 1)) for one in changes] == [(0, 2), (0, 3), (1, 3)]


def test_first_day(made):
    """Day 1 is the date of the first eligible minute or stick."""
    assert splits.first_day(made) == stamp(MIDNIGHT).day.toordinal()

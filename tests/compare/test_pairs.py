"""Paired points: limits, levels, ages, what the screen showed."""

import numpy as np
import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stamp, stick, trial, wear

from evenhand.compare.layout import lay_out
from evenhand.records.diary import Mark, MarkKind, Reason, Shown
from evenhand.records.question import Declared, Question, Stream
from evenhand.units import Beyond, Glucose, Unit


def one_pair(reading, flag, finger, beyond=None, unit=Unit.MG_DL):
    """The pairs of one stick with one reading beside it."""
    stream = readings([MIDNIGHT + 5 * HOUR], [reading], unit, [flag])
    return lay_out(
        trial(
            [sensor("Fern")],
            [wear("fern", MIDNIGHT, MIDNIGHT + DAY)],
            [stick(MIDNIGHT + 5 * HOUR, finger, unit=unit, beyond=beyond)],
            {"fern": stream},
        )
    ).pairs


@pytest.mark.parametrize(
    ("reading", "flag", "finger", "beyond", "scored"),
    [
        (40, 1, 95, None, True),
        (40, 1, 40, None, True),
        (40, 1, 39, None, False),
        (400, 2, 380, None, True),
        (400, 2, 401, None, False),
        (40, 1, 20, Beyond.LOW, False),
        (60, 0, 20, Beyond.LOW, True),
        (20, 1, 20, Beyond.LOW, False),
        (400, 2, 600, Beyond.HIGH, False),
        (40, 1, 600, Beyond.HIGH, True),
        (39, 0, 38, None, True),
    ],
)
def test_at_the_limit(reading, flag, finger, beyond, scored):
    """A reading beyond the limits stands at the limit; the pair is left out only where the stick lies beyond the same
    limit. LOW against a stick of 95 is off by at least 55 and never silent."""
    pairs = one_pair(reading, flag, finger, beyond)
    assert pairs.scored.tolist() == [[scored]]
    assert pairs.reading[0, 0] == reading
    assert pairs.flag[0, 0] == flag


@pytest.mark.parametrize(
    ("reading", "flag", "unit", "level"),
    [
        (69, 0, Unit.MG_DL, 0), (70, 0, Unit.MG_DL, 1), (180, 0, Unit.MG_DL, 1), (181, 0, Unit.MG_DL, 2),
        (3.8, 0, Unit.MMOL_L, 0), (3.9, 0, Unit.MMOL_L, 1), (10.0, 0, Unit.MMOL_L, 1), (10.1, 0, Unit.MMOL_L, 2),
        (75, 1, Unit.MG_DL, 0), (170, 2, Unit.MG_DL, 2),
    ],
)  # fmt: skip
def test_level_by_the_sensor(reading, flag, unit, level):
    """In the unit recorded; a limit word is always beyond."""
    assert one_pair(reading, flag, 100 if unit is Unit.MG_DL else 5.5, unit=unit).reading_level[0, 0] == level


def test_ages_and_what_is_left():
    """Seconds since start, warm-up included, and until the end; nothing outside a wear or in warm-up."""
    at = np.arange(0, 49 * HOUR, 300)
    made = lay_out(
        trial(
            [sensor("Fern")],
            [wear("fern", MIDNIGHT, MIDNIGHT + 48 * HOUR)],
            [stick(MIDNIGHT + hour * HOUR, 100) for hour in (0.5, 1, 30, 48.5)],
            {"fern": readings(MIDNIGHT + at, np.full(at.size, 100))},
        )
    ).pairs
    assert (made.age[:, 0] / HOUR) == pytest.approx([np.nan, 1, 30, np.nan], nan_ok=True)
    assert (made.left[:, 0] / HOUR) == pytest.approx([np.nan, 47, 18, np.nan], nan_ok=True)
    assert made.wear[:, 0].tolist() == [-1, 0, 0, -1]
    assert made.part[:, 0].tolist() == [-1, 0, 0, -1]
    assert np.isnan(made.reading[[0, 3], 0]).all()


def test_parts_count_calibrations():
    """The calibration stick itself is before; what comes after is another part."""
    at = np.arange(2 * HOUR, 30 * HOUR, 300)
    sticks = [
        stick(MIDNIGHT + 10 * HOUR, 100, Reason.CALIBRATION, into="fern"),
        stick(MIDNIGHT + 9 * HOUR, 100),
        stick(MIDNIGHT + 11 * HOUR, 100),
        stick(MIDNIGHT + 20 * HOUR, 100, Reason.CALIBRATION, into="fern"),
        stick(MIDNIGHT + 25 * HOUR, 100),
    ]
    stream = {"fern": readings(MIDNIGHT + at, np.full(at.size, 100))}
    made = lay_out(trial([sensor("Fern")], [wear("fern", MIDNIGHT, MIDNIGHT + 2 * DAY)], sticks, stream))
    assert made.pairs.part[:, 0].tolist() == [0, 0, 1, 1, 2]
    assert made.pairs.judging.tolist() == [True, False, True, False, True]
    assert not made.pairs.prompted.any()
    assert np.unique(made.minutes.part).tolist() == [0, 1, 2]


def test_prompted_marked_and_hours():
    """Why an event does not judge, which carry a later mark, and which lie outside the target hours."""
    question = Question(
        "q", waking=(420, 1320), quiet=(780, 840), declared=Declared(stamp(MIDNIGHT), 1, 0, 1, "f")
    )
    sticks = [
        stick(MIDNIGHT + 3 * HOUR, 100, Reason.HABIT),
        stick(MIDNIGHT + 8 * HOUR, 100, Reason.PROMPTED),
        stick(MIDNIGHT + 10 * HOUR, 100, Reason.PLAN, marks=(Mark(MarkKind.UNWASHED, early=False),)),
        stick(MIDNIGHT + 13.5 * HOUR, 100),
    ]
    made = lay_out(trial([sensor("Fern")], (), sticks, {}, question=question)).pairs
    assert made.judging.tolist() == [True, False, True, False]
    assert made.prompted.tolist() == [False, True, False, True]
    assert made.marked.tolist() == [False, False, True, False]
    assert made.in_hours.tolist() == [False, True, True, False]
    assert made.night.tolist() == [True, False, False, False]
    assert made.reading.shape == (4, 1)


def test_shown_stream():
    """Where the declared stream is what the screen showed, that is what is paired; movement stays that of the kept
    readings; a stick without a shown value makes no pair."""
    at = np.arange(2 * HOUR, 12 * HOUR, 300)
    shown = [
        (Shown("fern", Glucose(123.0, Unit.MG_DL, "123"), MIDNIGHT),),
        (Shown("fern", Glucose(40.0, Unit.MG_DL, "low", Beyond.LOW), MIDNIGHT),),
        (),
    ]
    sticks = [stick(MIDNIGHT + (3 + 2 * i) * HOUR, 110, shown=one) for i, one in enumerate(shown)]
    made = lay_out(
        trial(
            [sensor("Fern")],
            [wear("fern", MIDNIGHT, MIDNIGHT + DAY)],
            sticks,
            {"fern": readings(MIDNIGHT + at, np.full(at.size, 100))},
            question=Question("q", stream=Stream.SHOWN),
        )
    ).pairs
    assert made.reading[:, 0] == pytest.approx([123.0, 40.0, np.nan], nan_ok=True)
    assert made.flag[:, 0].tolist() == [0, 1, 0]
    assert made.reading_level[:, 0].tolist() == [1, 0, -1]
    assert made.slope == pytest.approx([0, 0, 0])


def test_empty_trial():
    """No sensors with readings, no sticks: empty shapes, no failure."""
    made = lay_out(trial([sensor("Fern"), sensor("Slate", 1)]))
    assert made.pairs.reading.shape == (0, 2)
    assert made.minutes.have.shape == (0, 2)
    assert (made.worn, made.inferred, made.uncovered) == ((), (), (0, 0))

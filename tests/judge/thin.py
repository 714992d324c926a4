"""Trials that hold too little, by name: what every page and sentence has to live with."""

from __future__ import annotations

import numpy as np
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stick, trial, wear

from evenhand.records.diary import Mark, MarkKind, Reason
from evenhand.records.sensors import Ending
from evenhand.units import Beyond

FERN, SLATE = sensor("Fern"), sensor("Slate", 1)


def stream(days=3, value=110.0):
    """Readings every 5 min at one value."""
    at = np.arange(0, days * DAY, 300)
    return readings(MIDNIGHT + at, np.full(at.size, value))


def worn(days=3):
    """One wear of each sensor."""
    return [wear("fern", MIDNIGHT, MIDNIGHT + days * DAY), wear("slate", MIDNIGHT, MIDNIGHT + days * DAY)]


ONE_STICK = [stick(MIDNIGHT + 10 * HOUR, 100)]
THIN = {
    "nothing at all": trial([]),
    "one sensor and nothing else": trial([FERN]),
    "two sensors and nothing else": trial([FERN, SLATE]),
    "sticks alone": trial([FERN, SLATE], sticks=ONE_STICK),
    "no sticks": trial([FERN, SLATE], worn(), [], {"fern": stream(), "slate": stream()}),
    "no readings": trial([FERN, SLATE], worn(), ONE_STICK),
    "no wears": trial([FERN, SLATE], [], ONE_STICK, {"fern": stream(), "slate": stream()}),
    "one stick": trial([FERN, SLATE], worn(), ONE_STICK, {"fern": stream(), "slate": stream()}),
    "one sensor": trial([FERN], worn()[:1], ONE_STICK, {"fern": stream()}),
    "one has no readings": trial([FERN, SLATE], worn(), ONE_STICK, {"fern": stream()}),
    "one reading": trial([FERN, SLATE], worn(), ONE_STICK, {"fern": readings([MIDNIGHT + 10 * HOUR], [99.0])}),
    "never together": trial(
        [FERN, SLATE],
        [wear("fern", MIDNIGHT, MIDNIGHT + DAY), wear("slate", MIDNIGHT + DAY, MIDNIGHT + 2 * DAY)],
        [stick(MIDNIGHT + 10 * HOUR, 100), stick(MIDNIGHT + 34 * HOUR, 100)],
        {"fern": stream(), "slate": stream()},
    ),
    "never started": trial(
        [FERN, SLATE], [wear("fern", MIDNIGHT, ending=Ending.NEVER_STARTED)], ONE_STICK, {"slate": stream()}
    ),
    "one day": trial(
        [FERN, SLATE],
        worn(1),
        [stick(MIDNIGHT + hour * HOUR, 100, id=f"s{hour}") for hour in range(2, 23)],
        {"fern": stream(1), "slate": stream(1, 101.0)},
    ),
    "no spread at all": trial(
        [FERN, SLATE],
        worn(10),
        [stick(MIDNIGHT + hour * HOUR, 100, id=f"s{hour}") for hour in range(2, 240, 3)],
        {"fern": stream(10), "slate": stream(10)},
    ),
    "no error at all": trial(
        [FERN, SLATE],
        worn(10),
        [stick(MIDNIGHT + hour * HOUR, 110, id=f"s{hour}") for hour in range(2, 240, 3)],
        {"fern": stream(10), "slate": stream(10)},
    ),
    "only calibrations": trial(
        [FERN, SLATE],
        worn(),
        [stick(MIDNIGHT + hour * HOUR, 100, Reason.CALIBRATION, into="fern", id=f"s{hour}") for hour in (5, 9)],
        {"fern": stream(), "slate": stream()},
    ),
    "only control solution": trial(
        [FERN, SLATE],
        worn(),
        [stick(MIDNIGHT + 10 * HOUR, 100, marks=(Mark(MarkKind.CONTROL),))],
        {"fern": stream(), "slate": stream()},
    ),
    "beyond the meter": trial(
        [FERN, SLATE],
        worn(),
        [stick(MIDNIGHT + 10 * HOUR, 600, beyond=Beyond.HIGH)],
        {"fern": stream(), "slate": stream()},
    ),
    "only warm-up": trial(
        [FERN, SLATE],
        [wear("fern", MIDNIGHT, MIDNIGHT + 1800), wear("slate", MIDNIGHT, MIDNIGHT + 1800)],
        [stick(MIDNIGHT + 900, 100)],
        {"fern": stream(), "slate": stream()},
    ),
}  # fmt: skip

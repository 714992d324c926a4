"""Target hours and night."""

import numpy as np
import pytest
from tests.compare.making import MIDNIGHT, stamp

from evenhand.compare.hours import night, target_hours
from evenhand.compare.local import Local
from evenhand.records.question import Declared, Question

MINUTES = Local(np.zeros(1440, np.int64), np.arange(1440))


def declared(**more):
    return Question("q", declared=Declared(stamp(MIDNIGHT), 1, 0, 1, "print"), **more)


def test_undeclared_every_hour_counts():
    """Without a declaration every hour is a target hour, and night is 23:00 to 07:00."""
    assert target_hours(Question("q", waking=(480, 1320)), MINUTES).all()
    assert np.flatnonzero(~night(Question("q"), MINUTES)).tolist() == list(range(420, 1380))


def test_declared_waking_less_quiet():
    """Declared waking hours less the quiet ones; quiet hours by day are no night."""
    question = declared(waking=(390, 1320), quiet=(780, 840))
    inside = set(np.flatnonzero(target_hours(question, MINUTES)).tolist())
    assert inside == set(range(390, 1320)) - set(range(780, 840))
    assert not night(question, MINUTES)[780:840].any()


def test_declared_without_hours():
    """Declared without waking hours: 07:00 to 23:00."""
    assert target_hours(declared(), MINUTES).sum() == 16 * 60


@pytest.mark.parametrize("waking", [(1020, 120), (0, 1439)])
def test_waking_over_midnight(waking):
    """Night is whatever is not waking, over midnight too."""
    question = declared(waking=waking)
    assert (night(question, MINUTES) == ~target_hours(question, MINUTES)).all()

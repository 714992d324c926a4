"""Where sensors part and which was right."""

from __future__ import annotations

import numpy as np
import pytest
from tests.compare.making import MIDNIGHT
from tests.compare.paths import STEP, doubtful, exact, own

from evenhand.compare.parted import partings

N = 200
BLOOD = np.full(N, 120.0)


def at(place: int) -> int:
    return MIDNIGHT + STEP * place


def shifted(first: int, after: int, by: float) -> np.ndarray:
    values = BLOOD.copy()
    values[first:after] += by
    return values


def test_the_nearer_one_was_right() -> None:
    """The second sensor leaves, the first stays with blood: the first was right, from the first instant apart to the last."""
    (one,) = partings((own(BLOOD), own(shifted(50, 90, 45.0))), exact(BLOOD), 20.0)
    assert (one.start, one.end) == (at(50), at(89))
    assert one.right == 0
    assert one.chance == 1.0
    (other,) = partings((own(shifted(50, 90, 45.0)), own(BLOOD)), exact(BLOOD), 20.0)
    assert other.right == 1


def test_apart_by_less_than_tolerance_is_together() -> None:
    """20 % of the mean of the two: 24 apart about 120 is not yet parted, 40 apart is."""
    assert partings((own(BLOOD), own(shifted(50, 90, 24.0))), exact(BLOOD), 20.0) == ()
    assert len(partings((own(BLOOD), own(shifted(50, 90, 40.0))), exact(BLOOD), 20.0)) == 1


def test_below_100_the_tolerance_is_in_mg_dl() -> None:
    """About 70 it takes more than 20 mg/dL."""
    low = np.full(N, 70.0)
    near, far = low.copy(), low.copy()
    near[50:90] += 19.0
    far[50:90] += 21.0
    assert partings((own(low), own(near)), exact(low), 20.0) == ()
    assert len(partings((own(low), own(far)), exact(low), 20.0)) == 1


def test_shorter_than_twenty_minutes_is_none() -> None:
    """Four readings five minutes apart span 15 min: no parting; five do."""
    assert partings((own(BLOOD), own(shifted(50, 54, 60.0))), exact(BLOOD), 20.0) == ()
    assert len(partings((own(BLOOD), own(shifted(50, 55, 60.0))), exact(BLOOD), 20.0)) == 1


def test_blood_between_the_two_names_nobody() -> None:
    """One reads as much too high as the other too low, and blood is uncertain: nobody is named, the chance stays low."""
    path = doubtful(BLOOD, 0.1)
    (one,) = partings((own(shifted(50, 90, 20.0)), own(shifted(50, 90, -20.0))), path, 20.0)
    assert one.right is None
    assert 0.5 <= one.chance < 0.9


def test_three_sensors_name_one() -> None:
    """Of three the one nearest to blood is named."""
    sensors = (own(shifted(50, 90, 50.0)), own(shifted(50, 90, -30.0)), own(BLOOD))
    (one,) = partings(sensors, exact(BLOOD), 20.0)
    assert one.right == 2


@pytest.mark.parametrize("sensors", [(own(BLOOD),), (own(BLOOD), own(np.empty(0)))])
def test_one_sensor_alone_never_parts(sensors) -> None:
    """It takes two that read."""
    assert partings(sensors, exact(BLOOD), 20.0) == ()


def test_a_silent_sensor_is_not_apart() -> None:
    """Where one of them has no reading near, they are not apart."""
    silent = own(shifted(50, 90, 60.0))
    kept = np.ones(N, np.bool_)
    kept[50:90] = False
    names = ("at", "mg_dl", "wear", "night", "age", "left")
    cut = type(silent)(*(getattr(silent, name)[kept] for name in names))
    assert partings((own(BLOOD), cut), exact(BLOOD), 20.0) == ()

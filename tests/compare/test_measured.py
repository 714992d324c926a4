"""From a split to a mean: weights by eligible minutes, stretches, fixed weights."""

import numpy as np
import pytest
from tests.compare.making import usual
from tests.stats.visits_twin import slow_visit_mean

from evenhand.compare import splits
from evenhand.compare.layout import lay_out
from evenhand.compare.measured import cells_of, measured


@pytest.fixture(scope="module")
def made():
    return lay_out(usual(9, wear_days=3))


@pytest.mark.parametrize("sensors", [(0,), (0, 1)])
@pytest.mark.parametrize("name", ["all", "steady", "night"])
def test_slow_twin_of_the_whole_way(made, sensors, name):
    """Cells counted minute by minute and a mean by loops give the same."""
    split = splits.whole(made, sensors, name)
    rows = np.flatnonzero(split.pairs)
    label = ["-".join(str(made.pairs.wear[row, one]) for one in sensors) for row in rows]
    cells = {}
    for minute in np.flatnonzero(split.minutes):
        key = "-".join(str(made.minutes.wear[minute, one]) for one in sensors), int(made.minutes.day[minute])
        cells[key] = cells.get(key, 0.0) + 1
    y = np.abs(made.pairs.reading[:, 0] - made.pairs.stick)
    slow = slow_visit_mean(
        y[rows].tolist(), label, made.pairs.day[rows].tolist(), made.pairs.at[rows].tolist(),
        [(wear, day, minutes) for (wear, day), minutes in cells.items()],
    )  # fmt: skip
    found = measured(made, split).mean(y)
    assert found.value == pytest.approx(slow["value"])
    assert found.variance == pytest.approx(found.psi * slow["within"] + slow["phi"] * slow["between"])
    assert 0.5 <= found.psi <= 1.0
    assert slow["days"] - slow["k"] <= found.df <= slow["df"] * (1 + 1e-9)
    assert len(found.left_out) == len(slow["left_out"])


def test_psi_looks_at_every_eligible_minute_of_a_day(made):
    """The moments behind psi are the eligible minutes themselves, wear by wear and day by day."""
    split = splits.whole(made, (0, 1), "all")
    found = cells_of(made, split)
    label = splits.labels(made, made.minutes.wear, (0, 1))
    for wear, day, moments in zip(found.wear, found.day, found.moments(found.wear, found.day), strict=True):
        chosen = split.minutes & (label == wear) & (made.minutes.day == day)
        assert moments.tolist() == made.minutes.at[chosen].tolist()
    assert measured(made, split).visits.spread is not None
    assert measured(made, splits.level_by_stick(made, (0,), "in_range")).visits.spread is None


def test_cells_hold_every_minute(made):
    """Cells add up to the eligible minutes; none where they cannot be counted."""
    split = splits.whole(made, (0, 1), "steady")
    assert cells_of(made, split).minutes.sum() == split.minutes.sum()
    assert cells_of(made, splits.level_by_stick(made, (0,), "above")) is None


def test_wear_weighs_by_its_eligible_minutes(made):
    """However many sticks a wear has, it weighs by its time."""
    split = splits.whole(made, (0,), "all")
    few = split.pairs & ((made.pairs.wear[:, 0] != 1) | (made.pairs.in_hours & ~made.pairs.night))
    found = measured(made, splits.whole(made, (0,), "all", few)).mean(made.pairs.stick)
    minutes = np.bincount(made.minutes.wear[split.minutes, 0])
    assert found.by_wear.weight == pytest.approx(minutes / minutes.sum())


def test_fixed_weights(made):
    """Weights from outside: the weighted mean, phi 1, df S - k."""
    split = splits.level_by_stick(made, (0, 1), "in_range")
    weights = np.linspace(1, 2, made.pairs.at.size)
    found = measured(made, split, weights).mean(made.pairs.stick)
    rows = found.n
    assert rows == split.pairs.sum()
    assert found.value == pytest.approx(
        np.average(made.pairs.stick[split.pairs], weights=weights[split.pairs])
    )
    assert (found.phi, found.df) == (1.0, found.visits - found.k)

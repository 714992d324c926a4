"""Prompted sticks weighed by the time they stand for: cells, weights, and that the excess goes away."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compare.making import sensor, trial

from evenhand.compare.common import Terms, primary
from evenhand.compare.head_to_head import difference
from evenhand.compare.layout import lay_out
from evenhand.compare.prompted import COARSE_EDGES, EDGES, cell_of, cell_weights, with_prompted
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import World
from evenhand.stats.decision import Confidence

TERMS = Terms(steady=True, margin=3.0, tolerance=20, scatter=5.0, levels=Confidence())


@pytest.mark.parametrize(
    ("pair", "cell"),
    [((100, 109.9), 0), ((100, 110), 1), ((100, 125), 2), ((100, 140), 3), ((74.9, 80), 4), ((75, 80), 0), ((60, 120), 7)],
)  # fmt: skip
def test_cells_by_disagreement_and_lower_reading(pair, cell):
    """Under 10, 10 to 25, 25 to 40, from 40 mg/dL apart; those with the lower reading under 75 by themselves."""
    assert cell_of(np.array([pair], float), EDGES).tolist() == [cell]
    assert cell_of(np.array([pair[::-1]], float), EDGES).tolist() == [cell]


def test_coarse_cells():
    """With few pairs: over 25 or not, under 75 or not."""
    pairs = np.array([(100, 110), (100, 130), (70, 80), (70, 99)], float)
    assert cell_of(pairs, COARSE_EDGES).tolist() == [0, 1, 2, 3]


def test_weights_are_minutes_over_sticks():
    """Each stick stands for its share of the cell's eligible minutes."""
    weights = cell_weights(np.array([0, 0, 0, 1, 1]), np.array([0] * 90 + [1] * 10), 4)
    assert weights.tolist() == [30.0, 30.0, 30.0, 5.0, 5.0]


def test_a_poor_cell_joins_its_neighbour():
    """A cell with time and fewer than two sticks joins the one of less disagreement; the first joins the next."""
    joined = cell_weights(np.array([0, 0, 1]), np.array([0] * 60 + [1] * 30), 8)
    assert joined.tolist() == [30.0, 30.0, 30.0]
    first = cell_weights(np.array([1, 1]), np.array([0] * 60 + [1] * 30), 8)
    assert first.tolist() == [45.0, 45.0]


def test_an_empty_half_joins_the_other():
    """Eligible time with low readings and no stick there counts with the cells of the other half."""
    weights = cell_weights(np.array([0, 0, 1, 1]), np.array([0] * 40 + [4] * 20 + [1] * 10), 8)
    assert weights.tolist() == [30.0, 30.0, 5.0, 5.0]


@given(
    st.lists(st.integers(0, 7), min_size=2, max_size=30),
    st.lists(st.integers(0, 7), min_size=1, max_size=200),
)
def test_no_time_is_lost_where_sticks_allow(sticks, minutes):
    """The weights add up to all eligible minutes, whatever the cells: none is dropped and none counted twice."""
    weights = cell_weights(np.array(sticks), np.array(minutes), 8)
    assert weights.sum() == pytest.approx(len(minutes))
    assert (weights >= 0).all()


def test_the_exaggeration_goes_away():
    """Over invented trials with a third of the sticks prompted by disagreement, counting them as planned
    exaggerates the difference; weighed by cells it stays near that of the judging sticks."""
    plain, naive, weighed = [], [], []
    for seed in range(8):
        made = invent(World(prompted=0.35, declared=False), seed).trial
        layout = lay_out(made)
        plain.append(difference(primary(layout, (0, 1), TERMS), TERMS).wide.value)
        weighed.append(with_prompted(layout, (0, 1), TERMS).value)
        pairs = replace(layout.pairs, judging=layout.pairs.judging | layout.pairs.prompted)
        counted = primary(replace(layout, pairs=pairs), (0, 1), TERMS)
        naive.append(difference(counted, TERMS).wide.value)
    off_naive = np.mean(np.abs(np.array(naive) - plain))
    off_weighed = np.mean(np.abs(np.array(weighed) - plain))
    assert off_weighed < off_naive


def test_nothing_to_weigh():
    """Without pairs there is no number, and the reason."""
    found = with_prompted(lay_out(trial([sensor("Fern"), sensor("Slate", 1)])), (0, 1), TERMS)
    assert found.value is None
    assert found.why == "no-pairs"


def test_without_a_prompted_stick_there_is_no_number_for_them():
    """A re-weighted number under the name of prompted sticks would be false where none was taken."""
    from evenhand.compare.common import Terms
    from evenhand.compare.layout import lay_out
    from evenhand.compare.prompted import with_prompted
    from evenhand.rehearse.invent import invent
    from evenhand.rehearse.scenarios import plain, prompted
    from evenhand.stats.decision import confidence

    terms = Terms(True, 3.0, 20, 5.0, confidence(1))
    none = with_prompted(lay_out(invent(plain(), 6).trial), (0, 1), terms)
    assert (none.value, none.why) == (None, "no-prompted")
    assert with_prompted(lay_out(invent(prompted(), 6).trial), (0, 1), terms).value is not None

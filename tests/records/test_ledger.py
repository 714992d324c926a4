"""A ledger kept in runs reads as the rows it stands for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.records.files import Fate, Ledger, LedgerRow, LedgerRun

RUNS = st.lists(
    st.tuples(
        st.integers(1, 50), st.integers(0, 5), st.sampled_from(list(Fate)), st.sampled_from(["", "why"])
    ),
    max_size=8,
)


def made(runs) -> tuple[Ledger, list[LedgerRow]]:
    """A ledger of runs and the rows written out."""
    held = [LedgerRun("f", None, first, first + more, fate, why) for first, more, fate, why in runs]
    rows = [
        LedgerRow("f", None, line, fate, why)
        for first, more, fate, why in runs
        for line in range(first, first + more + 1)
    ]
    return Ledger(held), rows


@given(RUNS)
def test_it_is_the_sequence_of_its_rows(runs):
    """Length, order, numbers from both ends, slices, equality, membership."""
    ledger, rows = made(runs)
    assert list(ledger) == rows
    assert len(ledger) == len(rows)
    assert ledger == rows
    assert [ledger[at] for at in range(len(rows))] == rows
    assert [ledger[at - len(rows)] for at in range(len(rows))] == rows
    assert ledger[1:3] == tuple(rows[1:3])
    assert all(row in ledger for row in rows)
    assert hash(ledger) == hash(made(runs)[0])


@given(RUNS)
def test_counts_and_what_is_left(runs):
    """Counting by fate sums to all; leaving one fate out leaves the others."""
    ledger, rows = made(runs)
    assert sum(ledger.count_of(fate) for fate in Fate) == len(rows)
    assert ledger.but(Fate.KEPT) == tuple(row for row in rows if row.fate is not Fate.KEPT)


@pytest.mark.parametrize("at", [2, -3])
def test_a_number_outside_is_refused(at):
    """As for any sequence."""
    with pytest.raises(IndexError):
        Ledger([LedgerRun("f", None, 1, 2, Fate.KEPT)])[at]


def test_it_differs_from_what_differs():
    """Another length, another row, another thing."""
    ledger = Ledger([LedgerRun("f", None, 1, 2, Fate.KEPT)])
    assert ledger != [LedgerRow("f", None, 1, Fate.KEPT)]
    assert ledger != [LedgerRow("f", None, 1, Fate.KEPT), LedgerRow("f", None, 3, Fate.KEPT)]
    assert ledger != 7

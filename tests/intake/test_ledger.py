"""The ledger of a file: every row once, with its fate and reason, in order."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from evenhand.intake.fates import CODES, Fates
from evenhand.intake.layout import Section
from evenhand.intake.ledger import Ledger
from evenhand.records.files import Fate, LedgerRow


def fates(lines: list[int], sheet: str | None = None) -> Fates:
    """Fates of a section with these lines, none decided."""
    return Fates(Section(sheet, ("a",), (), (), (["x"] * len(lines),), lines))


def test_rows_come_in_the_order_of_the_file():
    """What stands outside of the table is sorted in by line."""
    one = fates([3, 4, 5])
    one.keep(np.array([0, 2]))
    one.set(1, Fate.SET_ASIDE, "no value")
    outside = [
        LedgerRow("f", None, 1, Fate.SET_ASIDE, "before"),
        LedgerRow("f", None, 6, Fate.SET_ASIDE, "footer"),
    ]
    made = Ledger("f", outside, [one])
    assert [(row.line, row.fate.value, row.reason) for row in made] == [
        (1, "set aside", "before"),
        (3, "kept", ""),
        (4, "set aside", "no value"),
        (5, "kept", ""),
        (6, "set aside", "footer"),
    ]


def test_sheets_stay_together():
    """With several sheets the order is that of the sections."""
    first, second = fates([2, 3], "One"), fates([2], "Two")
    first.set_many(np.array([True, True]), Fate.WAITING, "why")
    second.keep(np.array([0]))
    assert [(row.sheet, row.line) for row in Ledger("f", [], [first, second])] == [
        ("One", 2),
        ("One", 3),
        ("Two", 2),
    ]


@given(st.lists(st.sampled_from(list(Fate)), max_size=30))
def test_counts_and_parts_sum(told):
    """Counting, iterating, indexing and slicing say the same."""
    one = fates(list(range(1, len(told) + 1)))
    for row, fate in enumerate(told):
        one.set(row, fate, f"because {fate}")
    made = Ledger("f", [], [one])
    assert [row.fate for row in made] == told
    assert sum(made.count(fate) for fate in Fate) == len(made) == len(told)
    assert tuple(made) == made[:]
    assert [made[at] for at in range(len(made))] == list(made)
    assert [row.fate for row in made.but(Fate.KEPT)] == [fate for fate in told if fate is not Fate.KEPT]
    assert all(made.count(row) >= 1 for row in made)


def test_no_rows():
    """An empty ledger is one."""
    made = Ledger("f", [], [])
    assert (len(made), list(made), made.but(Fate.KEPT)) == (0, [], ())


def test_a_row_has_one_fate():
    """The first one told stays; what is kept for one column is kept, with the remark of the other."""
    one = fates([1, 2])
    one.set(0, Fate.SET_ASIDE, "no value")
    one.set(0, Fate.WAITING, "late")
    one.set(1, Fate.SET_ASIDE, "'x' in 'Slate' is not a value")
    one.keep(np.array([1]))
    rows = list(Ledger("f", [], [one]))
    assert rows[0].fate is Fate.SET_ASIDE
    assert (rows[1].fate, rows[1].reason) == (Fate.KEPT, "'x' in 'Slate' is not a value")
    assert CODES[0] is Fate.KEPT

"""Columns of times, and the order of day and month proven by all rows."""

import datetime as dt

import numpy as np
from tests.intake.helpers import NOW

from evenhand.intake.moments import Order
from evenhand.intake.times import NO_OFFSET, find_order, read_pairs, read_times, stated_offsets


def order_of(cells):
    """The order of one column with lines from 2."""
    return find_order([read_times(cells, None)], [range(2, 2 + len(cells))], NOW)


def test_a_day_above_twelve_proves_the_order_and_names_its_line():
    """The proof is shown with its line."""
    found = order_of(["03/04/2026 07:42", "13/04/2026 07:42"])
    assert found.order is Order.DAY_MONTH
    assert "13/04/2026" in found.evidence
    assert "line 3" in found.evidence


def test_the_same_number_for_day_and_month_needs_no_proof():
    """4 April is 4 April either way."""
    assert order_of(["04/04/2026 07:42"]).order is not None


def test_future_dates_are_no_reading():
    """An order that puts rows after today is out."""
    assert order_of(["05/08/2026 07:42"]).order is Order.MONTH_DAY


def test_a_year_first_two_digit_date_long_ago_is_no_reading():
    """26-03-01 is 2026, not 2001."""
    assert order_of(["26-03-01 07:42"]).order is Order.YEAR_MONTH


def test_one_midnight_is_not_proof_two_are():
    """Readings that run over two midnights show the order; over one they do not."""
    day = [f"03/03/2026 23:{minute}" for minute in (40, 50)] + ["04/03/2026 00:00"]
    assert order_of(day).order is None
    more = [*day, *[f"04/03/2026 23:{minute}" for minute in (40, 50)], "05/03/2026 00:00"]
    assert order_of(more).order is Order.DAY_MONTH


def test_pasted_together_months_do_not_prove_the_wrong_order():
    """Month-first readings over midnights prove month first."""
    rows = [
        f"{month}/{day}/2026 {clock}"
        for month, day, clock in [(3, 3, "23:50"), (3, 4, "00:00"), (3, 4, "23:55"), (3, 5, "00:05")]
    ]
    assert order_of(rows).order is Order.MONTH_DAY


def test_two_proofs_against_each_other_are_told():
    """Both proofs stand in the evidence."""
    found = order_of(["13/04/2026 07:42", "04/14/2026 07:42"])
    assert found.order is None
    assert "13/04/2026" in found.evidence
    assert "04/14/2026" in found.evidence


def test_mixed_forms_in_one_column():
    """ISO, epoch, serial and nonsense beside each other; only nonsense stays unread."""
    times = read_times(["2026-03-01 07:42", "1772347320", "46082.5", "soon", ""], "1900")
    wall, good = times.wall(Order.DAY_MONTH)
    assert good.tolist() == [True, True, True, False, False]
    assert times.absolute.tolist() == [False, True, False, False, False]
    assert wall[0] == int((dt.datetime(2026, 3, 1, 7, 42) - dt.datetime(1970, 1, 1)).total_seconds())
    assert not times.read[3]


def test_dates_and_clocks_in_two_columns():
    """A row is read where both are; midnight datetimes and fractions of a day count."""
    times = read_pairs(
        ["2026-03-01", "2026-03-01 00:00:00", "2026-03-01", "", "46082"],
        ["07:42", "07:42", "0.5", "07:42", "07:42"],
        "1900",
    )
    wall, good = times.wall(Order.DAY_MONTH)
    assert good.tolist() == [True, True, True, False, True]
    assert wall[0] == wall[1] == wall[4]
    assert wall[2] - wall[0] == (12 - 7) * 3600 - 42 * 60


def test_stated_offsets_do_not_overrule_the_cell():
    """An offset in the cell stays; another column's fills the rest."""
    times = stated_offsets(read_times(["2026-03-01T07:42+02:00", "2026-03-01T07:42"], None), [3600, 3600])
    assert times.offset.tolist() == [7200, 3600]
    assert stated_offsets(times, [None, None]).offset.tolist() == [7200, 3600]
    assert NO_OFFSET not in np.array(times.offset)

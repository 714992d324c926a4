"""The fate of every row, kept in runs."""

from hypothesis import given
from hypothesis import strategies as st
from tests.store.making import T0, Change, beginning, header, intake, source

from evenhand.records.files import Fate, LedgerRow
from evenhand.store import file, ledger

ROWS = st.lists(
    st.builds(
        LedgerRow, st.sampled_from(["f", "g"]), st.sampled_from([None, "", "1"]), st.integers(1, 9),
        st.sampled_from(Fate), st.sampled_from(["", "why"]),
    )
)  # fmt: skip


@given(ROWS)
def test_runs_hold_every_row(rows):
    """Unfolding the runs gives back exactly the rows, in their order."""
    unfolded = [
        LedgerRow(file, sheet, line, Fate(fate), reason)
        for file, sheet, first, last, fate, reason in ledger.runs(rows)
        for line in range(first, last + 1)
    ]
    assert unfolded == rows


def test_ten_thousand_kept_rows_are_one_run():
    """A long file costs no more room than a short one."""
    assert len(list(ledger.runs(intake(1, 10_000).ledger))) == 3


def test_the_ledger_is_given_back(tmp_path):
    """Every row of every file has its fate, in order."""
    path = tmp_path / "a.trial"
    file.create(path, header(), beginning())
    file.write(path, intake(1))
    file.write(path, intake(2))
    assert file.ledger(path) == [*intake(1).ledger, *intake(2).ledger]


def test_the_newest_word_on_a_row_holds_until_it_is_undone(tmp_path):
    """A second intake of a file may decide a waiting row; undoing it makes the row wait again."""
    path = tmp_path / "a.trial"
    file.create(path, header(), beginning())
    first = (LedgerRow("f-1", None, 1, Fate.KEPT), LedgerRow("f-1", None, 2, Fate.WAITING, "clock"))
    file.write(path, Change("first", T0, records=(source(1),), ledger=first))
    file.write(path, Change("second", T0, ledger=(LedgerRow("f-1", None, 2, Fate.KEPT),)))
    assert file.ledger(path) == [first[0], LedgerRow("f-1", None, 2, Fate.KEPT)]
    file.undo(path, None, T0)
    assert file.ledger(path) == list(first)

"""A proposal as a person reads it."""

from tests.desk.frozen import LISBON, Frozen

from evenhand.cli.proposed import LINES_NAMED, REASONS_NAMED, _counts, _end, _part, _reasons
from evenhand.clock import Stamp, Zones
from evenhand.desk.intaking import TakenIn
from evenhand.intake.ask import Asked
from evenhand.intake.proposal import Part, Proposal
from evenhand.records.change import Change
from evenhand.records.files import Fate, LedgerRow

NOW = Frozen("2026-03-01 08:00").now
ZONES = Zones(LISBON)


def proposal(**told):
    settled = {
        "name": "fern.csv", "sha256": "0" * 64, "size": 9, "rows": 5, "counts": {Fate.KEPT: 3, Fate.WAITING: 2}, "ledger": (),
        "first_rows": (), "parts": (), "guesses": (), "questions": (), "proposals": (), "notes": (), "zone": LISBON, "change": None,
    }  # fmt: skip
    return Proposal(**(settled | told))


def test_counts_name_only_what_there_is():
    """Rows, kept, and each other fate that occurs."""
    assert _counts(proposal()) == "fern.csv: 5 rows, 3 kept, 2 waiting."
    every = {Fate.KEPT: 1, Fate.DOUBLED: 1, Fate.WAITING: 1, Fate.SET_ASIDE: 2}
    assert _counts(proposal(counts=every)).endswith(
        "1 kept, 1 held already or twice in the file, 1 waiting, 2 set aside."
    )


def test_reasons_come_once_with_their_first_lines():
    """Most frequent first; a few lines named, the rest hinted at; too many reasons are counted."""
    rows = [LedgerRow("f", None, number, Fate.SET_ASIDE, "no value") for number in range(2, 9)]
    rows.insert(0, LedgerRow("f", None, 1, Fate.DOUBLED, "held already"))
    first, second = _reasons(rows)
    assert first == "7 set aside: no value (lines 2, 3, 4, 5, ...)"
    assert second == "1 doubled: held already (line 1)"
    assert LINES_NAMED == 4
    many = [LedgerRow("f", None, number, Fate.SET_ASIDE, f"reason {number}") for number in range(30)]
    told = _reasons(many)
    assert len(told) == REASONS_NAMED + 1
    assert told[-1].startswith("10 more, for other reasons")


def test_a_part_says_span_step_units_and_gaps():
    """Everything that helps to see whether the file was read rightly."""
    first, last = Stamp.at(NOW - 86_400, LISBON), Stamp.at(NOW, LISBON)
    part = Part(
        "Fern",
        280,
        2,
        first,
        last,
        300,
        ((NOW - 7200, NOW - 3600), (NOW - 3000, NOW - 1000)),
        {"mg/dL": 280},
        3,
        0,
    )
    assert _part(part, NOW, ZONES) == (
        "Fern: 280 new, 2 held already, from 08:00 yesterday, Saturday 28 February to 08:00 today, Sunday 1 March, one every "
        "5 min, 280 in mg/dL, 3 low. 2 gaps, the longest 1 h from 06:00 today, Sunday 1 March."
    )
    empty = Part("meter", 0, 4, None, None, None, (), {}, 0, 0)
    assert _part(empty, NOW, ZONES) == "meter: 0 new, 4 held already."


def test_the_end_says_what_became_of_it():
    """Written, open, nothing new, or waiting for --yes."""

    def end(found, change=None, wanted=False):
        return _end(TakenIn(found, None, change, ""), wanted=wanted)

    question = Asked("order", "Which?", ("a", "b"), "order=ORDER")
    assert (
        end(proposal(change=Change("x", 0)), 7, True)
        == "Taken in, as change 7. 'evenhand undo' takes it back."
    )
    assert end(proposal(questions=(question,)), wanted=True) == "Nothing was written: 1 question is open."
    assert end(proposal(questions=(question, question))) == "Nothing was written: 2 questions are open."
    assert end(proposal()) == "Nothing was written: the file adds nothing to the trial."
    assert end(proposal(change=Change("x", 0))) == "Nothing was written yet. Take it in with --yes."

"""The same thing twice: pairs of files, with the fate of every row of the second and what the trial holds afterwards.

The expectations were written by hand, none by the code under test.
"""

import dataclasses
import datetime as dt
import json
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from tests.intake.helpers import NOW, a_trial, after, new_ids

from evenhand.clock import Stamp
from evenhand.intake.propose import propose
from evenhand.records.diary import Reason, Stick
from evenhand.records.files import Fate
from evenhand.units import Glucose, parse_unit

FOLDER = Path(__file__).parent.parent / "files" / "twice"
CASES = sorted(FOLDER.glob("*.expected.json"))


def typed(entries):
    """Sticks typed by hand at wall times in Berlin: 'VALUE' in mg/dL or 'VALUE UNIT'."""
    made = []
    for number, (when, value) in enumerate(entries):
        text, _, unit = value.partition(" ")
        wall = dt.datetime.fromisoformat(when).replace(tzinfo=ZoneInfo("Europe/Berlin"))
        instant = int(wall.timestamp())
        glucose = Glucose(float(text), parse_unit(unit or "mg/dL"), text)
        made.append(
            Stick(f"typed{number}", Stamp.at(instant, "Europe/Berlin"), glucose, Reason.UNKNOWN, instant)
        )
    return tuple(made)


def check(proposal, expected):
    """Counts, every row that is not kept with its reason, and the sum of fates."""
    assert [asked.code for asked in proposal.questions] == expected.get("questions", [])
    assert proposal.rows == sum(proposal.counts.values()) == len(proposal.ledger)
    if proposal.questions:
        assert proposal.change is None
        return
    told = [(row.line, row.reason) for row in proposal.not_kept()]
    assert proposal.kept == expected["kept"], told
    assert proposal.counts[Fate.DOUBLED] == expected["doubled"], told
    assert [line for line, _ in told] == [line for line, _ in expected["not_kept"]], told
    for (_, reason), (_, part) in zip(told, expected["not_kept"], strict=True):
        assert part in reason
    assert [one.set for one in proposal.proposals] == expected.get("proposals", [])


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name.removesuffix(".expected.json"))
def test_pair(case: Path):
    """The first file, then the second, then the second once more: that adds nothing."""
    expected = json.loads(case.read_text(encoding="utf-8"))
    trial = dataclasses.replace(a_trial(), sticks=typed(expected.get("typed", [])))
    said = expected.get("set", [{}, {}])
    for turn, name in enumerate(expected["files"]):
        data = (FOLDER / name).read_bytes()
        proposal = propose(data, name, trial, expected["of"][turn], said[turn], new_ids(f"t{turn}-"), NOW)
        check(proposal, expected[("first", "second")[turn]])
        if proposal.questions:
            return
        trial = trial if proposal.change is None else after(trial, proposal.change)
    if "readings" in expected:
        assert sum(map(len, trial.readings.values())) == expected["readings"]
    if "sticks" in expected:
        assert len(trial.sticks) == expected["sticks"]
    again = propose(data, name, trial, expected["of"][1], said[1], new_ids("again-"), NOW)
    assert again.kept == 0, [(row.line, row.fate, row.reason) for row in again.ledger]


def test_there_are_enough_pairs():
    """The folder holds at least thirty."""
    assert len(CASES) >= 30

"""Small files named after what is odd about their times, in zones of both hemispheres, each with what is expected.

The expectations were written by hand, none by the code under test; offsets are those of the IANA zone data.
"""

import json
from pathlib import Path

import pytest
from tests.intake.helpers import NOW, a_trial, new_ids, readings_of

from evenhand.intake.propose import propose

FOLDER = Path(__file__).parent.parent / "files" / "times"
CASES = sorted(FOLDER.glob("*.expected.json"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name.removesuffix(".expected.json"))
def test_time_quirk(case: Path):
    """Each file is placed exactly as written beside it; what is proposed is what is expected, and never applied."""
    expected = json.loads(case.read_text(encoding="utf-8"))
    trial = a_trial(expected["zone"])
    data = (FOLDER / expected["file"]).read_bytes()
    found = propose(data, expected["file"], trial, expected["of"], expected.get("set", {}), new_ids(), NOW)
    assert found.questions == ()
    told = [(row.line, row.reason) for row in found.not_kept()]
    assert found.kept == expected["kept"], told
    assert found.rows == sum(found.counts.values()) == len(found.ledger)
    wanted = expected.get("set_aside", [])
    assert [line for line, _ in told] == [line for line, _ in wanted], told
    for (_, reason), (_, part) in zip(told, wanted, strict=True):
        assert part in reason
    if "readings" in expected:
        assert readings_of(found, trial) == expected["readings"]
    if "proposals" in expected:
        assert [one.set for one in found.proposals] == expected["proposals"]
        assert [one.set for one in found.change.records[0].open_proposals] == expected["proposals"]


def test_there_are_enough_times():
    """The folder holds at least thirty."""
    assert len(CASES) >= 30

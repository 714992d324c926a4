"""One contract test for every reader: a folder of small files named after their quirk, each with what is expected.

The expectations were written by hand, none by the code under test.
"""

import json
from pathlib import Path

import pytest
from tests.intake.helpers import NOW, a_trial, events_of, new_ids, readings_of, sticks_of

from evenhand.errors import EvenhandError
from evenhand.intake.propose import propose
from evenhand.records.files import Fate

FOLDER = Path(__file__).parent.parent / "files" / "intake"
CASES = sorted(FOLDER.glob("*.expected.json"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name.removesuffix(".expected.json"))
def test_quirk(case: Path):
    """Each file is read exactly as written beside it, asked about, or refused; and its fates sum."""
    expected = json.loads(case.read_text(encoding="utf-8"))
    trial = a_trial()
    data = (FOLDER / expected["file"]).read_bytes()

    def take():
        return propose(
            data,
            f"folder/{expected['file']}",
            trial,
            expected.get("of"),
            expected.get("set", {}),
            new_ids(),
            NOW,
        )

    if "error" in expected:
        _refused(take, expected)
        return
    proposal = take()
    assert [asked.code for asked in proposal.questions] == expected.get("questions", [])
    _fates_sum(proposal)
    if proposal.questions:
        assert proposal.change is None
        return
    assert proposal.kept == expected["kept"], [(row.line, row.reason) for row in proposal.not_kept()]
    assert proposal.counts[Fate.DOUBLED] == expected.get("doubled", 0)
    told = [(row.line, row.reason) for row in proposal.not_kept()]
    wanted = expected.get("set_aside", [])
    assert [line for line, _ in told] == [line for line, _ in wanted], told
    for (_, reason), (_, part) in zip(told, wanted, strict=True):
        assert part in reason
    if "readings" in expected:
        assert readings_of(proposal, trial) == expected["readings"]
    assert sticks_of(proposal) == expected.get("sticks", [])
    if "events" in expected:
        assert events_of(proposal) == expected["events"]


def _refused(take, expected):
    with pytest.raises(EvenhandError) as caught:
        take()
    error = caught.value
    assert error.code == expected["error"]["code"]
    assert expected["error"]["found"] in error.found
    assert expected["error"].get("cure", "") in error.cure
    assert error.code != "bad-file" or error.place.file == expected["file"]
    if "line" in expected["error"]:
        assert error.place.line == expected["error"]["line"]


def _fates_sum(proposal):
    told = proposal.to_json()
    assert (
        told["rows"]
        == told["kept"] + len(told["set_aside"])
        == sum(proposal.counts.values())
        == len(proposal.ledger)
    )
    assert len({(row.sheet, row.line) for row in proposal.ledger}) == len(proposal.ledger)


def test_there_are_enough_quirks():
    """The folder holds at least 120 files."""
    assert len(CASES) >= 120

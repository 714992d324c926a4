"""A judgement is made once for an edition."""

import pytest
from tests.desk.frozen import Frozen

from evenhand.desk import judging
from evenhand.desk.judging import judge_trial
from evenhand.desk.rehearsal import RehearsalSaid
from evenhand.desk.rehearsing import rehearse
from evenhand.desk.sticks import StickSaid, log_stick, understood_value
from evenhand.errors import TrialFileReadOnly
from evenhand.findings.edge import to_json
from evenhand.store import file as store


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A small rehearsed trial."""
    return rehearse(tmp_path_factory.mktemp("judging") / "r", RehearsalSaid(3, 1, 6, 5), Frozen()).trial


@pytest.fixture
def path(made, tmp_path):
    """A copy of it that may be changed."""
    copy = tmp_path / "x.trial"
    copy.write_bytes(made.read_bytes())
    return copy


def test_the_second_time_it_comes_from_the_file(path):
    """The same bytes, and nothing is measured again."""
    first, second = judge_trial(path, Frozen()), judge_trial(path, Frozen())
    assert (first.stored, second.stored) == (False, True)
    assert to_json(first.findings) == to_json(second.findings)
    assert first.findings.edition == store.edition(path)


def test_a_new_record_is_a_new_judgement(path):
    """A stick changes the edition, so the trial is judged anew."""
    first = judge_trial(path, Frozen())
    trial = store.read(path, readings=False)
    log_stick(path, trial, understood_value("110", trial), StickSaid(at="2026-02-03 12:00"), Frozen())
    second = judge_trial(path, Frozen())
    assert not second.stored
    assert second.findings.edition != first.findings.edition
    assert second.findings.meter.sticks == first.findings.meter.sticks + 1


def test_what_is_kept_of_another_contract_is_judged_again(path):
    """A stored judgement that does not fit the contract is not shown."""
    store.put_findings(path, store.edition(path), b'{"contract": 0}')
    assert not judge_trial(path, Frozen()).stored


def test_a_trial_that_cannot_be_written_is_judged_all_the_same(path, monkeypatch):
    """Keeping the judgement only saves time."""

    def refuse(*_args):
        raise TrialFileReadOnly("The trial file may not be written.", "Check its permissions.")

    monkeypatch.setattr(store, "put_findings", refuse)
    assert judge_trial(path, Frozen()).findings.trial
    assert not judge_trial(path, Frozen()).stored


def test_nothing_to_open_is_recorded_nowhere(path):
    """Without a seal --open changes nothing."""
    change = store.read(path).change
    judged = judge_trial(path, Frozen(), open_seal=True)
    assert not judged.opened
    assert store.read(path).change == change


def test_opening_a_seal_is_recorded_and_judged_open(path, monkeypatch):
    """A sealed trial: its judgement is not kept, and opening it is a change with its day."""
    real = judging.judge
    calls = []

    def sealing(trial, progress, now, *, pool):
        calls.append(trial.openings)
        found = real(trial, progress, now, pool=pool)
        return found if trial.openings else replaced(found)

    def replaced(found):
        import msgspec

        return msgspec.structs.replace(found, sealed=True)

    monkeypatch.setattr(judging, "judge", sealing)
    assert judge_trial(path, Frozen()).findings.sealed
    assert store.get_findings(path, store.edition(path)) is None
    judged = judge_trial(path, Frozen("2026-02-04 12:00"), open_seal=True)
    assert (judged.opened, judged.findings.sealed) == (True, False)
    (opening,) = store.read(path).openings
    assert (opening.day, opening.at.iso) == (3, "2026-02-04T12:00:00+00:00")
    assert store.history(path)[-1].what == "opened the seal"


def test_progress_is_told(path):
    """Shares run from 0 to 1, each with what is being done."""
    told = []
    judge_trial(path, Frozen(), progress=lambda share, what: told.append((share, what)))
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert all(what for _, what in told)

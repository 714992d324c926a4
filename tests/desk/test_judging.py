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


def sealed_trial(path, end, looks=1, first="2026-02-01 00:00"):
    """The rehearsed trial declared the evening before it began, its sticks planned, until an end."""
    from dataclasses import replace
    from datetime import datetime

    from evenhand.clock import Stamp
    from evenhand.records.change import Change
    from evenhand.records.diary import Reason
    from evenhand.records.question import Declared

    trial = store.read(path)

    def at(wall):
        return Stamp.at(int(datetime.fromisoformat(f"{wall}+00:00").timestamp()), trial.header.zone)

    question = replace(
        trial.question, declared=Declared(at(first), 1, 0, 1, "f" * 64), end=at(end), looks=looks,
        pair=(trial.sensors[0].id, trial.sensors[1].id),
    )  # fmt: skip
    sticks = tuple(replace(stick, reason=Reason.PLAN) for stick in trial.sticks)
    store.write(path, Change("declared", trial.header.made, (question, *sticks)))
    return store.read(path)


def test_a_declared_trial_is_sealed_whatever_the_clock_of_the_file(path):
    """Before its end nothing tells, and nothing that tells is kept; at its end it opens by itself."""
    sealed_trial(path, "2026-02-20 00:00")
    before = judge_trial(path, Frozen("2026-02-10 12:00"))
    assert before.findings.sealed
    assert store.get_findings(path, store.edition(path)) is None
    after = judge_trial(path, Frozen("2026-02-20 00:00"))
    assert not after.findings.sealed
    assert after.findings.primary.standing == "declared"


def test_breaking_the_seal_cannot_be_taken_back(path):
    """What was looked at cannot be unseen: undo refuses it, whichever way it is asked, and the answer says so for good."""
    from evenhand.errors import NothingToUndo

    sealed_trial(path, "2026-02-20 00:00")
    opened = judge_trial(path, Frozen("2026-02-10 12:00"), open_seal=True)
    assert (opened.opened, opened.look, opened.findings.sealed) == (True, None, False)
    assert opened.findings.primary.standing == "explored"
    for number in (None, store.history(path)[-1].number):
        with pytest.raises(NothingToUndo, match="cannot be unseen"):
            store.undo(path, number, 0)
    assert len(store.read(path).openings) == 1
    assert judge_trial(path, Frozen("2026-02-21 12:00")).findings.primary.standing == "explored"


def test_a_declared_look_opens_the_answer_alone_and_closes_again(path):
    """Taken on its day it is no broken seal; what it showed is not kept in the file, so that a day later it is gone."""
    trial = sealed_trial(path, "2026-02-20 00:00", looks=2)
    from evenhand.judge.looks import look_times

    (due,) = look_times(trial)
    now = Frozen("2026-02-11 12:00")
    assert due <= now.now
    looked = judge_trial(path, now, open_seal=True)
    assert (looked.opened, looked.look, looked.findings.sealed) == (True, 1, False)
    assert looked.findings.head_to_head
    assert all(sensor.accuracy is None for sensor in looked.findings.sensors)
    assert store.get_findings(path, store.edition(path)) is None
    assert store.history(path)[-1].what == "took declared look 1"
    now.tick(3600)
    assert judge_trial(path, now).findings.head_to_head
    now.tick(86_400)
    assert judge_trial(path, now).findings.sealed
    again = judge_trial(path, now, open_seal=True)
    assert (again.look, again.findings.primary.standing) == (None, "explored")


def test_a_look_whose_answer_settles_ends_the_trial(path, monkeypatch):
    """Closer by more than the margin, or equal: recorded with the look, and everything is open from then on."""
    sealed_trial(path, "2026-02-20 00:00", looks=2)
    monkeypatch.setattr(judging, "ends_the_trial", bool)
    now = Frozen("2026-02-11 12:00")
    assert judge_trial(path, now, open_seal=True).ended
    now.tick(5 * 86_400)
    later = judge_trial(path, now)
    assert not later.findings.sealed
    assert later.findings.sensors[0].accuracy is not None
    assert later.findings.primary.standing == "declared"
    assert (later.findings.primary.looks.declared, later.findings.primary.looks.taken) == (2, 1)

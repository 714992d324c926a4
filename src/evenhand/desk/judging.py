"""Judging a trial: once for an edition, afterwards from the trial file."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import msgspec

from evenhand.desk.now import Now
from evenhand.desk.progress import Progress, silent
from evenhand.desk.second_core import second_core
from evenhand.errors import DiskFull, TrialFileBusy, TrialFileReadOnly
from evenhand.findings.edge import from_json, to_json
from evenhand.findings.findings import Findings
from evenhand.judge.judge import judge
from evenhand.judge.looks import due_look, ends_the_trial
from evenhand.records.change import Change
from evenhand.records.question import Opening
from evenhand.records.trial import Trial
from evenhand.store import file as store


@dataclass(frozen=True, slots=True)
class Judged:
    """A judgement, the trial it was made from, whether it came from the trial file, and whether the seal was
    opened for it just now; `look` is the number of the declared look that this was, None where the seal was broken."""

    findings: Findings
    trial: Trial
    stored: bool
    opened: bool
    look: int | None = None
    ended: bool = False


def judge_trial(
    path: Path, now: Now, *, open_seal: bool = False, sticks_only: bool = False, progress: Progress = silent
) -> Judged:
    """The judgement of the trial as it is now. `open_seal` breaks the seal, where there is one, and records
    that. `sticks_only` leaves the reconstruction out; such a judgement is not kept."""
    trial = store.read(path)
    findings, stored = _findings(path, trial, now, progress, sticks_only=sticks_only)
    if not (open_seal and findings.sealed):
        return Judged(findings, trial, stored, opened=False)
    opening = _opening(trial, now, progress)
    what = "opened the seal" if opening.look is None else f"took declared look {opening.look}"
    store.write(path, Change(what, now.instant(), (opening,)), trial.change)
    trial = store.read(path)
    findings, stored = _findings(path, trial, now, progress, sticks_only=sticks_only)
    return Judged(findings, trial, stored, opened=True, look=opening.look, ended=opening.ended)


def _opening(trial: Trial, now: Now, progress: Progress) -> Opening:
    """What opening the seal now is: the declared look that is due, with whether its answer ends the trial; else a
    broken seal."""
    at = trial.zones.stamp(now.instant())
    opening = Opening(now.fresh_id(), at, trial_day(trial, at.instant), due_look(trial, at.instant))
    if opening.look is None:
        return opening
    seen = judge(replace(trial, openings=(*trial.openings, opening)), progress, at.instant, sticks_only=True)
    return replace(opening, ended=ends_the_trial(seen.head_to_head))


def _findings(
    path: Path, trial: Trial, now: Now, progress: Progress, *, sticks_only: bool
) -> tuple[Findings, bool]:
    if sticks_only:
        return judge(trial, progress, now.instant(), sticks_only=True), False
    kept = store.get_findings(path, trial.edition)
    # What a version with a smaller contract wrote is judged again.
    with suppress(msgspec.DecodeError):
        if kept is not None:
            return from_json(kept), True
    with second_core() as pool:  # The checks of the reconstruction run there.
        findings = judge(trial, progress, now.instant(), pool=pool)
    # Sealed today and open tomorrow, or at a look open today and sealed tomorrow, with the same records: not to be kept.
    if findings.sealed or any(caution.code == "at-look" for caution in findings.cautions):
        return findings, False
    # Keeping it only saves time; the judgement itself stands.
    with suppress(TrialFileReadOnly, TrialFileBusy, DiskFull):
        store.put_findings(path, trial.edition, to_json(findings))
    return findings, False


def trial_day(trial: Trial, instant: int) -> int:
    """The day of the trial (from 1): counted from the first wear, reading or stick."""
    days: list[date] = [wear.first.day for wear in trial.wears]
    days += [stick.at.day for stick in trial.sticks]
    for readings in trial.readings.values():
        if len(readings):
            days.append(trial.zones.stamp(int(readings.instant[0])).day)
    first = min(days, default=None)
    return 1 if first is None else max(1, (trial.zones.stamp(instant).day - first).days + 1)

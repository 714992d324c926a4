"""Writing the answer as one page."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from evenhand import __version__
from evenhand.desk.find import is_trial_name
from evenhand.desk.judging import Judged, judge_trial
from evenhand.desk.now import Now
from evenhand.desk.progress import Progress, silent
from evenhand.desk.replacing import replace_file
from evenhand.errors import CannotWrite
from evenhand.handouts.report import report
from evenhand.say.dates import day


@dataclass(frozen=True, slots=True)
class Reported:
    """Where the page lies, and the judgement it tells."""

    path: Path
    judged: Judged


def write_report(
    path: Path, out: Path | None, now: Now, *, open_seal: bool = False, progress: Progress = silent
) -> Reported:
    """Judge the trial and write its page to `out`, or beside the trial as NAME.html; an older page is replaced
    in one step. `CannotWrite` where that fails; a trial file is never replaced."""
    target = out if out is not None else path.with_suffix(".html")
    _refuse_trial(target, path)
    judged = judge_trial(
        path, now, open_seal=open_seal, progress=lambda share, what: progress(0.6 * share, what)
    )
    progress(0.6, "drawing the page")
    made = judged.trial.zones.stamp(now.instant())
    page = report(judged.findings, judged.trial, now_text=day(made.iso), version=__version__)
    replace_file(target, page.encode("utf-8"), now)
    progress(1.0, "done")
    return Reported(target, judged)


def _refuse_trial(target: Path, path: Path) -> None:
    """Said before anything is judged or opened, so that a slip of the pen costs nothing."""
    if is_trial_name(target.name) or (target.exists() and path.exists() and target.samefile(path)):
        raise CannotWrite(
            f"'{target}' is the name of a trial file, and a page never replaces one.",
            "Name another place with --out.",
        )

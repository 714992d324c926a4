"""Taking in a file: a proposal first, then, where it is wanted and nothing is open, the file whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from evenhand.desk.now import Now
from evenhand.desk.progress import Progress, silent
from evenhand.desk.retaking import without_earlier
from evenhand.errors import BadFile, Place, WrongUse
from evenhand.intake.proposal import Proposal
from evenhand.intake.propose import propose
from evenhand.records.trial import Trial
from evenhand.store import file as store


@dataclass(frozen=True, slots=True)
class Source:
    """A file to be taken in: its name (never its path) and its bytes."""

    name: str
    data: bytes = field(repr=False)


@dataclass(frozen=True, slots=True)
class IntakeSaid:
    """What a person says about a file: whose it is, settings, and whether it shall be written."""

    of: str | None = None
    settings: Mapping[str, str] = field(default_factory=dict)
    yes: bool = False


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What was understood of a file, the trial before it, the number of the change it made (None where nothing
    was written), and the trial's edition now."""

    proposal: Proposal
    trial: Trial
    change: int | None
    edition: str


def source_of(path: Path) -> Source:
    """A file on disk; `BadFile` where it cannot be read."""
    try:
        return Source(path.name, path.read_bytes())
    except FileNotFoundError:
        found, cure = "There is no such file.", "Check its name and folder."
    except IsADirectoryError:
        found, cure = "This is a folder.", "Name the file in it."
    except OSError as problem:
        found, cure = f"The file cannot be read ({problem.strerror}).", "Check its permissions."
    raise BadFile(found, cure, Place(file=str(path)))


def settings_of(words: Sequence[str]) -> dict[str, str]:
    """Settings of the form KEY=VALUE; `WrongUse` for anything else, and for a key given twice."""
    found: dict[str, str] = {}
    for word in words:
        key, equals, value = word.partition("=")
        if not equals or not key.strip():
            raise WrongUse(f"'{word}' is not a setting.", "Write KEY=VALUE, as the proposal shows it.")
        if key.strip() in found:
            raise WrongUse(f"{key.strip()} is set twice.", "Set it once.")
        found[key.strip()] = value.strip()
    return found


def take_in(path: Path, source: Source, said: IntakeSaid, now: Now, progress: Progress = silent) -> TakenIn:
    """Understand a file, and write it where `said.yes` and no question is open: whole or not at all.

    Raises `BadFile` and `UnknownName` for what cannot be understood; `TrialFileChanged` where someone else
    wrote meanwhile.
    """
    trial = store.read(path)
    base, replaced = without_earlier(path, trial, source.data, said.settings)
    proposal = propose(
        source.data,
        source.name,
        base,
        said.of,
        said.settings,
        now.ids(),
        now.instant(),
        lambda what, share: progress(share, what),
    )
    if not said.yes or proposal.change is None or proposal.questions:
        return TakenIn(proposal, trial, None, trial.edition)
    change = store.write(path, replace(proposal.change, withdrawn=replaced), trial.change)
    return TakenIn(proposal, trial, change, store.edition(path))

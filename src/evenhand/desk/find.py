"""Which trial file is meant."""

from __future__ import annotations

from pathlib import Path

from evenhand.errors import TrialFileMissing, WrongUse

ENDING = ".trial"


def is_trial_name(word: str | None) -> bool:
    """Whether a first argument names a trial file.

    >>> is_trial_name("spring.trial"), is_trial_name("6.1"), is_trial_name(None)
    (True, False, False)
    """
    return word is not None and word.endswith(ENDING)


def find_trial(folder: Path) -> Path:
    """The one trial file in `folder`; `TrialFileMissing` for none, `WrongUse` for more than one."""
    found = sorted(path for path in folder.glob(f"*{ENDING}") if path.is_file())
    if not found:
        raise TrialFileMissing(
            "There is no trial file in this folder.",
            "Name it first, for example 'evenhand stick my.trial 6.1', or make one with 'evenhand new'.",
        )
    if len(found) > 1:
        names = ", ".join(path.name for path in found)
        raise WrongUse(f"This folder holds {len(found)} trials ({names}).", "Name the one you mean first.")
    return Path(found[0].name)

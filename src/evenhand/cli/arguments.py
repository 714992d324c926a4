"""FILE.trial may be left out: the words that stand before the options, sorted out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from evenhand.desk.find import find_trial, is_trial_name
from evenhand.errors import WrongUse

File = Annotated[
    str | None,
    Parameter(
        name="FILE.trial", help="The trial. May be left out where the current folder holds exactly one."
    ),
]
"""The first word of most commands; not the trial where it does not end in '.trial'."""


def split(*given: str | None) -> tuple[Path, list[str | None]]:
    """The trial file that is meant, and the other words, as many as were given room for less one.

    `given` are the words in order, None where nothing was typed. Where the first does not end in '.trial',
    the one trial of the current folder is meant and every word moves up by one place.
    """
    if is_trial_name(given[0]):
        return Path(str(given[0])), list(given[1:])
    if given[-1] is not None:
        raise WrongUse(
            f"'{given[0]}' does not end in .trial, so '{given[-1]}' is one word too many.",
            "Put the trial file first, or write what has spaces in quotes.",
        )
    return find_trial(Path()), list(given[:-1])

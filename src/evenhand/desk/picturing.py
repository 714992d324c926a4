"""A picture of a proposal, as PNG or SVG by the suffix of its name."""

from __future__ import annotations

from pathlib import Path

from evenhand.desk.now import Now
from evenhand.desk.replacing import replace_file
from evenhand.errors import WrongUse
from evenhand.intake.proposal import Proposal
from evenhand.records.trial import Trial

SUFFIXES = (".png", ".svg")


def check_picture(path: Path) -> None:
    """Raise `WrongUse` for a suffix that is no picture's, before anything is done."""
    if path.suffix.lower() not in SUFFIXES:
        raise WrongUse(f"'{path.name}' is neither PNG nor SVG.", "Give it a name that ends in .png or .svg.")


def draw_proposal(proposal: Proposal, trial: Trial, path: Path, now: Now) -> Path | None:
    """Draw what a file would add to `trial`; where it lies. None while a question is open: what the rows mean is not known
    then. `CannotWrite` where the file cannot be written."""
    if proposal.questions:
        return None
    from evenhand.charts.proposed import proposed

    picture = proposed(proposal, trial)
    data = picture.svg().encode("utf-8") if path.suffix.lower() == ".svg" else picture.png()
    replace_file(path, data, now, "--picture")
    return path

"""`evenhand rehearse`: invent a trial whose truth is known."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from evenhand.cli.streams import line, words
from evenhand.cli.world import now
from evenhand.desk.rehearsal import RehearsalSaid

_Out = Annotated[str, Parameter(name="--out", help="The folder to make. Left out: rehearsal.")]
_USUAL = RehearsalSaid()


def rehearse(*, out: _Out = "rehearsal", said: Annotated[RehearsalSaid, Parameter(name="*")] = _USUAL) -> int:
    """Invent a trial whose truth is known, as trial file and as files."""
    from evenhand.desk.rehearsing import rehearse as invent

    made = invent(Path(out), said, now())
    words(f"Invented with seed {made.seed}: nobody's readings, made up from beginning to end.")
    line(f"Trial: {made.trial}")
    line(f"Files: {made.files}")
    line(f"Truth: {made.truth}")
    return 0

"""`evenhand intake`: a file is shown as it was understood, and written with --yes."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.failing import tell
from evenhand.cli.progress import Bar
from evenhand.cli.streams import aside, data, line
from evenhand.cli.world import STANDARD_INPUT, now
from evenhand.errors import EvenhandError, WrongUse

if TYPE_CHECKING:
    from evenhand.desk.intaking import Source

_Path = Annotated[
    str | None, Parameter(name="PATH", help="The file; '-' for lines pasted into standard input.")
]
_Of = Annotated[str | None, Parameter(help="Whose it is: a sensor's name, or meter.")]
_Set = Annotated[tuple[str, ...], Parameter(name="--set", help="An answer or a correction, as KEY=VALUE.")]
_Yes = Annotated[bool, Parameter(help="Take it in, if no question is open.")]
_Picture = Annotated[
    str | None, Parameter(help="Where a picture of the proposal goes: NAME.png or NAME.svg.")
]
_Json = Annotated[bool, Parameter(name="--json", help="The proposal as JSON.")]


def intake(
    file: File = None,
    path: _Path = None,
    /,
    *,
    of: _Of = None,
    settings: _Set = (),
    yes: _Yes = False,
    picture: _Picture = None,
    as_json: _Json = False,
) -> int:
    """Take in a file of readings or fingersticks.

    Without --yes nothing is written: the proposal is shown.
    """
    from evenhand.desk.intaking import IntakeSaid, settings_of, take_in

    trial, (name,) = split(file, path)
    if name is None:
        raise WrongUse("It is not said which file to take in.", "Name it, or write '-' to paste lines.")
    said = IntakeSaid(of, settings_of(settings), yes, Path(picture) if picture is not None else None)
    source = _source(name)
    try:
        with Bar() as bar:
            taken = take_in(trial, source, said, now(), bar)
    except EvenhandError as error:
        warning = _low(name, source, trial)
        if warning is None or as_json:
            raise
        code = tell(error, as_json=False)
        line(warning)
        return code
    if as_json:
        data(json.dumps(taken.proposal.to_json(taken.edition), ensure_ascii=False, indent=2) + "\n")
    else:
        from evenhand.cli.proposed import show

        show(taken, now().instant(), wanted=yes)
    if picture is not None:
        aside(f"Picture: {taken.picture}" if taken.picture else "No picture was drawn: a question is open.")
    warning = None if as_json else _low(name, source, trial)
    if warning is not None:
        line(warning)
    return 1 if (yes or picture is not None) and taken.proposal.questions else 0


def _low(name: str, source: Source, path: Path) -> str | None:
    """The safety line for pasted lines that hold a low of this moment, taken in or not; the last thing on the screen."""
    if name != STANDARD_INPUT:
        return None
    from evenhand.desk.morning import low_among
    from evenhand.desk.sticks import read_trial
    from evenhand.say.low import after_stick

    lines = source.data.decode("utf-8", "replace")
    low = low_among(lines, read_trial(path), now().instant())
    return None if low is None else after_stick(low)


def _source(name: str) -> Source:
    from evenhand.desk.intaking import Source, source_of

    if name != STANDARD_INPUT:
        return source_of(Path(name))
    if sys.stdin.isatty():
        aside("Paste the lines, then press Ctrl-D (Ctrl-Z and Enter on Windows).")
    return Source("pasted lines", sys.stdin.buffer.read())

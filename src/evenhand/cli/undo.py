"""`evenhand undo`: take back a change, or list them."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.saying import moment
from evenhand.cli.streams import words
from evenhand.cli.world import now
from evenhand.clock import Stamp
from evenhand.desk.history import History, history
from evenhand.desk.history import undo as take_back
from evenhand.errors import WrongUse

_Change = Annotated[str | None, Parameter(name="CHANGE", help="The change's number. Left out: the last one.")]
_List = Annotated[bool, Parameter(name="--list", help="List the changes and take nothing back.")]


def undo(file: File = None, change: _Change = None, /, *, listed: _List = False) -> int:
    """Take back the last change, or the one of that number."""
    path, (number,) = split(file, change)
    if number is not None and not (number.isascii() and number.isdigit()):
        raise WrongUse(f"'{number}' is not the number of a change.", "See 'evenhand undo --list'.")
    if listed:
        _list(history(path), now().instant())
        return 0
    made = take_back(path, int(number) if number else None, now())
    words(f"Change {made.number}: {made.what}. 'evenhand undo {made.number}' brings it back.")
    return 0


def _list(found: History, at: int) -> None:
    for change in found.changes:
        undone = "" if change.undone_by is None else f" (taken back by {change.undone_by})"
        when = moment(Stamp.at(change.at, found.zones.home), at, found.zones)
        words(f"{change.number:>4}  {when}: {change.what}{undone}", hanging=" " * 6)

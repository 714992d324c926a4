"""`evenhand export`: the records as CSV or JSON."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.streams import data
from evenhand.desk.exporting import What
from evenhand.desk.exporting import export as exported
from evenhand.desk.tables import Format
from evenhand.errors import WrongUse

_KINDS = ", ".join(What)
_What = Annotated[str | None, Parameter(name="WHAT", help=f"One of {_KINDS}.")]
_Format = Annotated[Format, Parameter(name="--format", help="How it is written.")]


def export(file: File = None, what: _What = None, /, *, form: _Format = Format.CSV) -> int:
    """Write records to standard output."""
    path, (word,) = split(file, what)
    if word not in tuple(What):
        found = f"'{word}' cannot be exported." if word else "It is not said what to export."
        raise WrongUse(found, f"Choose one of {_KINDS}.")
    data(exported(path, What(word), form))
    return 0

"""`evenhand backup`: copy the trial file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.streams import line
from evenhand.cli.world import now
from evenhand.desk.history import backup as make_copy

_Path = Annotated[
    str | None, Parameter(name="PATH", help="Where the copy goes. Left out: beside the trial file.")
]


def backup(file: File = None, path: _Path = None, /) -> int:
    """Copy the trial file."""
    trial, (to,) = split(file, path)
    line(f"Copied to {make_copy(trial, Path(to) if to else None, now())}")
    return 0

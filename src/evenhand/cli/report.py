"""`evenhand report`: the answer as one HTML page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.progress import Bar
from evenhand.cli.streams import aside, line
from evenhand.cli.world import now

_Out = Annotated[str | None, Parameter(name="--out", help="Where the page goes. Left out: NAME.html.")]
_Open = Annotated[
    bool, Parameter(name="--open", help="Open a sealed trial before its end; that is recorded.")
]


def report(file: File = None, /, *, out: _Out = None, opened: _Open = False) -> int:
    """Write the answer as one HTML page."""
    from evenhand.desk.reporting import write_report

    path, _ = split(file)
    with Bar() as bar:
        written = write_report(path, Path(out) if out else None, now(), open_seal=opened, progress=bar)
    if opened and not written.judged.opened:
        aside("The trial is not sealed; there was nothing to open, and nothing was recorded.")
    line(f"Report: {written.path}")
    line(f"Edition {written.judged.findings.edition[:8]}")
    line("Open it in a browser; it needs no network.")
    return 0

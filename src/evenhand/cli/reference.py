"""Writes the reference of the command line from the commands' own help: `python -m evenhand.cli.reference`."""

from __future__ import annotations

import io
import sys
from pathlib import Path

from rich.console import Console

from evenhand.cli.main import COMMANDS, build
from evenhand.cli.streams import WIDTH, data

_HEAD = """# Commands

Made by `python -m evenhand.cli.reference` from the commands' own help; edit that, not this.

`FILE.trial` may be left out where the current folder holds exactly one trial; a first word that ends in `.trial` is the file. Times are ISO 8601 or as people write them ('07:42', 'yesterday 22:10', 'Tue 07:42'); without a zone they are the trial's zone, or the trip's during a trip.

Exit codes: 0 done, 1 refused with a reason (on standard error), 2 wrong use. With `--json` errors are printed as `{"errors": [{"code", "file", "sheet", "line", "column", "found", "cure"}]}` on standard output, with the same exit codes.

Evenhand sets no insulin dose and recommends no treatment. A fingerstick decides when symptoms and sensor disagree. Below 70 mg/dL (3.9 mmol/L): treat first, record later.
"""


def help_of(name: str) -> str:
    """The help of a command as plain text, 80 columns wide."""
    out = io.StringIO()
    console = Console(file=out, width=WIDTH, color_system=None, force_terminal=False)
    build().help_print([name] if name else [], console=console)
    return "\n".join(line.rstrip() for line in out.getvalue().strip().splitlines())


def reference() -> str:
    """The whole reference as Markdown."""
    parts = [_HEAD, f"```\n{help_of('')}\n```\n"]
    parts += [f"## {name}\n\n```\n{help_of(name)}\n```\n" for name, *_ in COMMANDS]
    return "\n".join(parts)


def main(words: list[str]) -> int:
    """Write the reference to the file that is named, or to standard output."""
    if words:
        Path(words[0]).write_text(reference(), encoding="utf-8")
    else:
        data(reference())
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

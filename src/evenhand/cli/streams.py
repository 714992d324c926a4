"""What a command puts out: words for a person, data for a program, asides that are neither."""

from __future__ import annotations

import sys
import textwrap
from io import TextIOWrapper

WIDTH = 80


def line(text: str) -> None:
    """One line on standard output, as it is, at once."""
    print(text, flush=True)


def words(text: str, indent: str = "", hanging: str = "") -> None:
    """A sentence on standard output, wrapped at 80 columns; `hanging` indents every line but the first."""
    print(wrapped(text, indent, hanging))


def aside(text: str) -> None:
    """A sentence on standard error: about the run, not its result."""
    print(wrapped(text), file=sys.stderr)


def wrapped(text: str, indent: str = "", hanging: str = "") -> str:
    """Text wrapped at 80 columns, never inside a word, a path or a time.

    >>> wrapped("one two", "  ")
    '  one two'
    >>> wrapped("a" * 79 + " b", hanging="  ").splitlines()[1]
    '  b'
    """
    return "\n".join(
        textwrap.fill(
            part,
            WIDTH,
            initial_indent=indent,
            subsequent_indent=indent + hanging,
            break_long_words=False,
            break_on_hyphens=False,
        )
        for part in text.split("\n")
    )


def data(text: str) -> None:
    """Data on standard output, as UTF-8 whatever the terminal says."""
    out = sys.stdout
    if isinstance(out, TextIOWrapper):
        out.flush()
        out.buffer.write(text.encode("utf-8"))
        out.buffer.flush()
    else:
        out.write(text)


def prepare() -> None:
    """Let no character that a terminal lacks stop a command."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")

"""Somebody at the keyboard: standard input that says it is a terminal, and gives prepared lines."""

from __future__ import annotations

import io
import sys


class Keyboard(io.StringIO):
    """Prepared lines; a terminal where `terminal`."""

    def __init__(self, *lines: str, terminal: bool = True) -> None:
        super().__init__("".join(f"{line}\n" for line in lines))
        self.terminal = terminal

    def isatty(self) -> bool:
        return self.terminal


def typed(monkeypatch, *lines, terminal=True):
    """From now on these lines are what is typed; after the last one the person leaves."""
    monkeypatch.setattr(sys, "stdin", Keyboard(*lines, terminal=terminal))

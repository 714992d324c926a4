"""What a long piece of work tells while it goes on."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """Told what is being done, how much of it is done, and how much there is."""

    def __call__(self, what: str, done: int, total: int) -> None: ...


def silent(what: str, done: int, total: int) -> None:
    """Tells nobody."""

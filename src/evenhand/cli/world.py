"""The world a command runs in: handed in by tests, real otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from evenhand.desk.now import Now

STANDARD_INPUT = "\0"
"""Stands for '-' among the words, so that it is not taken for an option; no argument can hold it."""

_NOW: ContextVar[Now | None] = ContextVar("now", default=None)


def now() -> Now:
    """The clock, zone and entropy of this command."""
    return _NOW.get() or Now()


@contextmanager
def world(handed: Now | None) -> Iterator[None]:
    """Run commands with this `Now`; None: the real one."""
    token = _NOW.set(handed)
    try:
        yield
    finally:
        _NOW.reset(token)

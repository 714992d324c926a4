"""An invented trial judged with its reconstruction, once for all tests that look at it."""

from __future__ import annotations

from functools import lru_cache

from evenhand.findings.findings import Findings
from evenhand.judge.judge import judge
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain
from evenhand.rehearse.truth import Invented

heard: list[tuple[float, str]] = []
"""What the judgement told of its progress."""


@lru_cache(maxsize=1)
def invented() -> Invented:
    """Eight days, two wears each, seven sticks a day."""
    return invent(plain(8, 2, 7), 5)


@lru_cache(maxsize=1)
def judged() -> Findings:
    """Its judgement."""
    return judge(invented().trial, progress=lambda share, what: heard.append((share, what)))

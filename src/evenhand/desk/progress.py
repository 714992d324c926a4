"""What a long piece of work tells while it goes on."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

Progress: TypeAlias = Callable[[float, str], None]
"""Told the share that is done, 0 to 1, and what is being done."""


def silent(share: float, what: str) -> None:
    """Tells nobody."""

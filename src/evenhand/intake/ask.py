"""What intake says about a file: guesses with their evidence, questions only a person can answer, proposals."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Guess:
    """Something that was decided from the file itself: what, as what, how sure (0 to 1), and why (a sentence)."""

    what: str
    chosen: str
    score: float
    evidence: str
    sheet: str | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """A question that only a person can answer; `set` is what to write, `choices` what may stand after '='."""

    code: str
    text: str
    choices: tuple[str, ...]
    set: str


@dataclass(frozen=True, slots=True)
class Suggested:
    """A correction that is proposed and never applied unasked; `set` accepts it."""

    code: str
    text: str
    evidence: str
    set: str

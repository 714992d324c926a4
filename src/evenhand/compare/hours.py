"""Target hours and night, from what was declared."""

from __future__ import annotations

import numpy as np

from evenhand.compare.local import Local, between
from evenhand.compare.shapes import Mask
from evenhand.records.question import Question

WAKING = (7 * 60, 23 * 60)
"""Waking hours where none are declared, minutes of the day."""


def target_hours(question: Question, when: Local) -> Mask:
    """Whether instants lie in the target hours: the declared waking hours less the quiet ones; every hour in a trial
    without a declaration."""
    if question.declared is None:
        return np.ones(when.minute.size, np.bool_)
    inside = between(when.minute, question.waking or WAKING)
    for quiet in question.quiet_hours:
        inside &= ~between(when.minute, quiet)
    return inside


def night(question: Question, when: Local) -> Mask:
    """Whether instants lie outside the waking hours."""
    return ~between(when.minute, question.waking or WAKING)

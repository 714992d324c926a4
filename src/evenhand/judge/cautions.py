"""Gathers every caution a judgement carries; the sentences stand in `findings.cautions`."""

from __future__ import annotations

from evenhand.findings.cautions import in_order
from evenhand.findings.findings import Caution
from evenhand.judge.about_answer import about_answer
from evenhand.judge.about_between import about_between
from evenhand.judge.about_data import about_data
from evenhand.judge.about_pairs import about_pairs
from evenhand.judge.about_settings import about_settings
from evenhand.judge.about_sticks import about_sticks
from evenhand.judge.about_tables import about_tables
from evenhand.judge.bundle import Judged


def cautions(judged: Judged) -> tuple[Caution, ...]:
    """All cautions, in the order of their catalogue."""
    every = (about_settings, about_data, about_sticks, about_answer, about_pairs, about_tables, about_between)
    return in_order(each for about in every for each in about(judged))

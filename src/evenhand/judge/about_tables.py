"""Cautions about tables beside the answer."""

from __future__ import annotations

from collections.abc import Iterator

from evenhand.compare.ranges import ENOUGH_DAYS, ENOUGH_READINGS
from evenhand.findings.cautions import caution
from evenhand.findings.findings import Caution
from evenhand.findings.parts import Ranges
from evenhand.judge.bundle import Judged
from evenhand.units import rounded


def about_tables(judged: Judged) -> Iterator[Caution]:
    """Levels, zones, ranges, and strays told from sticks."""
    if any(sensor.levels is not None for sensor in judged.sensors):
        yield caution("by-level-selection", "trial")
    if any(sensor.zones is not None for sensor in judged.sensors):
        yield caution("zones-from-memory", "trial")
    for sensor, found in zip(judged.sensors, judged.ranges, strict=True):
        if "ranges-own-short" in found.cautions:
            yield from _short(sensor.name, found.ranges.own)
        if any(stray.source == "sticks" for stray in sensor.strays or ()):
            yield caution("strays-from-sticks", sensor.name)


def _short(name: str, ranges: Ranges) -> Iterator[Caution]:
    if ranges.days < ENOUGH_DAYS:
        yield caution("few-days-for-ranges", name, days=rounded(ranges.days, 1))
    share = ranges.share_of_readings
    if share is not None and share < ENOUGH_READINGS:
        yield caution("few-readings-for-ranges", name, percent=rounded(share))

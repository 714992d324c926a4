"""Cautions about readings and wears: what is missing, guessed, or at a limit."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from evenhand.clock import HOUR
from evenhand.findings.cautions import REASONS, caution
from evenhand.findings.findings import Caution
from evenhand.judge.bundle import Judged
from evenhand.judge.warming import unguarded
from evenhand.records.question import Stream
from evenhand.units import rounded, shown_difference

LEAST_PAIRS = 20
"""With fewer pairs the times of readings say nothing about a clock (this project's choice)."""


def about_data(judged: Judged) -> Iterator[Caution]:
    """Files, wears and readings."""
    trial = judged.trial
    for source in trial.files:
        for proposal in source.open_proposals:
            yield caution("open-proposal", source.name, text=proposal.text)
    if len(trial.sensors) == 1:
        yield caution("one-sensor", "trial")
    for place in range(len(trial.sensors)):
        yield from _readings(judged, place)
        yield from _wears(judged, place)
        yield from _pairs(judged, place)
        yield from _driven(judged, place)
    seconds = unguarded(judged.layout.worn)
    if seconds > 0:
        yield caution("both-warming-up", "trial", hours=rounded(seconds / HOUR, 1))


def _readings(judged: Judged, place: int) -> Iterator[Caution]:
    layout, sensor = judged.layout, judged.trial.sensors[place]
    found = judged.sensors[place]
    if found.readings == 0:
        none_worn = not any(worn.sensor == place for worn in layout.worn)
        yield caution("no-wear", sensor.name) if none_worn else caution("no-readings", sensor.name)
    if layout.uncovered and layout.uncovered[place]:
        yield caution("uncovered-readings", sensor.name, count=layout.uncovered[place])
    if found.gaps.unknown > 1:
        yield caution("gaps-unexplained", sensor.name, hours=rounded(found.gaps.unknown, 1))
    if judged.trial.question.stream is Stream.LIVE:
        yield caution("stream-not-judged", sensor.name)


def _wears(judged: Judged, place: int) -> Iterator[Caution]:
    sensor = judged.trial.sensors[place]
    mine = [worn for worn in judged.layout.worn if worn.sensor == place]
    if place in judged.layout.inferred:
        yield caution("inferred-wears", sensor.name, count=len(mine))
    for worn in mine:
        if worn.wear is not None and not worn.ended:
            yield caution("open-wear", sensor.name, number=worn.number)
    accuracy = judged.sensors[place].accuracy
    for left in accuracy.all.left_out if accuracy else ():
        yield caution("wear-left-out", sensor.name, number=left.wear, why=REASONS[left.why])


def _pairs(judged: Judged, place: int) -> Iterator[Caution]:
    pairs, sensor = judged.layout.pairs, judged.trial.sensors[place]
    scored = pairs.scored[:, place] & pairs.judging
    beyond = int((scored & ((pairs.flag[:, place] > 0) | (pairs.stick_flag > 0))).sum())
    if beyond:
        yield caution("at-least", sensor.name, count=beyond)
    apart = pairs.apart[np.isfinite(pairs.apart[:, place]), place]
    interval = judged.layout.intervals[place] or 300
    middle = float(np.median(apart)) if apart.size >= LEAST_PAIRS else 0.0
    if abs(middle) > max(interval / 4, 30):
        way = "after" if middle > 0 else "before"
        yield caution("reading-times", sensor.name, seconds=rounded(abs(middle)), way=way)
    differs = judged.sensors[place].shown_minus_exported
    if differs is None or differs.value is None or differs.low is None or differs.high is None:
        return
    if differs.low > 0 or differs.high < 0:
        unit = judged.trial.header.unit
        size = f"{shown_difference(differs.value, unit, sign=True)} {unit}"
        yield caution("shown-differs", sensor.name, difference=size, count=differs.n)


def _driven(judged: Judged, place: int) -> Iterator[Caution]:
    seconds = sum(
        worn.end - worn.start
        for worn in judged.layout.worn
        if worn.sensor == place and worn.wear is not None and worn.wear.drives
    )
    if seconds > 0:
        yield caution("drives-insulin", judged.trial.sensors[place].name, hours=rounded(seconds / HOUR))

"""Cautions about how the question was asked, and how the sensors were treated."""

from __future__ import annotations

from collections.abc import Iterator

from evenhand.findings import METHOD
from evenhand.findings.cautions import caution
from evenhand.findings.findings import Caution
from evenhand.findings.looks import exploratory_looks
from evenhand.judge.bundle import Judged
from evenhand.records.question import Policy


def about_answer(judged: Judged) -> Iterator[Caution]:
    """Declaration, looks, calibrations, three sensors."""
    primary, trial = judged.primary, judged.trial
    declared = primary.declared
    if declared is None:
        yield caution("undeclared", "trial")
    elif primary.standing == "declared late":
        yield caution("declared-late", "trial", day=declared.day, sticks=declared.sticks_before)
    elif primary.standing == "explored":
        yield caution("explored", "trial")
    broken = [opening for opening in trial.openings if opening.look is None]
    if broken:
        days = ", ".join(f"day {opening.day}" for opening in broken)
        yield caution("opened-early", "trial", days=days)
    taken, allowed = primary.looks.taken, primary.looks.declared
    if declared is not None and taken > allowed:
        yield caution("looks-exceeded", "trial", taken=taken, declared=allowed)
    if declared is not None and declared.method != METHOD:
        yield caution("method-raised", "trial", declared=declared.method, method=METHOD)
    yield from _three(judged)
    yield from _calibrations(judged)
    looks = exploratory_looks(judged.sensors)
    if looks:
        yield caution("exploratory-looks", "trial", count=looks, chance=round(looks / 20))
    if any(each.shown.answer.who is not None for each in judged.duels):
        yield caution("identical-kinds", "trial")


def _three(judged: Judged) -> Iterator[Caution]:
    if len(judged.duels) > 1:
        yield caution("three-sensors", "trial")
    elif len(judged.trial.sensors) > 2:
        yield caution("other-pairs-unanswered", "trial")


def _calibrations(judged: Judged) -> Iterator[Caution]:
    question, names = judged.trial.question, [sensor.name for sensor in judged.trial.sensors]
    counts = [
        sum(len(worn.calibrated) for worn in judged.layout.worn if worn.sensor == place)
        for place in range(len(names))
    ]
    for name, count in zip(names, counts, strict=True):
        if count:
            yield caution("calibrations", name, count=count)
        if count and question.policy is Policy.NONE:
            yield caution("calibrated-against-policy", name)
    if question.declared is not None and question.policy is None and any(counts):
        yield caution("no-policy", "trial")
    if judged.layout.unplaced:
        yield caution("calibration-into-unknown", "meter", count=judged.layout.unplaced)
    for each in judged.duels:
        tuned = [place for place in (each.a, each.b) if counts[place]]
        if len(tuned) == 1:
            yield caution("calibrated-one-side", names[tuned[0]])

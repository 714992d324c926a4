"""Trial in, Findings out: everything is measured once, then concluded."""

from __future__ import annotations

from collections.abc import Callable

import evenhand
from evenhand.compare.layout import lay_out
from evenhand.compare.meter import meter_findings, scatter_percent
from evenhand.compare.ranges import ranges
from evenhand.compare.safety import safety_lines
from evenhand.compare.shapes import Layout
from evenhand.compare.upkeep import fate_table
from evenhand.compare.wears import last_known
from evenhand.findings import CONTRACT, METHOD
from evenhand.findings.findings import Findings, MustHaveFinding
from evenhand.judge.bundle import Judged
from evenhand.judge.cautions import cautions
from evenhand.judge.pairs import duel
from evenhand.judge.primary import duels, primary, terms
from evenhand.judge.seal import has_ended, is_sealed, sealed
from evenhand.judge.sensors import sensor_findings
from evenhand.records.trial import Trial

Progress = Callable[[float, str], None]
"""Told the share done, 0 to 1, and what is being done."""


def judge(trial: Trial, progress: Progress | None = None, now: int | None = None) -> Findings:
    """The whole judgement of a trial with its readings loaded.

    Never raises for a thin or empty trial: what cannot be told is None with a reason. `now` (an instant) is when it is
    judged, for the seal alone; without it the last reading or stick stands for it. Uses no randomness.
    """
    told = progress or _quiet
    told(0.0, "laying the trial out")
    layout = lay_out(trial)
    closed = is_sealed(trial, layout, now)
    judged = _measure(trial, layout, told, ended=has_ended(trial, layout, now))
    told(0.9, "gathering cautions")
    found = _findings(judged)
    told(1.0, "done")
    return sealed(found) if closed else found


def _quiet(_share: float, _what: str) -> None:
    """Progress that nobody watches."""


def _measure(trial: Trial, layout: Layout, told: Progress, *, ended: bool) -> Judged:
    asked = terms(trial, scatter_percent(trial))
    shares = ranges(trial, layout)
    sensors = []
    for place, sensor in enumerate(trial.sensors):
        told(0.1 + 0.5 * place / len(trial.sensors), f"measuring {sensor.name}")
        sensors.append(sensor_findings(trial, layout, place, shares[place], asked.tolerance))
    told(0.6, "comparing the sensors")
    return Judged(
        trial=trial,
        layout=layout,
        terms=asked,
        primary=primary(trial, layout, ended=ended),
        meter=meter_findings(trial),
        sensors=tuple(sensors),
        ranges=shares,
        duels=tuple(duel(trial, layout, pair, asked) for pair in duels(trial)),
    )


def _findings(judged: Judged) -> Findings:
    trial = judged.trial
    return Findings(
        evenhand=evenhand.__version__,
        contract=CONTRACT,
        method=METHOD,
        edition=trial.edition,
        trial=trial.header.name,
        span=_span(trial),
        zone=trial.header.zone,
        unit="mg/dL",
        sealed=False,
        primary=judged.primary,
        meter=judged.meter,
        wears=fate_table(trial, judged.layout),
        sensors=judged.sensors,
        head_to_head=tuple(each.shown for each in judged.duels),
        reconstruction=None,
        must_haves=_must_haves(trial),
        safety=safety_lines(trial, judged.layout),
        cautions=cautions(judged),
    )


def _span(trial: Trial) -> tuple[str, str] | None:
    """First to last reading or stick."""
    last = last_known(trial)
    if last is None:
        return None
    starts = [int(readings.instant[0]) for readings in trial.readings.values() if len(readings)]
    first = min([*starts, *(stick.at.instant for stick in trial.sticks)])
    return trial.zones.stamp(first).iso, trial.zones.stamp(last).iso


def _must_haves(trial: Trial) -> tuple[MustHaveFinding, ...]:
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    return tuple(
        MustHaveFinding(names.get(must.sensor, must.sensor), must.text, must.met)
        for must in trial.question.must_haves
    )

"""Trial in, Findings out: everything is measured once, then concluded."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor

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
from evenhand.judge.between import NOTHING, look_between
from evenhand.judge.bundle import Judged
from evenhand.judge.cautions import cautions
from evenhand.judge.looks import showing
from evenhand.judge.pairs import duel
from evenhand.judge.primary import duels, primary, terms
from evenhand.judge.seal import Seal, at_look, seal_of, sealed
from evenhand.judge.sensors import sensor_findings
from evenhand.records.planned import with_reasons
from evenhand.records.trial import Trial

Progress = Callable[[float, str], None]
"""Told the share done, 0 to 1, and what is being done."""


def judge(
    trial: Trial,
    progress: Progress | None = None,
    now: int | None = None,
    *,
    sticks_only: bool = False,
    pool: Executor | None = None,
) -> Findings:
    """The whole judgement of a trial with its readings loaded.

    Never raises for a thin or empty trial: what cannot be told is None with a reason. `now` (an instant) is when it is
    judged, for the seal alone; without it the last reading or stick stands for it. `sticks_only` leaves the
    reconstruction out; `pool` is where the checks of it run beside the rest (here, one after another, where None). The
    only randomness is the reconstruction's, from the trial's own seed: the same trial gives the same judgement.
    """
    told = progress or _quiet
    told(0.0, "laying the trial out")
    trial = with_reasons(trial)
    layout = lay_out(trial)
    seal = seal_of(trial, layout, now)
    judged = _measure(trial, layout, told, now, between=(sticks_only or seal is not Seal.OPEN, pool))
    told(0.95, "gathering cautions")
    found = _findings(judged)
    told(1.0, "done")
    if seal is Seal.CLOSED:
        return sealed(found)
    known = last_known(trial) if now is None else now
    look = showing(trial.openings, known) if seal is Seal.LOOK and known is not None else None
    return found if look is None or look.look is None else at_look(found, look.look, trial.question.looks)


def _quiet(_share: float, _what: str) -> None:
    """Progress that nobody watches."""


def _measure(
    trial: Trial, layout: Layout, told: Progress, now: int | None, *, between: tuple[bool, Executor | None]
) -> Judged:
    asked = terms(trial, scatter_percent(trial))
    left_out, pool = between
    known = NOTHING
    if not left_out:
        known = look_between(
            trial, layout, asked.tolerance, pool, lambda share, what: told(0.05 + 0.75 * share, what)
        )
    shares = ranges(trial, layout)
    sensors = []
    for place, sensor in enumerate(trial.sensors):
        told(0.8 + 0.05 * place / len(trial.sensors), f"measuring {sensor.name}")
        sensors.append(sensor_findings(trial, layout, place, shares[place], (asked.tolerance, known)))
    told(0.85, "comparing the sensors")
    return Judged(
        trial=trial,
        layout=layout,
        terms=asked,
        primary=primary(trial, layout, last_known(trial) if now is None else now),
        meter=meter_findings(trial),
        sensors=tuple(sensors),
        ranges=shares,
        between=known,
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
        reconstruction=judged.between.told,
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

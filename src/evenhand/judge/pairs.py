"""Head to head for the contract: the measured difference, and who is named."""

from __future__ import annotations

from dataclasses import dataclass, replace

from evenhand.compare import head_to_head as measured
from evenhand.compare.between import between
from evenhand.compare.common import Common, Terms
from evenhand.compare.common import primary as primary_pairs
from evenhand.compare.head_to_head import Difference
from evenhand.compare.next_sensor import stretches
from evenhand.compare.present import present
from evenhand.compare.prompted import with_prompted
from evenhand.compare.shapes import Layout
from evenhand.compare.span import meter_span
from evenhand.findings.findings import (
    Answer,
    AnsweredDifference,
    ChanceNext,
    HeadToHead,
    ToSettle,
    Variances,
)
from evenhand.findings.parts import LeftOut
from evenhand.records.trial import Trial
from evenhand.stats.decision import Verdict
from evenhand.stats.next_wear import Stretches, chance_next, next_ratio
from evenhand.stats.separation import separate


@dataclass(frozen=True, slots=True)
class Duel:
    """Two sensors compared (`a`, `b` places in the trial): what the contract shows, and what cautions look at:
    the difference as asked (`told`), at all pairs where steady ones were asked about or the other way round (`other`),
    and the stretches' ratios (`units`)."""

    a: int
    b: int
    shown: HeadToHead
    told: Difference
    other: Difference
    units: Stretches


def duel(trial: Trial, layout: Layout, sensors: tuple[int, int], terms: Terms) -> Duel:
    """Everything about two sensors at their common pairs."""
    a, b = sensors
    names = (trial.sensors[a].name, trial.sensors[b].name)
    pairs = primary_pairs(layout, sensors, terms)
    told = measured.difference(pairs, terms)
    whole = measured.all_pairs(layout, sensors, terms)
    units = stretches(pairs)
    needed = measured.settling(trial, layout, told, terms)
    shown = HeadToHead(
        a=names[0],
        b=names[1],
        pairs=told.found.n,
        days=pairs.days,
        left_out=_left_out(layout, pairs, told),
        difference=told.wide,
        interval_for_equal=told.tight,
        k=told.k,
        answer=answer(names, told.verdict),
        meter_span_percent=meter_span(pairs, terms, told.lacks),
        with_prompted=with_prompted(layout, sensors, terms),
        all_pairs=whole.wide,
        mean_square_difference=measured.mean_square(pairs),
        agreement_difference=measured.agreement(pairs, terms.tolerance),
        with_marked=_answered(names, measured.with_marks_applied(layout, sensors, terms)),
        uncalibrated=_answered(names, measured.before_calibrations(layout, sensors, terms)),
        variances=variances(layout, sensors, terms),
        right_and_present=dict(zip(names, present(trial, layout, sensors, terms.tolerance), strict=True)),
        next_ratio=next_ratio(units),
        chance_next_closer=_chance(names, units),
        to_settle=None if needed is None else ToSettle(needed.kind, needed.about),
        between_sensors=between(trial, layout, a, b),
    )
    other = whole if terms.steady else measured.steady_pairs(layout, sensors, terms)
    return Duel(a, b, shown, told, other, units)


def answer(names: tuple[str, str], verdict: Verdict) -> Answer:
    """Who is named: the first where the difference, first minus second, is below zero."""
    who = {-1: names[0], 0: None, 1: names[1]}[verdict.sign]
    return Answer(verdict.state, who, verdict.beyond_margin)


def _answered(names: tuple[str, str], told: Difference | None) -> AnsweredDifference | None:
    return None if told is None else AnsweredDifference(told.wide, answer(names, told.verdict))


def _left_out(layout: Layout, pairs: Common, told: Difference) -> tuple[LeftOut, ...]:
    """The wears of the stretches that do not count; numbers count each sensor's own wears, a's before b's."""
    found = [
        LeftOut(layout.worn[wear].number, why)
        for stretch, why in told.found.left_out
        for wear in pairs.worn(stretch)
    ]
    return tuple(dict.fromkeys(found))


def variances(layout: Layout, sensors: tuple[int, int], terms: Terms) -> Variances:
    """Meter and sensors told apart at steady common pairs, whatever the question asks about."""
    pairs = primary_pairs(layout, sensors, replace(terms, steady=True))
    stick = pairs.stick
    found = separate(stick, stick + pairs.error_a, stick + pairs.error_b, pairs.day, pairs.stretch)
    return Variances(found.first, found.second, found.third)


def _chance(names: tuple[str, str], units: Stretches) -> ChanceNext:
    told = chance_next(units)
    if told.chance is None or told.low is None or told.high is None:
        return ChanceNext(None, None, None, told.why)
    return ChanceNext(names[0] if told.sign < 0 else names[1], told.chance, (told.low, told.high), None)

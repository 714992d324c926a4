"""Cautions about one answer: where it is thin, where it would be another one, what it rests on."""

from __future__ import annotations

from collections.abc import Iterator

from evenhand.findings.cautions import REASONS, caution
from evenhand.findings.findings import Caution
from evenhand.judge.bundle import Judged
from evenhand.judge.pairs import Duel
from evenhand.stats.decision import ENOUGH
from evenhand.stats.estimate import Est
from evenhand.stats.grouped import FEW_VISITS
from evenhand.units import Unit, rounded, shown_difference

NARROW = 5.0
"""Percent: meters of one make differ by more."""


def about_pairs(judged: Judged) -> Iterator[Caution]:
    """Every pair of sensors that got an answer."""
    for each in judged.duels:
        subject = f"{each.shown.a} and {each.shown.b}"
        yield from _thin(judged, each, subject)
        yield from _otherwise(judged, each, subject)
        yield from _meter(each, subject)
        yield from _next(each, subject)


def _thin(judged: Judged, each: Duel, subject: str) -> Iterator[Caution]:
    found, common = each.told.found, each.told.common
    worn = judged.layout.worn
    if each.told.lacks in ("fewer-than-30-pairs", "fewer-than-7-days"):
        yield caution("few-pairs", subject, pairs=found.n, days=common.days)
    if found.why == FEW_VISITS:
        yield caution("few-visits", subject)
    names = [sensor.name for sensor in judged.trial.sensors]
    for wear, days in common.pricked_days().items():
        if days < ENOUGH.pricked_days:
            one = worn[wear]
            yield caution("few-pricked-days", names[one.sensor], number=one.number, days=days)
    for stretch, why in found.left_out:
        first, second = (worn[wear].number for wear in common.worn(stretch))
        yield caution("stretch-left-out", subject, first=first, second=second, why=REASONS[why])


def _otherwise(judged: Judged, each: Duel, subject: str) -> Iterator[Caution]:
    """Where another way of asking gives another answer or another sign."""
    shown = each.shown
    pairs = judged.layout.pairs
    if pairs.prompted.any() and apart(shown.difference, shown.with_prompted):
        unit = judged.trial.header.unit
        numbers = (_told(est, unit) for est in (shown.with_prompted, shown.difference))
        with_prompted, difference = numbers
        yield caution("prompted-disagree", subject, with_prompted=with_prompted, difference=difference)
    if shown.with_marked is not None and shown.with_marked.answer != shown.answer:
        yield caution("marked-change-answer", subject)
    if shown.uncalibrated is not None and shown.uncalibrated.answer != shown.answer:
        yield caution("uncalibrated-differs", subject)
    if _signs_differ(each.other.wide, shown.difference):
        yield caution("signs-differ-all-steady", subject)
    if _signs_differ(shown.mean_square_difference, shown.difference):
        yield caution("signs-differ-mean-square", subject)


def _meter(each: Duel, subject: str) -> Iterator[Caution]:
    low, high = each.shown.meter_span_percent
    near = any(end is not None and abs(end) < NARROW for end in (low, high))
    if each.told.lacks is None and near:
        yield caution("meter-span-narrow", subject, low=_end(low, "low"), high=_end(high, "high"))
    if each.shown.k is None and each.told.found.n:
        yield caution("no-equal-meter", subject)
    variances = each.shown.variances
    if variances.meter.value is not None:
        yield caution("shared-lag", subject)
    named = (("the meter", variances.meter), (each.shown.a, variances.a), (each.shown.b, variances.b))
    for what, variance in named:
        if variance.value is not None and variance.value < 0:
            yield caution("negative-variance", subject, what=what)


def _next(each: Duel, subject: str) -> Iterator[Caution]:
    wears = each.units.least_wears
    if wears == 1:
        yield caution("one-wear", subject)
    elif wears == 2:
        yield caution("two-wears", subject)
    if each.shown.next_ratio.low is not None:
        yield caution("next-priors", subject)


def apart(judging: Est, weighed: Est) -> bool:
    """Whether the difference with the prompted sticks in disagrees: another sign, or outside the interval."""
    if judging.value is None or weighed.value is None:
        return False
    if judging.low is None or judging.high is None:
        return _signs_differ(judging, weighed)
    return _signs_differ(judging, weighed) or not judging.low <= weighed.value <= judging.high


def _signs_differ(one: Est, other: Est) -> bool:
    return one.value is not None and other.value is not None and one.value * other.value < 0


def _told(est: Est, unit: Unit) -> str:
    assert est.value is not None
    return f"{shown_difference(est.value, unit, sign=True)} {unit}"


def _end(percent: float | None, way: str) -> str:
    if percent is None:
        return f"at least 15 % {way}"
    if abs(percent) < 0.05:
        return "exactly right"
    return f"{rounded(abs(percent), 0 if percent == round(percent) else 1)} % {way}"

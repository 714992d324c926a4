"""Cautions about the fingersticks and the meter."""

from __future__ import annotations

from collections.abc import Iterator

from evenhand.compare.meter import ENOUGH_REPEATS
from evenhand.findings.cautions import caution
from evenhand.findings.findings import Caution
from evenhand.judge.bundle import Judged

LEFT_OUT = {
    "strip-error": "strip errors",
    "unwashed": "unwashed hands",
    "calibration": "calibrations",
    "prompted": "prompted",
    "recheck": "rechecks within 15 min",
}
"""What a stick is that judges nothing; control solution is no stick, and unknown reasons have a caution of their own."""


def about_sticks(judged: Judged) -> Iterator[Caution]:
    """Reasons, marks, and what is known of the meter."""
    meter = judged.meter
    if meter.sticks == 0:
        yield caution("no-sticks", "meter")
    elif not judged.layout.pairs.judging.any():
        yield caution("no-judging-sticks", "meter", count=meter.sticks)
    yield from _reasons(judged)
    marked = int((judged.layout.pairs.marked & judged.layout.pairs.judging).sum())
    if marked:
        yield caution("marked-sticks", "meter", count=marked)
    yield from _meter(judged)


def _reasons(judged: Judged) -> Iterator[Caution]:
    pairs, meter = judged.layout.pairs, judged.meter
    declared = judged.trial.question.declared is not None
    unknown = meter.reasons["unknown"]
    if unknown and declared:
        yield caution("unknown-sticks-left-out", "meter", count=unknown, of=meter.sticks)
    elif unknown:
        yield caution("unknown-sticks", "meter", count=unknown, of=meter.sticks)
    held = [(count, LEFT_OUT[code]) for code, count in judged.layout.left_out if code in LEFT_OUT and count]
    if held:
        yield caution("sticks-left-out", "meter", what=", ".join(f"{what} {count}" for count, what in held))
    outside = int((pairs.judging & ~pairs.in_hours).sum())
    if outside:
        yield caution("sticks-outside-hours", "meter", count=outside)


def _meter(judged: Judged) -> Iterator[Caution]:
    meter, trial = judged.meter, judged.trial
    if meter.sticks == 0:
        return
    if meter.repeats < ENOUGH_REPEATS:
        yield caution("few-repeats", "meter", count=meter.repeats)
    if not meter.control:
        yield caution("no-control", "meter")
    outside = sum(check.inside is False for check in meter.control)
    if outside:
        yield caution("control-outside", "meter", count=outside)
    if len(meter.lots) > 1:
        yield caution("strip-lots", "meter", count=len(meter.lots))
    names = dict.fromkeys(stick.meter or trial.header.meter for stick in trial.sticks)
    if len(names) > 1:
        yield caution("several-meters", "meter", count=len(names), names=", ".join(names))

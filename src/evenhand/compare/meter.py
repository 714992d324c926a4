"""What the trial says of its meter: scatter from planned repeats, control solution, strip lots."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator

from evenhand.compare.events import left_out_by
from evenhand.findings.findings import ControlCheck, LotSticks, MeterFindings
from evenhand.records.diary import REPEAT_WITHIN, MarkKind, Reason, Stick
from evenhand.records.trial import Trial
from evenhand.stats.agreement import repeat_sd_percent
from evenhand.stats.estimate import Est

ENOUGH_REPEATS = 10
ASSUMED, LEAST = 5.0, 3.0
"""Percent: the meter's SD with fewer than 10 repeats, and never less than."""


def meter_findings(trial: Trial) -> MeterFindings:
    """Sticks, reasons, repeats, control checks and lots; control solution and strip errors are no sticks."""
    sticks = _sticks(trial)
    repeats = tuple(planned_repeats(trial))
    lots = Counter(stick.lot for stick in sticks if stick.lot is not None)
    control = (stick for stick in trial.sticks if stick.marked(MarkKind.CONTROL))
    return MeterFindings(
        sticks=len(sticks),
        reasons={str(reason): sum(stick.reason is reason for stick in sticks) for reason in Reason},
        repeats=len(repeats),
        repeat_sd_percent=repeat_sd(trial),
        control=tuple(ControlCheck(stick.at.iso, stick.inside) for stick in control),
        lots=tuple(LotSticks(lot, count) for lot, count in sorted(lots.items())),
    )


def repeat_sd(trial: Trial) -> Est | None:
    """The SD of the meter in percent, from its planned repeats; None without any. It is scatter, never bias."""
    repeats = tuple(planned_repeats(trial))
    if not repeats:
        return None
    first, second = zip(*((one.glucose.mg_dl, two.glucose.mg_dl) for one, two in repeats), strict=True)
    return repeat_sd_percent(first, second)


def scatter_percent(trial: Trial) -> float:
    """The meter's SD that the answer reckons with: measured by at least 10 repeats and then at least 3 %, else 5 %."""
    measured = repeat_sd(trial)
    if measured is None or measured.value is None or measured.n < ENOUGH_REPEATS:
        return ASSUMED
    return max(LEAST, measured.value)


def planned_repeats(trial: Trial) -> Iterator[tuple[Stick, Stick]]:
    """Each planned repeat with the stick before it, at most 5 min earlier, both inside the meter's limits.

    A stick that is left out of judging for its mark (unwashed hands, marked in time) is no half of a repeat: what it
    differs by is not the meter's scatter.
    """
    counted = (stick for stick in _sticks(trial) if left_out_by(stick) is None)
    for before, after in itertools.pairwise(counted):
        near = after.at.instant - before.at.instant <= REPEAT_WITHIN
        if after.repeat and near and before.glucose.beyond is None and after.glucose.beyond is None:
            yield before, after


def _sticks(trial: Trial) -> tuple[Stick, ...]:
    no_stick = (MarkKind.CONTROL, MarkKind.STRIP_ERROR)
    return tuple(
        sorted(
            (stick for stick in trial.sticks if not any(stick.marked(kind) for kind in no_stick)),
            key=lambda stick: stick.at.instant,
        )
    )

"""The seal: until the declared end a judgement shows data, cautions and safety, not who is ahead."""

from __future__ import annotations

from collections import Counter

from msgspec.structs import replace

from evenhand.compare.shapes import Layout
from evenhand.compare.wears import last_known
from evenhand.findings.cautions import caution, in_order
from evenhand.findings.findings import Findings
from evenhand.findings.parts import SensorFindings
from evenhand.records.trial import Trial


def is_sealed(trial: Trial, layout: Layout, now: int | None) -> bool:
    """Whether the trial is declared with an end that is not reached, and was not opened.

    `now` as for `has_ended`.
    """
    return not trial.openings and not has_ended(trial, layout, now)


def has_ended(trial: Trial, layout: Layout, now: int | None) -> bool:
    """Whether the declared end is reached; so it is where none was declared.

    `now` (an instant) is when it is judged; without it the last reading or stick stands for it. An end by wears is
    reached when every sensor has so many ended wears.
    """
    question = trial.question
    if question.declared is None:
        return True
    if question.end is not None:
        known = last_known(trial) if now is None else now
        return known is not None and known >= question.end.instant
    if question.end_wears is not None:
        ended = Counter(worn.sensor for worn in layout.worn if worn.ended)
        return all(ended[sensor] >= question.end_wears for sensor in range(len(trial.sensors)))
    return True


TELLING = frozenset(
    {
        "prompted-disagree",
        "marked-change-answer",
        "meter-span-narrow",
        "signs-differ-all-steady",
        "signs-differ-mean-square",
        "uncalibrated-differs",
        "identical-kinds",
        "negative-variance",
        "no-equal-meter",
        "strays-from-sticks",
        "shown-differs",
    }
)
"""Cautions about the answer itself, which a sealed judgement would tell something by."""


def sealed(findings: Findings) -> Findings:
    """The same judgement under seal: no head to head, no numbers about how far off a sensor was, no cautions that
    depend on them; safety stays."""
    kept = [each for each in findings.cautions if each.code not in TELLING]
    return replace(
        findings,
        sealed=True,
        sensors=tuple(_sealed(sensor) for sensor in findings.sensors),
        head_to_head=(),
        reconstruction=None,
        cautions=in_order([*kept, caution("sealed", "trial")]),
    )


def _sealed(sensor: SensorFindings) -> SensorFindings:
    return replace(
        sensor,
        accuracy=None, phases=None, days=None, wear_by_wear=None, levels=None, zones=None,
        against_reconstruction=None, strays=None, lag_minutes=None, pressure_lows=None, calibrations=None,
        alarms=None, ranges=None,
    )  # fmt: skip

"""Judging sticks at which a sensor was dangerously off. Never sealed, never left out."""

from __future__ import annotations

import numpy as np

from evenhand.compare.accuracy import allowed
from evenhand.compare.shapes import Layout
from evenhand.findings.findings import SafetyLine
from evenhand.records.trial import Trial

FAR_OFF = 40.0
"""mg/dL where the stick is below 100 mg/dL, percent of the stick from 100 up."""


def safety_lines(trial: Trial, layout: Layout) -> tuple[SafetyLine, ...]:
    """One line for each judging stick and sensor, in time order: 'missed-low' where the sensor showed in range while
    the stick was below 70 mg/dL (3.9 mmol/L), else 'far-off' where it was 40 mg/dL or 40 % off."""
    pairs = layout.pairs
    lines: list[tuple[int, int, SafetyLine]] = []
    limit = allowed(pairs.stick, FAR_OFF)
    for sensor, record in enumerate(trial.sensors):
        reading = pairs.reading[:, sensor]
        judged = pairs.scored[:, sensor] & pairs.judging
        missed = judged & (pairs.level == 0) & (pairs.reading_level[:, sensor] == 1)
        far = judged & (np.abs(reading - pairs.stick) >= limit - 1e-9)
        for event in np.flatnonzero(missed | far):
            at = int(pairs.at[event])
            code = "missed-low" if missed[event] else "far-off"
            shown, stick = float(reading[event]), float(pairs.stick[event])
            line = SafetyLine(trial.zones.stamp(at).iso, record.name, shown, stick, code)
            lines.append((at, sensor, line))
    return tuple(line for *_, line in sorted(lines, key=lambda each: each[:2]))

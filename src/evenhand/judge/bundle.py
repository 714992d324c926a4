"""Everything a judgement has measured, in one hand: what the cautions look at."""

from __future__ import annotations

from dataclasses import dataclass

from evenhand.compare.common import Terms
from evenhand.compare.ranges import SensorRanges
from evenhand.compare.shapes import Layout
from evenhand.findings.findings import MeterFindings, Primary
from evenhand.findings.parts import SensorFindings
from evenhand.judge.between import Between
from evenhand.judge.pairs import Duel
from evenhand.records.trial import Trial


@dataclass(frozen=True, slots=True)
class Judged:
    """One trial measured. `sensors` and `ranges` are in the trial's order."""

    trial: Trial
    layout: Layout
    terms: Terms
    primary: Primary
    meter: MeterFindings
    sensors: tuple[SensorFindings, ...]
    ranges: tuple[SensorRanges, ...]
    between: Between
    duels: tuple[Duel, ...]

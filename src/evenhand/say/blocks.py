"""A whole judgement as blocks of words: for the terminal now, for other pages later. No boxes, no colour."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Literal

from evenhand.findings.findings import Findings, HeadToHead
from evenhand.say import accuracy, between, fates, numbers, safety
from evenhand.say.answer import answer, chance_words, leaning, notes
from evenhand.say.meter import off
from evenhand.say.mind import answer_sealed, minded
from evenhand.say.must import must_haves
from evenhand.say.proof import HEADING, does_not_prove
from evenhand.say.quiet import quiet_line
from evenhand.stats.estimate import Est
from evenhand.units import Unit, rounded

Kind = Literal["danger", "sentence", "quiet", "numbers", "text", "safety"]


@dataclass(frozen=True, slots=True)
class Block:
    """One part of a judgement: a heading (may be empty), sentences, and rows of label and text."""

    kind: Kind
    heading: str = ""
    lines: tuple[str, ...] = ()
    rows: tuple[tuple[str, str], ...] = ()

    def text(self, width: int = 80) -> str:
        """The block as plain text, no line wider than `width`; labels left, texts in one column."""
        out = textwrap.wrap(self.heading, width)
        for line in self.lines:
            out += textwrap.wrap(line, width, break_long_words=True)
        column = min(max((len(label) for label, _ in self.rows), default=0), width // 2 - 4)
        for label, said in self.rows:
            out += _row(label, said, column, width)
        return "\n".join(out)


def _row(label: str, said: str, column: int, width: int) -> list[str]:
    left = textwrap.wrap(label, column) or [""]
    right = textwrap.wrap(said, width - column - 4) or [""]
    height = max(len(left), len(right))
    left += [""] * (height - len(left))
    right += [""] * (height - len(right))
    return [f"  {one:<{column}}  {two}".rstrip() for one, two in zip(left, right, strict=True)]


def judgement(findings: Findings, unit: Unit) -> list[Block]:
    """The judgement in order: the sentence, what was dangerous, numbers, what it does not prove, cautions, safety."""
    blocks = [Block("sentence", lines=answer(findings, unit))]
    blocks.append(Block("quiet", lines=("; ".join(quiet_line(findings)),)))
    blocks += danger(findings, unit)
    if findings.sealed:
        blocks += coverage(findings)
    else:
        for head in findings.head_to_head:
            blocks.append(
                Block("numbers", f"{head.a} and {head.b}", notes(findings, head, unit), head_rows(head, unit))
            )
        for sensor in findings.sensors:
            rows = (*accuracy.whole(sensor, unit, findings.primary.tolerance), *fates.upkeep(sensor))
            blocks.append(Block("numbers", sensor.name, rows=rows))
        told = between.lines(findings, unit)
        if told:
            blocks.append(Block("text", between.HEADING, told))
        if findings.must_haves:
            blocks.append(Block("text", "Must-haves", must_haves(findings)))
        blocks.append(Block("text", HEADING, does_not_prove(findings)))
    for heading, lines in zip(("Mind this", "Also"), minded(findings), strict=True):
        if lines:
            blocks.append(Block("text", heading, lines))
    return [*blocks, Block("safety", "Safety", safety.CAUTIONS)]


def danger(findings: Findings, unit: Unit) -> list[Block]:
    """Sticks at which a sensor was dangerously off: never sealed; empty where there are none."""
    if not findings.safety:
        return []
    lines = tuple(safety.far_off(line, unit) for line in findings.safety)
    return [Block("danger", safety.misled(findings.safety, tally=not answer_sealed(findings)), lines)]


def coverage(findings: Findings) -> list[Block]:
    """What a sealed trial may show: completeness, and nothing of who is ahead."""
    return [Block("numbers", sensor.name, rows=fates.upkeep(sensor)[:2]) for sensor in findings.sensors]


def head_rows(head: HeadToHead, unit: Unit) -> tuple[tuple[str, str], ...]:
    """The numbers of one pair of sensors: label and text."""
    rows = [
        ("average error, difference", f"{leaning(head.difference, head.a, head.b, unit)}, n {head.pairs}"),
        ("the same, moving sticks in", leaning(head.all_pairs, head.a, head.b, unit)),
        ("the same, prompted sticks in", leaning(head.with_prompted, head.a, head.b, unit)),
        (
            f"mean squares, {head.a} minus {head.b} (the meter's scatter cancels)",
            squares(head.mean_square_difference, unit),
        ),
        (f"within tolerance, {head.a} minus {head.b}", points(head.agreement_difference)),
        ("your meter may read", meter_range(head)),
        (f"next pair, average error of {head.a} over {head.b}", ratio(head.next_ratio)),
        ("chance that the next one is closer", chance_words(head.chance_next_closer)),
    ]
    for name, present in head.right_and_present.items():
        rows.append((f"right and present, {name}", numbers.share(present.all_gaps)))
    return tuple(rows)


def points(est: Est) -> str:
    """A difference of two shares, in percentage points.

    >>> points(Est(8.4, 2.4, 14.4))
    '+8.4 points (95 %: +2.4 to +14.4)'
    """
    return numbers.estimate(est, lambda value: numbers.signed_text(rounded(value, 1)), "points")


def squares(est: Est, unit: Unit) -> str:
    """A difference of mean squares, in the square of the wearer's unit.

    >>> squares(Est(-93.4, -150.0, -37.0), Unit.MG_DL), squares(Est(-93.4), Unit.MMOL_L)
    ('−93 mg²/dL² (95 %: −150 to −37)', '−0.29 mmol²/L² (no interval: not known)')
    """
    return numbers.squared(est, unit, sign=True)


def ratio(est: Est) -> str:
    """A ratio of errors; below 1 the first would be the closer one.

    >>> ratio(Est(0.58, 0.22, 1.55))
    '0.58 (95 %: 0.22 to 1.55)'
    """
    return numbers.estimate(est, lambda value: rounded(value, 2))


def meter_range(head: HeadToHead) -> str:
    """The meter span in few words: how far off the meter may be with the answer unchanged."""
    low, high = head.meter_span_percent
    if head.difference.value is None:
        return "not told: there is no difference yet"
    ends = (
        "15 % low or more" if low is None else off(low),
        "15 % high or more" if high is None else off(high),
    )
    return f"{ends[0]} to {ends[1]}, the answer unchanged"

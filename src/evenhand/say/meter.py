"""The meter in words: how far it could be off with the answer unchanged, and what is known of it."""

from __future__ import annotations

from evenhand.findings.findings import Findings, HeadToHead, MeterFindings
from evenhand.say.numbers import counted, estimate, listed, minus, share, signed
from evenhand.units import Unit, rounded

_REASONS = {
    "plan": "planned",
    "habit": "by habit",
    "prompted": "prompted",
    "calibration": "for calibration",
    "unknown": "without a stated reason",
}


def off(value: float) -> str:
    """How far a meter reads off, in words.

    >>> off(-4.0), off(2.5), off(0.0)
    ('4 % low', '2.5 % high', 'exactly right')
    """
    text = rounded(abs(value), 1).removesuffix(".0")
    if text == "0":
        return "exactly right"
    return f"{text} % {'low' if value < 0 else 'high'}"


def span_words(head: HeadToHead) -> str:
    """The meter span as a sentence."""
    low, high = head.meter_span_percent
    what = "'Not settled'" if head.answer.state == "not settled" else "The answer"
    if low is None and high is None:
        return f"{what} stays the same if your meter reads up to 15 % low or high."
    if low is None:
        assert high is not None
        return f"{what} holds if your meter reads from at least 15 % low (not checked further) up to {off(high)}."
    if high is None:
        return f"{what} holds if your meter reads from {off(low)} up to at least 15 % high (not checked further)."
    return f"{what} holds if your meter reads between {off(low)} and {off(high)}."


def span_title(findings: Findings) -> str:
    """The heading of the meter's part of a page."""
    if not findings.head_to_head or findings.head_to_head[0].difference.value is None:
        return "Everything here is measured against one meter"
    return span_words(findings.head_to_head[0]).rstrip(".")


def known(meter: MeterFindings) -> tuple[str, ...]:
    """What is known of the meter, one sentence each."""
    reasons = [f"{count} {_REASONS.get(name, name)}" for name, count in meter.reasons.items() if count]
    lines = [
        f"{counted(meter.sticks, 'stick')}: {listed(reasons)}."
        if reasons
        else f"{counted(meter.sticks, 'stick')}."
    ]
    if meter.repeat_sd_percent is not None and meter.repeat_sd_percent.value is not None:
        lines.append(
            f"Pricked twice in a row it differed from itself by {share(meter.repeat_sd_percent, 1)} "
            f"(repeat SD, {counted(meter.repeats, 'planned repeat')}). That is scatter; it says nothing about reading high or low throughout."
        )
    else:
        lines.append("There are too few planned repeats to say how much it scatters.")
    lines.append(_control(meter))
    if meter.lots:
        lots = listed(f"{lot.lot} ({lot.sticks})" for lot in meter.lots)
        lines.append(f"Strip {'lot' if len(meter.lots) == 1 else 'lots'}: {lots}.")
    return tuple(lines)


def _control(meter: MeterFindings) -> str:
    if not meter.control:
        return "No control solution was logged, so whether it reads high or low is not known."
    inside = sum(check.inside is True for check in meter.control)
    return f"Control solution: {inside} of {counted(len(meter.control), 'check')} inside the printed range."


def apart(head: HeadToHead, unit: Unit) -> tuple[tuple[str, str], ...]:
    """Numbers that tell meter and sensors apart: label and text. Variances are in squared units and stay in mg²/dL²."""
    rows = [
        (f"{head.a} minus {head.b}, read side by side", signed(head.between_sensors.mean_difference, unit)),
    ]
    for name, est in (
        ("meter", head.variances.meter),
        (head.a, head.variances.a),
        (head.b, head.variances.b),
    ):
        text = estimate(est, lambda value: minus(rounded(value)), "mg²/dL²")
        rows.append(
            (f"error variance of the {name}" if name == "meter" else f"error variance of {name}", text)
        )
    return tuple(rows)

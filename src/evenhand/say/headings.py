"""Headings that say what was found, chosen from the numbers. They compare what is there and compute nothing new."""

from __future__ import annotations

from evenhand.findings.findings import Findings, HeadToHead
from evenhand.findings.looks import exploratory_looks
from evenhand.findings.parts import Accuracy, SensorFindings
from evenhand.say.dates import day
from evenhand.say.mind import answer_sealed
from evenhand.say.numbers import counted, in_words, listed
from evenhand.units import Unit, shown_difference

PHASES = (("first_24h", "the first 24 h"), ("middle", "the middle"), ("last_24h", "the last 24 h"))
PHASE_LABELS = ("first 24 h", "middle", "last 24 h")


def balance_title(head: HeadToHead, unit: Unit) -> str:
    """The finding of the balance picture."""
    value = head.difference.value
    if value is None:
        return f"Too little yet to hold {head.a} against {head.b}"
    apart = f"{shown_difference(abs(value), unit)} {unit}"
    state, who = head.answer.state, head.answer.who
    if state == "not settled":
        return f"{head.a} and {head.b}: not settled"
    if state == "equal":
        lead = f"{who} {apart} closer to your meter, " if who else f"{head.a} and {head.b} "
        return f"{lead}equal within the margin"
    clear = (
        "clear of the margin"
        if head.answer.beyond_margin == "yes"
        else "past zero; whether past the margin is open"
    )
    return f"{who} was {apart} closer to your meter: {clear}"


def traces_title(findings: Findings, unit: Unit) -> str:
    """The finding of the traces: which sensor read higher, side by side."""
    names = [sensor.name for sensor in findings.sensors]
    if answer_sealed(findings):
        return (
            f"{listed(names)} so far; when you pricked stands at the top"
            if names
            else "When you pricked, so far"
        )
    if not findings.head_to_head:
        return f"{listed(names)} over your sticks" if names else "Your sticks"
    head = findings.head_to_head[0]
    apart = head.between_sensors.mean_difference
    if apart.value is None or apart.low is None or apart.high is None:
        return f"{listed(names)} over your sticks"
    higher, lower = (head.a, head.b) if apart.value > 0 else (head.b, head.a)
    other = "; on other days it could be the other way" if apart.low < 0 < apart.high else ""
    return f"Side by side, {higher} read {shown_difference(abs(apart.value), unit)} {unit} higher than {lower} on average{other}"


def stands_out(part: Accuracy, rest: Accuracy) -> bool:
    """Whether the whole interval of one error lies above that of another."""
    return part.mad.low is not None and rest.mad.high is not None and part.mad.low > rest.mad.high


def _told(part: Accuracy) -> bool:
    """Whether a part has an interval, so that it can be compared at all."""
    return part.mad.low is not None


def worst_phase(sensor: SensorFindings) -> str | None:
    """The end phase of the wear that stands out above its middle, None where neither does or both are alike."""
    if sensor.phases is None:
        return None
    ends = [(sensor.phases.first_24h, PHASES[0][1]), (sensor.phases.last_24h, PHASES[2][1])]
    out = [(part.mad.value or 0.0, words) for part, words in ends if stands_out(part, sensor.phases.middle)]
    return max(out)[1] if out else None


def phase_title(findings: Findings) -> str:
    """'In the first 24 h Fern and Slate were farther off than in the middle', or that none stood out."""
    found: dict[str, list[str]] = {}
    for sensor in findings.sensors:
        words = worst_phase(sensor)
        if words:
            found.setdefault(words, []).append(sensor.name)
    if not found:
        known = any(
            sensor.phases
            and _told(sensor.phases.middle)
            and (_told(sensor.phases.first_24h) or _told(sensor.phases.last_24h))
            for sensor in findings.sensors
        )
        return "No part of the wear stood out" if known else "Too few sticks to compare the parts of a wear"
    told = [
        f"in {words} {listed(names)} {'was' if len(names) == 1 else 'were'} farther off than in the middle"
        for words, names in found.items()
    ]
    return listed(told)[0].upper() + listed(told)[1:]


def day_title(findings: Findings) -> str:
    """'2 and 12 March stood out for Fern', or that none did."""
    worst = []
    for sensor in findings.sensors:
        if sensor.accuracy is None or not sensor.days:
            continue
        out = [one for one in sensor.days if stands_out(one.accuracy, sensor.accuracy.all)]
        if len(out) > 3:
            worst.append(f"{in_words(len(out)).capitalize()} days stood out for {sensor.name}")
        elif out:
            dates = listed(day(one.date, year=False) for one in out)
            worst.append(f"{dates} stood out for {sensor.name}")
    if worst:
        return listed(worst)
    known = any(_told(one.accuracy) for sensor in findings.sensors for one in sensor.days or ())
    return "No single day stood out" if known else "Too few sticks a day to compare days"


def level_title(findings: Findings) -> str:
    """Which glucose level the sensors were farthest off at, or that none stood out."""
    found: dict[str, list[str]] = {}
    for sensor in findings.sensors:
        if sensor.levels is None:
            continue
        table = sensor.levels.by_stick
        for part, words in ((table.below, "lows"), (table.above, "highs")):
            if stands_out(part, table.in_range):
                found.setdefault(words, []).append(sensor.name)
    told = [
        f"{listed(names)} {'was' if len(names) == 1 else 'were'} farther off at {words}"
        for words, names in found.items()
    ]
    missing = [
        words
        for name, words in (("below", "lows"), ("above", "highs"))
        if not any(
            sensor.levels and _told(getattr(sensor.levels.by_stick, name)) for sensor in findings.sensors
        )
    ]
    few = f"too few {' and '.join(missing)} to tell" if missing else ""
    if told:
        return f"{listed(told)}{'; ' + few if few else ''}"
    if len(missing) == 2:
        return f"{few[0].upper()}{few[1:]}"
    return f"No glucose level stood out{'; ' + few if few else ''}"


def looked(findings: Findings) -> str:
    """How many looks were taken beside the answer, so that nobody is surprised by the odd one out."""
    looks = exploratory_looks(findings.sensors)
    if not looks:
        return "Too few sticks for any look beside the answer."
    return (
        f"Beside the answer, {counted(looks, 'look')} at the same sticks, all tables counted: with intervals at 95 % "
        f"about {round(looks / 20)} of so many leave the truth out by chance alone."
    )

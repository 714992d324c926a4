"""The answer in one sentence: which sensor was closer to the wearer's meter, on which wears, and what of the next."""

from __future__ import annotations

from collections.abc import Iterator

from evenhand.findings.findings import AnsweredDifference, ChanceNext, Findings, HeadToHead, Primary, ToSettle
from evenhand.say.dates import day
from evenhand.say.margin import named, purpose
from evenhand.say.numbers import counted, error, level, listed, margin, percent
from evenhand.say.reasons import reason
from evenhand.stats.estimate import Est
from evenhand.units import Unit, shown_difference


def answer(findings: Findings, unit: Unit) -> tuple[str, ...]:
    """The answer: one sentence, or one for each pair where three sensors were worn and none was declared."""
    if findings.sealed:
        return (_sealed(findings),)
    if not findings.head_to_head:
        return (_alone(findings, unit),)
    declared = findings.primary.pair
    heads = [head for head in findings.head_to_head if declared is None or {head.a, head.b} == set(declared)]
    return tuple(
        sentence(head, findings.primary, unit, first=place == 0)
        for place, head in enumerate(heads or findings.head_to_head)
    )


def sentence(head: HeadToHead, primary: Primary, unit: Unit, *, first: bool = True) -> str:
    """The answer for one pair of sensors. `first`: the first time on its page that anything is 'closer'."""
    start = "On these wears" if first else "On the same wears"
    found = _found(head, primary, unit)
    return f"{start}, {found}{_turned(head)}; {next_sensor(head)}."


def _found(head: HeadToHead, primary: Primary, unit: Unit) -> str:
    who = head.answer.who
    other = head.b if who == head.a else head.a
    if who is None and head.answer.state == "equal":
        return f"{head.a} and {head.b} were equally close to your meter {purpose(primary)}: less than {margin(primary.margin, unit)} apart"
    if who is None:
        return f"it is not settled whether {head.a} or {head.b} was closer to your meter"
    closer = f"{who} was closer to your meter than {other}"
    if head.answer.beyond_margin == "yes":
        return f"{closer}, by more than {named(primary, unit)}"
    if head.answer.beyond_margin == "no":
        return f"{closer}, but by less than {named(primary, unit)}"
    return f"{closer} (whether by more than {named(primary, unit)} is open)"


def _turned(head: HeadToHead) -> str:
    """What the sentence must admit: all sticks, or mean squares, point the other way."""
    turned = [
        words
        for est, words in (
            (head.all_pairs, "with all sticks, moving ones included"),
            (head.mean_square_difference, "when large errors count more"),
        )
        if opposite(est, head.difference)
    ]
    return f" ({' and '.join(turned)}, it points the other way)" if turned else ""


def next_sensor(head: HeadToHead) -> str:
    """What follows for the next sensor out of the box, to end the same sentence."""
    chance = head.chance_next_closer
    if chance.chance is not None and chance.who is not None:
        other = head.b if chance.who == head.a else head.a
        return f"the chance that your next {chance.who} is closer than your next {other} is {chance_words(chance)}"
    if head.answer.state == "not settled":
        return "so nothing follows yet for your next sensors"
    return f"what your next sensors will do cannot be told from this: {reason(chance.why)}"


def chance_words(chance: ChanceNext) -> str:
    """A chance as a range, never above 85 %."""
    if chance.chance is None:
        return f"not told: {reason(chance.why)}"
    low, high = chance.range or (chance.chance, chance.chance)
    least, most = (percent(100 * min(end, 0.85)) for end in (low, high))
    told = f"about {percent(100 * min(chance.chance, 0.85))}"
    if least == most:
        return told
    return f"{told} ({least.removesuffix(' %')} to {most} under other assumptions of how wears differ)"


def to_settle(settle: ToSettle | None) -> str | None:
    """What would settle it, in what binds; None where it is settled or not known."""
    if settle is None:
        return None
    if settle.kind == "no":
        return "No number of further sticks on wears like these would settle it."
    if settle.about is None:
        return f"More {settle.kind} would be needed to settle it; how many cannot be told yet."
    about = counted(settle.about, settle.kind.removesuffix("s"))
    return f"About {about} more, declared beforehand, would settle it in about four of five such trials, if the true difference is the one seen here."


def notes(findings: Findings, head: HeadToHead, unit: Unit) -> tuple[str, ...]:
    """What must stand beside an answer: prompted sticks, marks set later, calibrations, what would
    settle it."""
    said = [
        _prompted(head),
        *_calibrated(findings, head, unit),
    ]
    if head.with_marked is not None:
        same = head.with_marked.answer == head.answer
        said.append(
            f"Without the sticks that were marked afterwards the answer {'is the same' if same else 'is another'}: "
            f"{_answered(head, head.with_marked, unit)}."
        )
    settle = (
        to_settle(head.to_settle)
        if head.pairs
        else "There is nothing yet from which to tell what would settle it."
    )
    return tuple(line for line in (*said, settle) if line)


def _prompted(head: HeadToHead) -> str:
    if not opposite(head.with_prompted, head.difference):
        return ""
    return "With the sticks in that were prompted, by an alarm or an odd reading, it points the other way."


def _calibrated(findings: Findings, head: HeadToHead, unit: Unit) -> Iterator[str]:
    counts = {
        sensor.name: len(sensor.calibrations or ())
        for sensor in findings.sensors
        if sensor.name in (head.a, head.b)
    }
    if any(counts.values()):
        told = listed(
            f"{name} {count} times" if count != 1 else f"{name} once" for name, count in counts.items()
        )
        tuned = [name for name, count in counts.items() if count]
        other = "; the other was not" if len(tuned) == 1 else ""
        yield f"Calibrated: {told}. {listed(tuned)} {'was' if len(tuned) == 1 else 'were'} tuned to this meter{other}."
    if head.uncalibrated is not None:
        yield f"From uncalibrated stretches alone: {_answered(head, head.uncalibrated, unit)}."


def _answered(head: HeadToHead, other: AnsweredDifference, unit: Unit) -> str:
    words = answered(head, other.answer.state, other.answer.who)
    return f"{words}, {leaning(other.difference, head.a, head.b, unit)}"


def opposite(one: Est, other: Est) -> bool:
    """Whether two differences point to different sensors.

    >>> opposite(Est(1.0), Est(-2.0)), opposite(Est(1.0), Est.missing("too-few-days"))
    (True, False)
    """
    return one.value is not None and other.value is not None and one.value * other.value < 0


def answered(head: HeadToHead, state: str, who: str | None) -> str:
    """An answer in a few words, for use beside the whole sentence."""
    if who is not None:
        return f"{who} closer" + (", but within the margin" if state == "equal" else "")
    return f"{head.a} and {head.b} equal within the margin" if state == "equal" else "not settled"


def _sealed(findings: Findings) -> str:
    until = findings.primary.sealed_until
    end = "the declared end"
    if until is not None and until.time is not None:
        end = day(until.time)
    elif until is not None and until.wears is not None:
        end = f"{counted(until.wears, 'wear')} of each sensor are done"
    return f"The answer on these wears stays sealed until {end}; what your meter says about the sensors is shown then, and what follows for the next sensor with it."


def _alone(findings: Findings, unit: Unit) -> str:
    measured = [sensor for sensor in findings.sensors if sensor.accuracy is not None]
    if len(measured) != 1:
        return "There is nothing to hold against your meter yet on these wears, so nothing follows for the next sensor."
    sensor = measured[0]
    assert sensor.accuracy is not None
    mad = sensor.accuracy.all.mad
    if mad.value is None:
        return f"How far {sensor.name} was from your meter on these wears cannot be told: {reason(mad.why)}; nothing follows yet for the next sensor."
    return f"On these wears, {sensor.name} was {error(mad, unit)} from your meter on average; with one kind of sensor there is nothing to compare it with, and the next one may do otherwise."


def leaning(est: Est, a: str, b: str, unit: Unit) -> str:
    """A difference with its interval, each end saying which sensor it leans to.

    >>> leaning(Est(-1.9, -5.0, 1.2), "Fern", "Slate", Unit.MG_DL)
    '1.9 mg/dL towards Fern (95 %: 5.0 towards Fern to 1.2 towards Slate)'
    >>> leaning(Est(-5.6, -7.7, -3.5), "Fern", "Slate", Unit.MG_DL)
    '5.6 mg/dL towards Fern (95 %: 3.5 to 7.7)'
    """
    if est.value is None:
        return error(est, unit)
    lead = _towards(est.value, a, b, unit, named=True)
    if est.low is None or est.high is None:
        return f"{lead} (no interval: {reason(est.why)})"
    if est.low < 0 < est.high:
        ends = (_towards(end, a, b, unit) for end in (est.low, est.high))
        return f"{lead} ({level(est.level)}: {' to '.join(ends)})"
    low, high = sorted((abs(est.low), abs(est.high)))
    return f"{lead} ({level(est.level)}: {shown_difference(low, unit)} to {shown_difference(high, unit)})"


def _towards(value: float, a: str, b: str, unit: Unit, *, named: bool = False) -> str:
    text = shown_difference(abs(value), unit)
    text = f"{text} {unit}" if named else text
    return f"{text} towards {a if value < 0 else b}" if float(shown_difference(value, unit)) else text

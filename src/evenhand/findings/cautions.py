"""Every caution a judgement can carry, by code, with its sentence; and every reason a number can be missing.

Codes are part of the contract: they are added, never renamed. Numbers reach a sentence as whole numbers or as
text already rounded by `units`; what a caution is about (a sensor's name, 'meter', 'trial', a file's name) can be
named in it as {subject}. `docs/findings.md` lists both tables.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from string import Formatter
from types import MappingProxyType

from evenhand.findings.findings import Caution

SETTINGS = {
    "zone-from-computer": "The time zone was taken from this computer ({zone}). If you lived elsewhere during the trial, every time of day is off by the difference.",
    "unknown-warm-up": "The warm-up of {subject} is not known; none was taken, so readings from its first minutes count.",
    "unknown-limits": "The measuring limits of {subject} are not known; a reading counts as 'at least that far' only where the file says so in words.",
    "unknown-life": "The rated life of {subject} is not known; how many of them last that long is left out.",
    "unknown-price": "The price of {subject} is not known; its cost is left out.",
    "unknown-interval": "How often {subject} stores a reading is not known; {minutes} min was taken from its readings.",
    "driver-not-recorded": "No sensor is recorded as the one the insulin was set by. If you or a pump acted on one, its slow errors show less in its own time in range.",
    "sensor-lot-unknown": "The lot of {count} of the {of:wear|wears} of {subject} is not recorded.",
    "no-policy": "No policy for calibrations was declared; all stretches count as they were used.",
}

DATA = {
    "no-sticks": "There is no fingerstick: nothing can be judged against your meter.",
    "no-judging-sticks": "None of {count:fingerstick|fingersticks} can judge: each was prompted, a calibration, outside every wear or left out for its mark.",
    "no-readings": "{subject} has no readings.",
    "no-wear": "{subject} was never worn and has no readings.",
    "one-sensor": "There is one sensor: it is held against your meter alone, with no other beside it.",
    "few-pairs": "{subject}: both were reading at {pairs:stick|sticks} on {days:day|days}. Below 30 sticks or 7 days nothing is settled, whatever the numbers.",
    "uncovered-readings": "{count:reading|readings} of {subject} outside every wear, not counted.",
    "inferred-wears": "No wear of {subject} is logged: each run of readings without a gap over 12 h was taken as one ({count:run|runs}). Insertion, warm-up and last day are guesses.",
    "open-wear": "Wear {number} of {subject} has no removal: it counts as still worn, and has no last day yet.",
    "open-proposal": "{subject}: {text} This is neither accepted nor refused, and the values stand as written.",
    "at-least": "{count:pair|pairs} of {subject} with a value beyond a measuring limit: it stands at the limit, so the errors are at least as large as told.",
    "gaps-unexplained": "{subject} was without readings for {hours} h, and whether the sensor or the phone was the reason is not noted.",
    "reading-times": "In half of its pairs the reading of {subject} lies {seconds} s or more {way} the stick: a clock may be off.",
    "sticks-outside-hours": "{count:stick|sticks} outside the hours the question asks about, counted under 'night' alone.",
    "sticks-left-out": "Left out of judging for what they are: {what}.",
    "wear-left-out": "Wear {number} of {subject} does not count in the numbers over whole wears: {why}.",
    "stretch-left-out": "{subject}: the time in which wear {first} and wear {second} ran together does not count in the difference: {why}.",
    "few-pricked-days": "Wear {number} of {subject} has sticks that count on {days:day|days} only. Below 3 the answer is not settled.",
    "few-visits": "{subject}: fewer than six separate moments with sticks of the kind asked about; no interval is given.",
    "stream-not-judged": "The question asks about what {subject} sent live; judged is what its file kept.",
    "shown-differs": "What the screen of {subject} showed and what its file keeps differ by {difference} on average, at {count:stick|sticks}.",
}

STICKS = {
    "unknown-sticks": "{count} of {of:stick|sticks} without a stated reason. They judge here because nothing was declared beforehand; any that were taken because a reading looked odd make the difference look larger than it is.",
    "unknown-sticks-left-out": "{count} of {of:stick|sticks} without a stated reason, which do not judge, because this trial was declared.",
    "prompted-disagree": "With the prompted sticks weighed in, the difference between {subject} is {with_prompted} instead of {difference}: the two disagree, and the answer rests on the planned and habitual sticks alone.",
    "marked-sticks": "{count:stick|sticks} with a mark that was set after readings were seen. Such a stick judges; the answer without it stands beside.",
    "marked-change-answer": "Without the sticks marked afterwards the answer for {subject} would be another one.",
    "few-repeats": "Planned repeats: {count}. Below 10 the meter's scatter is taken as 5 %, from no measurement of this meter.",
    "no-control": "No check with control solution is noted: whether the meter read right before the trial is not known.",
    "control-outside": "{count:check|checks} with control solution outside the printed range.",
    "strip-lots": "The strips came from {count:lot|lots}; lots can differ by several percent.",
    "several-meters": "The sticks were measured with {count:meter|meters} ({names}); meters can differ by several percent.",
}

SAFETY = {
    "both-warming-up": "For {hours} h no sensor was past its warm-up: nothing guarded you then.",
    "drives-insulin": "The insulin was set by {subject} for {hours} h. Its slow errors come out in the blood the other way: its own time in range looks closer to the aim than the blood's, and at lows it reads high.",
}

ANSWER = {
    "undeclared": "Nothing was declared before the data: the question, the margin and the end were chosen with the readings in sight.",
    "declared-late": "The question was declared on day {day}, after {sticks:stick|sticks}.",
    "explored": "The trial went on beyond its declared end, or was read otherwise than declared: this answer is explored, not confirmed.",
    "opened-early": "The seal was broken on {days}.",
    "looks-exceeded": "{taken:look was|looks were} taken at the answer, and {declared} declared: the intervals do not allow for that, so the answer is explored, not confirmed.",
    "at-look": "This is declared look {look} of {of}: the answer alone is open, for a day. It ends the trial only if it is closer by more than the margin, or equal; otherwise the seal closes again.",
    "sealed": "This trial is sealed until its declared end: who is ahead is not shown.",
    "method-raised": "The trial was declared under method {declared} and is judged by method {method}.",
    "exploratory-looks": "Phases, levels, days and the like are {count:look|looks} at the same sticks. With intervals at 95 % about {chance:of them leaves|of them leave} the truth out by chance alone; none is an answer.",
    "identical-kinds": "Two sensors of one and the same kind still give a named winner of their wears in about four of ten trials invented with sensors that vary as ours do.",
    "meter-span-narrow": "The answer for {subject} holds only if your meter reads between {low} and {high}. Meters of one make differ by more than that.",
    "signs-differ-all-steady": "{subject}: over all pairs the difference points the other way than over the pairs asked about.",
    "signs-differ-mean-square": "{subject}: in mean squares, where the meter's random error cancels, the difference points the other way.",
    "calibrations": "{subject} was calibrated {count:time|times} and so tuned to this meter.",
    "calibrated-one-side": "{subject} was tuned to this meter; the other was not.",
    "calibrated-against-policy": "{subject} was calibrated although none was to be; what followed does not count in the answer.",
    "calibration-into-unknown": "{count:calibration stick|calibration sticks} without a word on which sensor it was typed into: no wear is split there.",
    "uncalibrated-differs": "From the stretches without calibrations alone the answer for {subject} would be another one.",
    "three-sensors": "Three sensors give three answers, each at 98.3 % (96.7 % for equal), because no pair was declared.",
    "other-pairs-unanswered": "One pair of sensors was declared; the others get no answer here.",
    "shared-lag": "Both sensors sit in the same fluid: what they trail the blood by in common counts as meter error when meter and sensors are told apart.",
    "negative-variance": "Telling meter and sensors apart gives a negative share for {what} of {subject}: there are too few pairs for it.",
    "no-equal-meter": "Your meter scatters as much as the sensors differ from it: {subject} cannot be called equal against it.",
}  # fmt: skip

NEXT = {
    "one-wear": "{subject}: one wear cannot tell the kinds apart.",
    "two-wears": "{subject}: two wears of two identical kinds point the same way half the time.",
    "one-lot": "All wears of {subject} came from one lot; what is said of the next one speaks of this lot.",
    "next-priors": "What is said of the next sensors rests on assumptions of this project about how much wears differ, not on many people's trials.",
}

TABLES = {
    "by-level-selection": "Sorted by the stick, two equal sensors without bias read about 2.7 mg/dL (0.15 mmol/L) high where the stick is low; sorted by the sensor, about 5.7 mg/dL (0.32 mmol/L) low. The two tables are not mixed.",
    "zones-from-memory": "The corners of the error grid are from memory, not read from its publication.",
    "few-days-for-ranges": "The times in range of {subject} rest on {days:day|days}; below 14 they say little about other days.",
    "few-readings-for-ranges": "The times in range of {subject} rest on {percent} % of the readings expected; below 70 % they may be of the wrong hours.",
    "strays-from-sticks": "Strays of {subject} are told from sticks alone: two or more in a row out of tolerance on the same side. Between sticks nothing is known.",
}

BETWEEN = {
    "reconstruction-withheld": "Blood glucose between sticks is not told for this trial: {why}. What is said of its alarms and strays rests on sticks alone.",
    "reconstruction-limits": "The estimate of blood glucose between sticks cannot see an offset that all sensors share between sticks, nor that your meter reads high or low; it makes no part of the answer.",
    "reconstruction-without": "{subject}: against blood glucose estimated without it, its average error comes out as {without} mg/dL, outside the interval around {with_it} mg/dL that was found with it. One of the two is wrong by more than it says.",
    "lag-from-prior": "By how much the sensors trail blood could hardly be learnt from this trial; between sticks a usual lag was taken.",
    "lag-extreme": "The lag between blood and the sensors comes out as {minutes} min. Outside 5 to 12 min the estimate between sticks has been seen to be wrong by more than it says.",
    "clock-apart": "{subject} trails {other} by {minutes} min. Two sensors differ by a few minutes; this looks like a clock, or a zone, that was set wrong.",
    "pressure-lows-open": "{count:stretch|stretches} of the night in which {subject} alone fell away, as when it is lain on; of such stretches in invented trials one in three was that. They count in every number; only the estimate between sticks leaves them out. Say what they were: evenhand note pressure, or note pressure no, with --from and --to.",
    "sticks-out-of-fit": "Left out of the estimate between sticks, because far from everything else: {count:stick|sticks}. What is left out there judges as ever.",
    "alarms-rehearsed": "Alarms are rehearsed from the readings kept, at 70 mg/dL (3.9 mmol/L), at once, silent for 30 min afterwards; your own may be set otherwise.",
}

CAUTIONS: Mapping[str, str] = MappingProxyType(
    {**SETTINGS, **DATA, **STICKS, **SAFETY, **ANSWER, **NEXT, **TABLES, **BETWEEN}
)
"""Code to sentence; what stands in braces is filled in."""

SAFETY_CODES: Mapping[str, str] = MappingProxyType(
    {
        "far-off": "The sensor was 40 mg/dL (2.2 mmol/L) off where the stick was below 100 mg/dL (5.6 mmol/L), or 40 % off from there up.",
        "missed-low": "The sensor showed in range while the stick was below 70 mg/dL (3.9 mmol/L).",
    }
)
"""What a line of `safety` means."""

REASONS: Mapping[str, str] = MappingProxyType(
    {
        "no-pairs": "there is no pair of this kind",
        "no-wear-counted": "no wear has enough sticks to count",
        "few-visits": "there are too few separate moments with a stick",
        "one-pricked-day": "all its sticks lie on one day",
        "no-prompted": "no stick of this kind was prompted",
        "no-eligible-minutes": "there was no time at which such a stick could have been taken",
        "zero-estimate": "an estimate of zero has no interval on this scale",
        "no-data": "there is nothing to measure",
        "not-defined": "it is not defined for what there is",
        "too-few-groups": "there are too few days",
        "no-spread": "there is no spread at all",
        "life-unknown": "the rated life is not known",
        "not-followed": "no wear was followed that long",
        "no-wears": "no stretch in which both ran together counts",
        "one-wear": "there is one wear of a sensor",
        "two-wears": "there are two wears of a sensor",
        "no-readings": "there are no readings that count",
        "few-sticks": "it takes at least 25 sticks that can be used",
        "few-sticks-a-day": "it takes at least two sticks a day",
        "few-days": "it takes sticks on at least three days",
        "one-sensor": "it takes two sensors, each to check what is said of the other",
        "not-solved": "no estimate could be worked out from these numbers",
        "held-out-days": "sticks of days held out did not fall where it said they would",
        "spread": "the sticks scatter about it otherwise than it says",
        "dropped": "too many sticks lie far from it",
        "meter": "the sticks scatter too much",
        "curvature": "several explanations fit these readings alike",
        "not-converged": "no best explanation of these readings was found",
        "no-reconstruction": "blood glucose between sticks is not told for this trial",
        "no-alarms": "no alarm sounded",
        "no-lows": "there was hardly a low",
        "no-nights": "no night was covered",
        "too-few": "there are too few points at which both were reading",
        "at-the-edge": "no shift that was tried fits best",
        "few-moving-sticks": "too few sticks were taken while glucose moved",
    }
)
"""Why a number, an interval or a wear is missing (`why` in the contract): code to a phrase."""


class _Counted(Formatter):
    """Fills '{count:pair|pairs}' with '1 pair' or '2 pairs'."""

    def format_field(self, value: object, format_spec: str) -> str:
        one, _, more = format_spec.partition("|")
        if not format_spec:
            return str(value)
        return f"{value} {one if str(value) == '1' else more}"


_COUNTED = _Counted()


def caution(code: str, subject: str, **numbers: int | str) -> Caution:
    """The caution of that code about `subject`; `numbers` fill its sentence.

    Raises KeyError for a code that is not in the catalogue or a number that its sentence needs and did not get.

    >>> caution("uncovered-readings", "Fern", count=12).text
    '12 readings of Fern outside every wear, not counted.'
    """
    return Caution(code, subject, _COUNTED.vformat(CAUTIONS[code], (), {"subject": subject, **numbers}))


def needs(code: str) -> frozenset[str]:
    """The names that the sentence of a code is filled with.

    >>> sorted(needs("few-pairs"))
    ['days', 'pairs', 'subject']
    """
    return frozenset(name for _, name, _, _ in Formatter().parse(CAUTIONS[code]) if name)


def in_order(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """Cautions in the order of the catalogue, each once."""
    place = {code: number for number, code in enumerate(CAUTIONS)}
    return tuple(sorted(dict.fromkeys(cautions), key=lambda each: place[each.code]))

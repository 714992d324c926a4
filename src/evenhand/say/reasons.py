"""Why a number is missing: the code of a judgement in words."""

from __future__ import annotations

_WORDS = {
    "too-few-visits": "too few separate visits to the meter",
    "too-few-pairs": "too few sticks with a reading beside them",
    "too-few-days": "too few days with a stick",
    "too-few-wears": "too few wears",
    "too-few-sticks": "too few sticks",
    "too-few-repeats": "too few planned repeats",
    "few-visits": "too few separate moments with a stick",
    "one-pricked-day": "all its sticks lie on one day",
    "no-prompted": "no stick of this kind was prompted",
    "no-eligible-minutes": "there was no time at which such a stick could have been taken",
    "no-wear-counted": "no wear has enough sticks to count",
    "zero-estimate": "an estimate of zero has no interval",
    "no-data": "there is nothing to measure",
    "not-defined": "it is not defined for what there is",
    "too-few-groups": "too few days",
    "too-few": "too few of them",
    "life-unknown": "the rated life is not known",
    "not-followed": "no wear was followed that long",
    "not-computed": "this version does not compute it",
    "no-pairs": "no stick had a reading beside it",
    "no-sticks": "no sticks",
    "no-readings": "there are no readings that count",
    "few-sticks": "it takes at least 25 sticks that can be used",
    "few-sticks-a-day": "it takes at least two sticks a day",
    "few-days": "it takes sticks on at least three days",
    "not-solved": "no estimate could be worked out from these numbers",
    "held-out-days": "sticks of days held out did not fall where it said they would",
    "spread": "the sticks scatter about it otherwise than it says",
    "dropped": "too many sticks lie far from it",
    "meter": "the sticks scatter too much",
    "curvature": "several explanations fit these readings alike",
    "not-converged": "no best explanation of these readings was found",
    "no-repeats": "no planned repeats",
    "no-shown": "no values shown were noted",
    "no-price": "no price was given",
    "no-life": "the rated life is not known",
    "unknown-life": "the rated life is not known",
    "unknown-price": "no price was given",
    "no-common-pairs": "no stick had a reading from both sensors",
    "no-spread": "all values are alike",
    "no-wears": "no stretch in which both ran together counts",
    "one-wear": "one wear cannot tell the kinds apart",
    "two-wears": "two wears of two identical kinds point the same way half the time",
    "under-3-wears": "it takes at least three wears of each",
    "estimate-zero": "the estimate is zero",
    "zero": "the estimate is zero",
    "sealed": "sealed until the declared end",
    "later": "this version does not compute it yet",
    "not-yet": "this version does not compute it yet",
    "later-release": "this version does not compute it yet",
    "no-reconstruction": "blood glucose between sticks is not told for this trial",
    "no-alarms": "no alarm sounded",
    "no-lows": "there was hardly a low",
    "no-nights": "no night was covered",
    "at-the-edge": "no shift that was tried fits best",
    "few-moving-sticks": "too few sticks were taken while glucose moved",
    "one-sensor": "it takes two sensors, each to check what is said of the other",
    "three-sensors": "no pair of sensors was declared",
    "short-wear": "the wear was too short",
    "s-not-below-r": "the meter scatters as much as the sensors differ from it",
}


def reason(code: str | None) -> str:
    """The words for a reason's code; a code that is not listed is written out.

    >>> reason("too-few-days"), reason("some_new-code"), reason(None)
    ('too few days with a stick', 'some new code', 'not known')
    """
    if not code:
        return "not known"
    plain = code.replace("_", "-")
    return _WORDS.get(plain, plain.replace("-", " "))

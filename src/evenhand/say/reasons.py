"""Why a number is missing: the code of a judgement in words; the contract's own, or shorter ones that fit a row."""

from __future__ import annotations

from evenhand.findings.cautions import REASONS

_WORDS = {
    **REASONS,
    "too-few-visits": "too few separate visits to the meter",
    "too-few-pairs": "too few sticks with a reading beside them",
    "too-few-days": "too few days with a stick",
    "too-few-wears": "too few wears",
    "too-few-sticks": "too few sticks",
    "too-few-repeats": "too few planned repeats",
    "few-visits": "too few separate moments with a stick",
    "zero-estimate": "an estimate of zero has no interval",
    "too-few-groups": "too few days",
    "too-few": "too few of them",
    "not-computed": "this version does not compute it",
    "no-pairs": "no stick had a reading beside it",
    "no-sticks": "no sticks",
    "no-repeats": "no planned repeats",
    "no-shown": "no values shown were noted",
    "no-price": "no price was given",
    "no-life": "the rated life is not known",
    "unknown-life": "the rated life is not known",
    "unknown-price": "no price was given",
    "no-common-pairs": "no stick had a reading from both sensors",
    "no-spread": "all values are alike",
    "one-wear": "one wear cannot tell the kinds apart",
    "two-wears": "two wears of two identical kinds point the same way half the time",
    "under-3-wears": "it takes at least three wears of each",
    "estimate-zero": "the estimate is zero",
    "zero": "the estimate is zero",
    "sealed": "sealed until the declared end",
    "later": "this version does not compute it yet",
    "not-yet": "this version does not compute it yet",
    "later-release": "this version does not compute it yet",
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

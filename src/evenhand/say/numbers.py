"""Numbers in words: every estimate with its interval, in the wearer's unit. Findings are in mg/dL."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from evenhand.say.reasons import reason
from evenhand.stats.estimate import Est
from evenhand.units import FACTOR, Unit, rounded, shown, shown_difference

MINUS = "\N{MINUS SIGN}"
Show = Callable[[float], str]


def minus(text: str) -> str:
    """A number's text with a true minus sign.

    >>> minus("-3.0")
    '−3.0'
    """
    return text.replace("-", MINUS, 1) if text.startswith("-") else text


def signed_text(text: str) -> str:
    """A number's text with its sign, none for zero.

    >>> signed_text("3.0"), signed_text("-3.0"), signed_text("0.0")
    ('+3.0', '−3.0', '0.0')
    """
    return minus(text) if text.startswith("-") or not float(text) else f"+{text}"


def glucose(mg_dl: float, unit: Unit) -> str:
    """A glucose level with its unit.

    >>> glucose(109.9, Unit.MMOL_L)
    '6.1 mmol/L'
    """
    return f"{shown(mg_dl, unit)} {unit}"


def margin(mg_dl: float, unit: Unit) -> str:
    """A margin or other plain difference, with its unit; whole numbers stay whole.

    >>> margin(3.0, Unit.MG_DL), margin(3.0, Unit.MMOL_L)
    ('3 mg/dL', '0.17 mmol/L')
    """
    text = shown_difference(mg_dl, unit)
    return f"{text.removesuffix('.0')} {unit}"


def percent(value: float, places: int = 0) -> str:
    """A percentage.

    >>> percent(83.6), percent(11.25, 1)
    ('84 %', '11.3 %')
    """
    return f"{minus(rounded(value, places))} %"


def level(share: float) -> str:
    """A level of confidence as it stands before an interval.

    >>> level(0.95), level(0.9706)
    ('95 %', '97.06 %')
    """
    text = rounded(share * 100, 2)
    return f"{text.rstrip('0').rstrip('.')} %"


def spread(est: Est, show: Show) -> str:
    """'95 %: lo to hi', empty where there is no interval."""
    if est.low is None or est.high is None:
        return ""
    return f"{level(est.level)}: {show(est.low)} to {show(est.high)}"


def estimate(est: Est, show: Show, unit: str = "") -> str:
    """An estimate with its interval, or the reason why it is missing.

    >>> estimate(Est(3.2, 1.1, 5.3), lambda x: rounded(x, 1), "mg/dL")
    '3.2 mg/dL (95 %: 1.1 to 5.3)'
    >>> estimate(Est.missing("too-few-visits"), str)
    'not given: too few separate visits to the meter'
    """
    if est.value is None:
        return f"not given: {reason(est.why)}"
    number = f"{show(est.value)} {unit}".rstrip()
    interval = spread(est, show)
    return f"{number} ({interval or 'no interval: ' + reason(est.why)})"


def error(est: Est, unit: Unit) -> str:
    """An error (never negative) in the wearer's unit."""
    return estimate(est, lambda value: shown_difference(value, unit), unit)


def signed(est: Est, unit: Unit) -> str:
    """A bias or difference, signed, in the wearer's unit.

    >>> signed(Est(-3.0, -5.0, -1.0), Unit.MG_DL)
    '−3.0 mg/dL (95 %: −5.0 to −1.0)'
    """
    return estimate(est, lambda value: minus(shown_difference(value, unit, sign=True)), unit)


def squared(est: Est, unit: Unit, *, sign: bool = False) -> str:
    """A variance or a difference of mean squares, in the square of the wearer's unit.

    >>> squared(Est(93.4), Unit.MG_DL), squared(Est(93.4), Unit.MMOL_L)
    ('93 mg²/dL² (no interval: not known)', '0.29 mmol²/L² (no interval: not known)')
    """
    factor, places, name = (1.0, 0, "mg²/dL²") if unit is Unit.MG_DL else (FACTOR**-2, 2, "mmol²/L²")
    word = signed_text if sign else minus
    return estimate(est, lambda value: word(rounded(value * factor, places)), name)


def share(est: Est, places: int = 0) -> str:
    """A share in percent.

    >>> share(Est(84.0, 76.2, 90.1))
    '84 % (95 %: 76 to 90)'
    """
    return estimate(est, lambda value: minus(rounded(value, places)), "%")


def size(est: Est, unit: Unit) -> str:
    """The size of a difference with its interval, both without a sign where the interval keeps to one side.

    >>> size(Est(-3.0, -5.0, -1.0), Unit.MG_DL)
    '3.0 mg/dL (95 %: 1.0 to 5.0)'
    """
    if est.value is None or est.low is None or est.high is None or est.low < 0 < est.high:
        return signed(est, unit)
    low, high = sorted((abs(est.low), abs(est.high)))
    return error(Est(abs(est.value), low, high, est.level, est.n), unit)


def counted(n: int, one: str, many: str | None = None) -> str:
    """'1 stick', '2 sticks'; thousands set apart.

    >>> counted(1, "stick"), counted(5200, "reading")
    ('1 stick', '5,200 readings')
    """
    return f"{n:,} {one if n == 1 else many or one + 's'}"


def listed(words: Iterable[str], last: str = "and") -> str:
    """'a, b and c'.

    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    *before, final = words
    return f"{', '.join(before)} {last} {final}" if before else final


WORDS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def in_words(n: int) -> str:
    """Small counts as words.

    >>> in_words(2), in_words(40)
    ('two', '40')
    """
    return WORDS[n] if n < len(WORDS) else str(n)

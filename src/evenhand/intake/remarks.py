"""The words after a jotted value: reasons, marks, a planned repeat, and whatever else was noted."""

from __future__ import annotations

import re
from dataclasses import dataclass

from evenhand.intake import words
from evenhand.intake.words import fold
from evenhand.records.diary import MarkKind, Reason

_PARTS = re.compile(r"\s*[,;+|/]\s*|\s+[-–—]\s+|\.\s+|\s+(?:or|oder|ou)\s+")
_REPEAT = words.word_set(
    "repeat,repeated,again,second drop,wiederholung,wiederholt,nochmal,répétition,répété,repetición,repetido,ripetizione,"
    "ripetuto,repetição,herhaling,upprepning,gentagelse,gjentakelse,toisto,powtórka,opakování,повтор,tekrar,繰り返し"
)
_NO = words.word_set(
    "no,not,without,never,non,nicht,kein,keine,ohne,pas,sans,aucun,aucune,sin,ningún,senza,nessun,não,sem,geen,niet,zonder,"
    "ingen,inte,ikke,utan,uden,uten,ei,nie,bez,brak,ne,нет,не,без,yok"
)
_EXTRA = {
    "prompted by alarm": Reason.PROMPTED, "feeling low": Reason.PROMPTED, "feeling high": Reason.PROMPTED, "felt odd": Reason.PROMPTED,
    "felt strange": Reason.PROMPTED, "calibrated": Reason.CALIBRATION, "calibrating": Reason.CALIBRATION, "as planned": Reason.PLAN,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Remarks:
    """What the words say: distinct reasons (more than one: to be asked), marks, a repeat; `text` as written,
    `more` whether it says anything beyond these."""

    text: str
    reasons: tuple[Reason, ...]
    marks: tuple[MarkKind, ...]
    repeat: bool
    more: bool

    def left(self, reason: Reason) -> str:
        """The parts that give no other reason than this one."""
        parts = [part for part in _PARTS.split(self.text) if part]
        return ", ".join(
            part
            for part in parts
            if _reason(fold(part)) in (None, reason) and fold(part) not in words.REASON_WORDS
        )


def understood(text: str) -> Remarks:
    """The words after a value.

    A part between commas is a reason or a mark where it is one as a whole, or begins with one ('alarm woke me');
    with a 'no' in it ('no alarm') it is neither.

    >>> found = understood("alarm woke me, unwashed")
    >>> found.reasons, found.marks, found.more
    ((<Reason.PROMPTED: 'prompted'>,), (<MarkKind.UNWASHED: 'unwashed'>,), True)
    >>> understood("no alarm").reasons, understood("felt fine").more
    ((), True)
    """
    reasons: dict[Reason, None] = {}
    marks: dict[MarkKind, None] = {}
    repeat = more = False
    for part in _PARTS.split(text):
        folded = fold(part)
        if not folded:
            continue
        mark, reason = words.MARK_WORDS.get(folded), _reason(folded)
        within = mark if mark is not None else _mark_in(folded)
        if within is not None:
            marks[within] = None
            more |= mark is None
        elif folded in _REPEAT:
            repeat = True
        elif reason is not None:
            if reason is not Reason.UNKNOWN:
                reasons[reason] = None
            more |= not (folded in words.REASON_WORDS or folded in _EXTRA)
        else:
            more = True
    return Remarks(text, tuple(reasons), tuple(marks), repeat, more)


def _mark_in(folded: str) -> MarkKind | None:
    """The mark that stands in a part as a phrase ('hands were not washed, sorry'); None where a 'no' goes before it."""
    told = folded.split(" ")
    for start in range(len(told)):
        for end in range(min(len(told), start + 3), start, -1):
            found = words.MARK_WORDS.get(" ".join(told[start:end]))
            if found is not None and not _NO.intersection(told[:start]):
                return found
    return None


def _reason(folded: str) -> Reason | None:
    """The reason a part gives as a whole or with its first words; None for none, or where it says 'no'."""
    told = folded.split(" ")
    if _NO.intersection(told):
        return None
    for count in range(min(3, len(told)), 0, -1):
        head = " ".join(told[:count])
        found = words.REASON_WORDS.get(head) or _EXTRA.get(head)
        if found is not None and (
            count == len(told) or head not in ("odd", "check", "plan", "habit", "usual", "routine")
        ):
            return found
    return None

"""Sticks found in a file: which are new, which are those the trial has, and which may be either."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from evenhand.clock import Stamp
from evenhand.intake.ask import Asked
from evenhand.intake.settings import Settings
from evenhand.records.diary import Mark, Reason, Shown, Stick
from evenhand.units import FACTOR, Glucose, Unit, from_mg_dl, rounded

NEAR = 600
"""Seconds between a typed stick and the meter's record of it (method: at most 10 min)."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A stick as a row of a file states it. `row` is its position, `line` its line; `whole` the cells of the row.
    `of_meter` says that it comes from the meter's own record; `note` is a text to keep beside it."""

    section: int
    row: int
    sheet: str | None
    line: int
    at: Stamp
    glucose: Glucose
    reason: Reason
    stated: bool
    marks: tuple[Mark, ...]
    lot: str | None
    into: str | None
    of_meter: bool
    repeat: bool = False
    meter: str | None = None
    shown: tuple[Shown, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Sorted:
    """Drafts that are new; those that double something (with a sentence); held sticks that a calibration row
    says more about; questions."""

    new: tuple[Draft, ...]
    doubled: tuple[tuple[Draft, str], ...]
    amended: tuple[tuple[Stick, Draft], ...]
    asked: tuple[Asked, ...]


def agrees(one: Glucose, other: Glucose) -> bool:
    """Whether two values are the same after rounding to whole mg/dL and tenths of mmol/L.

    >>> agrees(Glucose(6.1, Unit.MMOL_L, "6.1"), Glucose(110, Unit.MG_DL, "110"))
    True
    """
    if one.beyond or other.beyond:
        return one.beyond is other.beyond
    if one.unit is other.unit:
        places = 0 if one.unit is Unit.MG_DL else 1
        return rounded(one.value, places) == rounded(other.value, places)
    whole, tenths = (one, other) if one.unit is Unit.MG_DL else (other, one)
    return rounded(from_mg_dl(whole.value, Unit.MMOL_L), 1) == rounded(tenths.value, 1) or rounded(
        tenths.value * FACTOR
    ) == rounded(whole.value)


class _Held:
    """The sticks a trial has, by time; each meets at most one row."""

    def __init__(self, sticks: Sequence[Stick], meter_files: frozenset[str]) -> None:
        self.sticks = sorted(sticks, key=lambda stick: stick.at.instant)
        self._times = [stick.at.instant for stick in self.sticks]
        self._meter_files = meter_files
        self.used: set[int] = set()

    def around(self, draft: Draft, within: int) -> list[int]:
        """Places of sticks within some seconds that agree in value and are not taken, nearest first."""
        instant = draft.at.instant
        start, end = (
            bisect_left(self._times, instant - within),
            bisect_left(self._times, instant + within + 1),
        )
        found = [
            place
            for place in range(start, end)
            if place not in self.used and agrees(self.sticks[place].glucose, draft.glucose)
        ]
        return sorted(found, key=lambda place: abs(self._times[place] - instant))

    def elsewhere(self, place: int, draft: Draft) -> bool:
        """Whether a held stick may be another record of the same drop: it did not come from the same kind of file."""
        source = self.sticks[place].source
        return source is None or (source.file in self._meter_files) != draft.of_meter


def sort_out(
    drafts: Sequence[Draft], sticks: Sequence[Stick], meter_files: frozenset[str], settings: Settings
) -> Sorted:
    """What becomes of each stick of a file.

    The same value in the same minute is the same stick. A stick typed earlier (or read from a sensor's file) is
    the meter's when the value agrees after rounding and the times lie within 10 min; where two could be meant,
    a question.
    """
    held = _Held(sticks, meter_files)
    doubled: list[tuple[Draft, str]] = []
    amended: list[tuple[Stick, Draft]] = []
    asked: list[Asked] = []
    rest: list[Draft] = []
    seen: dict[tuple[int, str, str], Draft] = {}
    for draft in drafts:
        earlier = seen.setdefault(
            (draft.at.instant, _value_key(draft), str(draft.reason is Reason.CALIBRATION)), draft
        )
        if earlier is not draft:
            doubled.append((draft, f"the same as line {earlier.line}"))
            continue
        same = [
            place
            for place in held.around(draft, 59)
            if held.sticks[place].at.instant // 60 == draft.at.instant // 60
        ]
        if same:
            _meet(draft, same[0], held, doubled, amended)
        else:
            rest.append(draft)
    new: list[Draft] = []
    wanted = {
        id(draft): [place for place in held.around(draft, NEAR) if held.elsewhere(place, draft)]
        for draft in rest
    }
    rivals: dict[int, int] = {}
    for places in wanted.values():
        for place in places:
            rivals[place] = rivals.get(place, 0) + 1
    for draft in rest:
        places = [place for place in wanted[id(draft)] if place not in held.used]
        said = settings.about("stick", str(draft.line))
        if not places or said == "new":
            new.append(draft)
        elif said == "typed" or (len(places) == 1 and rivals[places[0]] == 1):
            _meet(draft, places[0], held, doubled, amended)
        else:
            asked.append(_ask(draft, [held.sticks[place] for place in places]))
    return Sorted(tuple(new), tuple(doubled), tuple(amended), tuple(asked))


def _value_key(draft: Draft) -> str:
    return f"{draft.glucose.value} {draft.glucose.unit} {draft.glucose.beyond}"


def _meet(
    draft: Draft,
    place: int,
    held: _Held,
    doubled: list[tuple[Draft, str]],
    amended: list[tuple[Stick, Draft]],
) -> None:
    stick = held.sticks[place]
    held.used.add(place)
    how = "typed for" if stick.source is None else "held for"
    doubled.append((draft, f"the stick {how} {stick.at.iso}"))
    told = draft.reason is Reason.CALIBRATION or (draft.stated and not draft.of_meter and not stick.stated)
    if told and stick.reason is Reason.UNKNOWN:
        amended.append((stick, draft))


def _ask(draft: Draft, held: list[Stick]) -> Asked:
    times = " or ".join(stick.at.iso for stick in held)
    return Asked(
        "which-stick",
        f"Line {draft.line} ({draft.glucose} at {draft.at.iso}) may be the stick you have for {times}, or a new one.",
        ("typed", "new"),
        f"stick.{draft.line}=typed|new",
    )

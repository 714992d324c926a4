"""Makes v1.trial, the small trial file that the first released version wrote: it stays readable for ever.

Run once, from the checkout, with the version that writes file version 1:
`PYTHONPATH=src:. python tests/files/make_v1.py`. All of it is invented. `HELD` and the rest say what the file
holds, in the words of the types, so that every later version can be held against it.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np

from evenhand.clock import Stamp, ZoneOrigin
from evenhand.records.change import Change
from evenhand.records.diary import Event, EventKind, Mark, MarkKind, Reason, Row, Shown, Stick
from evenhand.records.files import Fate, FileKey, LedgerRow, OpenProposal, SourceFile
from evenhand.records.question import Declared, MustHave, Opening, PairsAsked, Policy, Question
from evenhand.records.readings import Batch, Readings
from evenhand.records.sensors import CountsFrom, Ending, Sensor, Side, Wear
from evenhand.records.trial import Header
from evenhand.units import Beyond, Glucose, Unit

T0 = 1_774_740_600  # 2026-03-29 00:30 in Berlin, the night the clock is put forward
HOUR, DAY = 3600, 86400


def at(seconds: int, zone: str = "Europe/Berlin", text: str | None = None) -> Stamp:
    """A moment of the trial."""
    return Stamp.at(T0 + seconds, zone, text)


HEADER = Header("t-v1", "Frühling", "Europe/Berlin", ZoneOrigin.COMPUTER, Unit.MMOL_L, "Küche", 2**63 + 5, T0)
FERN = Sensor("s-1", "Fern", 0, 300, 3600, 10 * DAY, 12 * HOUR, CountsFrom.INSERTION,
              Glucose(2.2, Unit.MMOL_L, "2,2"), Glucose(400.0, Unit.MG_DL, "400"), 59.9, exports=True)  # fmt: skip
SLATE = Sensor("s-2", "Slate", 1)
WEARS = (
    Wear("w-1", "s-1", at(0), at(HOUR), at(DAY), "upper arm", Side.LEFT, "L1", "00042", date(2027, 2, 28), Ending.ACCIDENT),
    Wear("w-2", "s-1", at(DAY), replaces="w-1", drives=True),
)  # fmt: skip
STICKS = (
    Stick("k-1", at(HOUR, text="01:30"), Glucose(6.1, Unit.MMOL_L, "6,1"), Reason.PLAN, T0 + HOUR),
    Stick("k-2", at(2 * HOUR), Glucose(20.0, Unit.MG_DL, "LO", Beyond.LOW), Reason.CALIBRATION, T0 + 9000, stated=True,
          meter="Spare", lot="S7", marks=(Mark(MarkKind.UNWASHED, early=False),),
          shown=(Shown("s-1", Glucose(5.0, Unit.MMOL_L, "5.0"), T0 + 9001),), into="s-2", source=Row("f-1", "März", 4)),
)  # fmt: skip
EVENTS = (
    Event("e-1", EventKind.TRIP, at(3 * HOUR), T0, at(DAY, "Asia/Tokyo"), "Asia/Tokyo"),
    Event(
        "e-2", EventKind.ALARM, at(4 * HOUR), T0, text="low; right", sensor="s-1", source=Row("f-1", None, 9)
    ),
)
QUESTION = Question("question", ("s-1", "s-2"), PairsAsked.ALL, 5.5, 15, (420, 1380), (1320, 420), policy=Policy.MAKER,
                    must_haves=(MustHave("Fern", "reads on my watch", met=True),), looks=2,
                    declared=Declared(at(60), 1, 0, 1, "0f" * 32))  # fmt: skip
OPENING = Opening("o-1", at(DAY), 2)
FILE = SourceFile("f-1", "Export März.csv", "ab" * 32, 512, "s-1", T0 + DAY, 5, (("unit", "mmol/L"),),
                  (OpenProposal("clock", "7 min behind", "4 of 4", "clock=+7min"),))  # fmt: skip
KEY = FileKey("key-1", "csv;Zeit;Wert", (("time", "Zeit"), ("decimal", ",")))
READINGS = Readings(
    np.array([T0, T0 + 300, T0 + 600], np.int64), np.array([3600, 3600, 7200], np.int32),
    np.array([6.1, 2.2, 131.0]), np.array([True, True, False]), np.array([0, 1, 0], np.int8),
    np.array([2, 3, 5], np.int32), ("6,1", "LO", "131"),
)  # fmt: skip
LEDGER = [
    LedgerRow("f-1", None, 1, Fate.SET_ASIDE, "header"),
    *(LedgerRow("f-1", None, line, Fate.KEPT) for line in (2, 3)),
    LedgerRow("f-1", None, 4, Fate.DOUBLED, "as line 3"),
    LedgerRow("f-1", None, 5, Fate.KEPT),
]
CHANGES = (
    Change("made the trial", T0, (FERN, SLATE)),
    Change("wore", T0 + 1, WEARS),
    Change("logged a stick wrongly", T0 + 2, (Stick("k-1", at(HOUR), Glucose(61.0, Unit.MG_DL, "61"), Reason.HABIT, T0),)),
    Change("diary", T0 + 3, (*STICKS[:1], *EVENTS[:1], QUESTION, OPENING, KEY)),
    Change("took in Export März.csv", T0 + DAY, (FILE, *STICKS[1:], *EVENTS[1:]), (Batch("b-1", "f-1", None, "s-1", READINGS),), tuple(LEDGER)),
    Change("a slip", T0 + DAY + 1, (Event("e-9", EventKind.OTHER, at(0), T0, text="slip"),)),
)  # fmt: skip
HELD = {FERN, SLATE, *WEARS, *STICKS, *EVENTS, QUESTION, OPENING, FILE, KEY}


def make(path: Path) -> None:
    """Writes the file: six changes, the last taken back."""
    from evenhand.store import file

    file.create(path, HEADER, CHANGES[0])
    for change in CHANGES[1:]:
        file.write(path, change)
    file.undo(path, None, T0 + DAY + 2)
    file.put_findings(path, "e" * 64, b'{"evenhand": "0.1.0"}')


if __name__ == "__main__":
    import shutil
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        make(Path(folder) / "v1.trial")
        shutil.copy(Path(folder) / "v1.trial", Path(__file__).with_name("v1.trial"))

"""Small invented trials for the store's tests."""

from __future__ import annotations

import numpy as np

from evenhand.clock import Stamp, ZoneOrigin
from evenhand.records.change import Change
from evenhand.records.diary import Event, EventKind, Mark, MarkKind, Reason, Row, Shown, Stick
from evenhand.records.files import Fate, FileKey, LedgerRow, OpenProposal, SourceFile
from evenhand.records.question import Question
from evenhand.records.readings import Batch, Readings
from evenhand.records.sensors import CountsFrom, Sensor, Side, Wear
from evenhand.records.trial import Header
from evenhand.units import Glucose, Unit

ZONE = "Europe/Lisbon"
T0 = 1_772_352_000  # 2026-03-01 08:00 in Lisbon
DAY = 86_400


def header(name="Spring", zone=ZONE, seed=20260301):
    return Header("t-1", name, zone, ZoneOrigin.GIVEN, Unit.MMOL_L, "House meter", seed, T0)


def stamp(seconds=0, zone=ZONE):
    return Stamp.at(T0 + seconds, zone)


def sensor(name="Fern", place=0, **more):
    return Sensor(f"s-{name.lower()}", name, place, **more)


def beginning(what="made the trial"):
    return Change(what, T0, records=(sensor("Fern", 0), sensor("Slate", 1)))


def stick(number, value=6.1, **more):
    glucose = Glucose(value, Unit.MMOL_L, str(value))
    return Stick(f"k-{number:04d}", stamp(number * 600), glucose, Reason.HABIT, T0 + number * 600, **more)


def full_stick():
    """A stick with every field filled."""
    low = Glucose(3.9, Unit.MMOL_L, "3,9")
    return Stick(
        "k-full", stamp(60), low, Reason.CALIBRATION, T0 + 61, stated=True, meter="Spare", lot="L7",
        marks=(Mark(MarkKind.UNWASHED, early=False), Mark(MarkKind.SAME_DROP)),
        shown=(Shown("s-fern", Glucose(70.0, Unit.MG_DL, "70"), T0 + 90),),
        into="s-slate", inside=True, source=Row("f-1", "Blatt 1", 12),
    )  # fmt: skip


def add_stick(number, at=None, **more):
    return Change(f"logged stick {number}", T0 + 60 if at is None else at, records=(stick(number, **more),))


def wear(number, name="Fern", start=0, end=None, **more):
    return Wear(
        f"w-{number}", f"s-{name.lower()}", inserted=stamp(start),
        removed=None if end is None else stamp(end), side=Side.LEFT, **more,
    )  # fmt: skip


def readings(n, start=T0, seed=1, step=300):
    """n readings, some beyond a limit, some in the other unit."""
    rng = np.random.default_rng(seed)
    mmol = rng.random(n) < 0.5
    value = np.where(mmol, np.round(rng.uniform(3, 15, n), 1), np.round(rng.uniform(50, 300, n)))
    flag = np.where(rng.random(n) < 0.02, 2, 0).astype(np.int8)
    text = tuple(
        "HIGH" if beyond else (f"{number:.1f}" if small else f"{number:.0f}")
        for number, small, beyond in zip(value.tolist(), mmol.tolist(), flag.tolist(), strict=True)
    )
    instant = start + step * np.arange(n, dtype=np.int64)
    offset = np.zeros(n, np.int32)
    return Readings(instant, offset, value, mmol, flag, np.arange(2, n + 2, dtype=np.int32), text)


def source(number, of="s-fern"):
    return SourceFile(
        f"f-{number}", f"export {number}.csv", f"{number:064x}", 1000 + number, of, T0, 20,
        settings=(("unit", "mmol/L"), ("time", "Zeit")),
        open_proposals=(OpenProposal("clock", "4 min ahead", "12 of 12 rows", "clock=-4min"),),
    )  # fmt: skip


def intake(number, n=20, name="Fern", at=None, start=None, seed=None):
    """A change as intake makes it: file, readings, ledger."""
    block = readings(n, T0 + number * DAY if start is None else start, number if seed is None else seed)
    ledger = (
        LedgerRow(f"f-{number}", None, 1, Fate.SET_ASIDE, "header"),
        *(LedgerRow(f"f-{number}", None, line, Fate.KEPT) for line in range(2, n + 2)),
        LedgerRow(f"f-{number}", None, n + 2, Fate.DOUBLED, "as line 2"),
    )
    batch = Batch(f"b-{number}", f"f-{number}", None, f"s-{name.lower()}", block)
    return Change(
        f"took in export {number}.csv", T0 + 120 if at is None else at,
        records=(source(number, f"s-{name.lower()}"),), batches=(batch,), ledger=ledger,
    )  # fmt: skip


def same_readings(one, other):
    return one.text == other.text and all(
        np.array_equal(getattr(one, part), getattr(other, part))
        and getattr(one, part).dtype == getattr(other, part).dtype
        for part in ("instant", "offset", "value", "mmol", "flag", "line")
    )


__all__ = [
    "DAY", "T0", "ZONE", "Change", "CountsFrom", "Event", "EventKind", "FileKey", "Question", "add_stick",
    "beginning", "full_stick", "header", "intake", "readings", "same_readings", "sensor", "source", "stamp",
    "stick", "wear",
]  # fmt: skip

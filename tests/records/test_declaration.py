"""The canonical text: the same on every machine, another for any change of what is declared."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenhand.clock import DAY, Stamp, ZoneOrigin
from evenhand.records.declaration import canonical, departures, fingerprint
from evenhand.records.plan import Drawn, Plan, PlannedWear, Wanted
from evenhand.records.question import (
    Alarm,
    Declared,
    Driver,
    Driving,
    Known,
    MustHave,
    PairsAsked,
    Policy,
    Question,
    Stream,
)
from evenhand.records.sensors import CountsFrom, Sensor, Side
from evenhand.records.trial import Header, Trial
from evenhand.units import Glucose, Unit

ROOT = Path(__file__).parents[2]
T0 = 1_772_352_000  # 2026-03-01 08:00 in Lisbon


def stamp(seconds=0, zone="Europe/Lisbon"):
    return Stamp.at(T0 + seconds, zone)


def making():
    """A trial with every answer given and a plan drawn."""
    sensors = (
        Sensor(
            "f",
            "Fern",
            0,
            300,
            3600,
            10 * DAY,
            3600,
            CountsFrom.START,
            Glucose(2.2, Unit.MMOL_L, "2.2"),
            Glucose(22.2, Unit.MMOL_L, "22.2"),
        ),
        Sensor("s", "Slate", 1),
    )
    question = Question(
        "question", pair=("f", "s"), margin=3.60312, waking=(420, 1380), quiet=(480, 510), policy=Policy.NONE,
        must_haves=(MustHave("f", "works with my pump"),), end=stamp(20 * DAY), driver=Driver(Driving.PUMP, "f"),
        strip_lots=("L2", "L1"), known=(Known("f", "2", ("A1",)),),
    )  # fmt: skip
    wear = PlannedWear("f", 1, stamp(DAY), stamp(DAY), stamp(DAY + 3600), stamp(11 * DAY), Side.LEFT)
    plan = Plan(
        wanted=Wanted(stamp(DAY)),
        drawn=Drawn(stamp(), 7, (wear,), (T0 + 2 * DAY, T0 + 3 * DAY), (T0 + 3 * DAY,)),
    )
    header = Header("h", "spring", "Europe/Lisbon", ZoneOrigin.GIVEN, Unit.MMOL_L, "meter", 1, T0)
    return Trial(header, sensors, question=question, plan=plan)


def declared(**more):
    return replace(Declared(stamp(), 1, 0, 1, ""), **more)


def test_the_text_is_this_text():
    """Written out once by hand: form, order and numbers cannot drift without a new form."""
    text = canonical(making(), declared())
    assert text == (ROOT / "tests" / "files" / "declaration.txt").read_text(encoding="utf-8")
    assert fingerprint(text) == "f74ccbdcbf2b6dc453a0fe7889439326b2af8e2f2da5ab9878ae009b8ea54285"


@pytest.mark.parametrize("zone", ["UTC", "Asia/Tokyo", "America/St_Johns", "Pacific/Kiritimati"])
def test_the_fingerprint_is_the_same_on_every_machine(zone):
    """In a process of its own, under another zone, another language and another order of dictionaries."""
    code = (
        "from tests.records.test_declaration import making, declared\n"
        "from evenhand.records.declaration import canonical, fingerprint\n"
        "print(fingerprint(canonical(making(), declared())))"
    )
    path = f"{ROOT / 'src'}{os.pathsep}{ROOT}"
    environment = os.environ | {"TZ": zone, "LC_ALL": "C", "PYTHONHASHSEED": "7", "PYTHONPATH": path}
    said = subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True
    )
    assert said.stdout.strip() == fingerprint(canonical(making(), declared()))


def changed(**question):
    def change(trial):
        return replace(trial, question=replace(trial.question, **question))

    return change


def sensor(**more):
    def change(trial):
        return replace(trial, sensors=(replace(trial.sensors[0], **more), *trial.sensors[1:]))

    return change


def header(**more):
    return lambda trial: replace(trial, header=replace(trial.header, **more))


def drawn(**more):
    return lambda trial: replace(trial, plan=replace(trial.plan, drawn=replace(trial.plan.drawn, **more)))


def wanted(**more):
    return lambda trial: replace(trial, plan=replace(trial.plan, wanted=replace(trial.plan.wanted, **more)))


def worn(**more):
    return lambda trial: drawn(wears=(replace(trial.plan.drawn.wears[0], **more),))(trial)


CHANGES = {
    "pair": changed(pair=("s", "f")), "pairs": changed(pairs=PairsAsked.ALL), "margin": changed(margin=3.60313),
    "tolerance": changed(tolerance=15), "stream": changed(stream=Stream.SHOWN), "looks": changed(looks=2),
    "end": changed(end=stamp(20 * DAY + 1)), "end by wears": changed(end=None, end_wears=2), "no end": changed(end=None),
    "waking": changed(waking=(421, 1380)), "waking not said": changed(waking=None), "quiet": changed(quiet=(480, 511)),
    "more quiet": changed(also_quiet=((900, 930),)), "policy": changed(policy=Policy.FREE), "no policy": changed(policy=None),
    "driver": changed(driver=Driver(Driving.WEARER, "f")), "driven": changed(driver=Driver(Driving.PUMP, "s")),
    "no driver": changed(driver=None), "nobody": changed(driver=Driver(Driving.NOBODY)),
    "strip lots": changed(strip_lots=("L1",)), "alarm": changed(alarm=Alarm(low=75.0)), "alarm high": changed(alarm=Alarm(high=250.0)),
    "alarm delay": changed(alarm=Alarm(delay=60)), "alarm silence": changed(alarm=Alarm(silence=60)),
    "must": changed(must_haves=()), "must text": changed(must_haves=(MustHave("f", "works with my watch"),)),
    "must whose": changed(must_haves=(MustHave("s", "works with my pump"),)), "version": changed(known=(Known("f", "3", ("A1",)),)),
    "lots": changed(known=(Known("f", "2", ("A2",)),)), "name": sensor(name="Moss"), "interval": sensor(interval=301),
    "warm-up": sensor(warm_up=3601), "life": sensor(life=9 * DAY), "grace": sensor(grace=0), "counts": sensor(counts_from=CountsFrom.INSERTION),
    "low": sensor(low=Glucose(2.3, Unit.MMOL_L, "2.3")), "high": sensor(high=None), "meter": header(meter="other"),
    "trial": header(name="summer"), "zone": header(zone="Europe/Paris"), "unit": header(unit=Unit.MG_DL),
    "seed": drawn(seed=8), "drawing": drawn(number=2), "drawn at": drawn(at=stamp(1)), "minutes": drawn(minutes=(T0 + 2 * DAY + 60, T0 + 3 * DAY)),
    "repeats drawn": drawn(repeats=()), "side": worn(side=Side.RIGHT), "wear lot": worn(lot="A1"), "inserted": worn(inserted=stamp(DAY - 60)),
    "removed": worn(removed=stamp(11 * DAY + 60)), "sticks a day": wanted(sticks=6), "repeats": wanted(repeats=9),
}  # fmt: skip


@pytest.mark.parametrize("name", CHANGES)
def test_any_change_changes_the_fingerprint(name):
    """Every single thing that declaring freezes; and the change is found and named by its line."""
    made = making()
    other = CHANGES[name](made)
    assert fingerprint(canonical(other, declared())) != fingerprint(canonical(made, declared()))
    text = canonical(made, declared())
    moved = replace(
        other, question=replace(other.question, declared=declared(text=text, fingerprint=fingerprint(text)))
    )
    assert departures(moved)


@pytest.mark.parametrize("more", [{"at": stamp(60)}, {"day": 2}, {"sticks_before": 1}, {"method": 2}])
def test_when_it_was_declared_is_part_of_it(more):
    """Date, day, sticks before, METHOD."""
    assert canonical(making(), declared(**more)) != canonical(making(), declared())


def test_what_is_not_declared_changes_nothing():
    """Whether a must-have is met, the price of a sensor, what can be spent, the order lots are named in, where the zone was
    learnt: none is frozen."""
    made, text = making(), canonical(making(), declared())
    for other in (
        changed(must_haves=(MustHave("f", "works with my pump", met=False),)), changed(strips=100, money=5.0, strip_price=0.5),
        changed(answered=("margin",)), changed(strip_lots=("L1", "L2")), sensor(price=50.0), header(made=T0 + 5), header(seed=9),
    ):  # fmt: skip
        assert canonical(other(made), declared()) == text
    assert departures(replace(made, question=replace(made.question, declared=declared(text=text)))) == ()


@given(st.text(min_size=1, max_size=30))
def test_no_name_breaks_a_line_or_hides_in_another(name):
    """Whatever the wearer writes stands on its own line: as many lines as ever, and no line of theirs begins another fact."""
    text = canonical(
        replace(making(), question=replace(making().question, must_haves=(MustHave("f", name),))), declared()
    )
    assert len(text.splitlines()) == len(canonical(making(), declared()).splitlines())


def test_letters_written_in_two_ways_are_one():
    """A letter with its accent apart is the same letter."""
    one, two = (sensor(name=name)(making()) for name in ("Se\u0301lie", "S\u00e9lie"))
    assert fingerprint(canonical(one, declared())) == fingerprint(canonical(two, declared()))


def test_no_word_of_the_machine():
    """No path, no version of anything, no time but those declared."""
    text = canonical(making(), declared())
    assert "/home" not in text
    assert "Python" not in text

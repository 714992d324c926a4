"""The files hold exactly what the trial holds, read back by independent readers (pandas, shlex)."""

import shlex
from dataclasses import replace
from datetime import datetime

import numpy as np
import pandas as pd
import pytest

from evenhand.errors import CannotWrite
from evenhand.records.diary import EventKind
from evenhand.rehearse.demo import DEMO_SEED, demo_world
from evenhand.rehearse.files import diary, in_diary, write_files
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import Calibrating, Meter, Model, World
from evenhand.units import Unit


@pytest.fixture(scope="module")
def demo():
    return invent(demo_world(), DEMO_SEED)


@pytest.fixture(scope="module")
def written(demo, tmp_path_factory):
    return write_files(demo, tmp_path_factory.mktemp("files") / "new")


def options(words):
    """Flags of a command line as pairs, without the words before them."""
    found, rest = [], list(words)
    while rest:
        word = rest.pop(0)
        if word.startswith("--"):
            found.append((word, rest.pop(0) if rest and not rest[0].startswith("--") else True))
    return found


def test_the_comma_export_holds_ferns_readings(demo, written):
    """Every reading once, in order: instant with offset, value as recorded, LOW words as words."""
    fern = demo.trial.sensors[0]
    readings = demo.trial.readings[fern.id]
    table = pd.read_csv(written.exports[0][1], dtype=str, keep_default_na=False)
    times = pd.to_datetime(table["Recorded at"], utc=True).astype("int64")
    scale = 10 ** (len(str(int(times.iloc[0]))) - 10)
    assert (times.to_numpy() // scale == readings.instant).all()
    assert tuple(table["Sensor glucose (mg/dL)"]) == readings.text
    offsets = [datetime.fromisoformat(text).utcoffset().total_seconds() for text in table["Recorded at"]]
    assert (np.array(offsets) == readings.offset).all()
    words = table["Sensor glucose (mg/dL)"].str.contains("[A-Z]")
    assert words.sum() == (readings.flag != 0).sum() > 0


def test_the_semicolon_export_holds_slates_readings(demo, written):
    """A preamble of three lines, decimal commas, local time: the same values and instants."""
    slate = demo.trial.sensors[1]
    readings = demo.trial.readings[slate.id]
    path = written.exports[1][1]
    assert path.read_bytes().count(b"\r\n") == path.read_bytes().count(b"\n")
    table = pd.read_csv(path, sep=";", skiprows=4, dtype=str, keep_default_na=False)
    wall = pd.to_datetime(table["Day and time"], format="%d.%m.%Y %H:%M:%S")
    local = wall.dt.tz_localize("Europe/Lisbon").dt.tz_convert("UTC").dt.tz_localize(None)
    seconds = (local - pd.Timestamp("1970-01-01")) // pd.Timedelta(seconds=1)
    assert (seconds.to_numpy() == readings.instant).all()
    assert tuple(text.replace(",", ".") for text in table["Glucose mmol/L"]) == readings.text
    assert ((table["Remark"] != "").to_numpy() == (readings.flag != 0)).all()


def test_the_meter_holds_every_stick_and_some_twice(demo, written):
    """Newest first; time, value and reason of every stick but those told apart only by the diary."""
    table = pd.read_csv(written.meter, sep="\t", dtype=str)
    rows = [tuple(row) for row in table.itertuples(index=False)]
    assert [row[0] for row in rows] == sorted((row[0] for row in rows), reverse=True)
    told = {(f"{s.at.wall:%Y-%m-%d %H:%M}", s.glucose.text, str(s.reason)) for s in demo.trial.sticks}
    typed = {(f"{s.at.wall:%Y-%m-%d %H:%M}", s.glucose.text, str(s.reason)) for s in in_diary(demo.trial)}
    assert told - typed <= set(rows) <= told
    assert len(typed - set(rows)) <= 4 < len(typed & set(rows))
    twice = len(rows) - len(set(rows))
    assert 3 <= twice <= 10


def test_no_typed_stick_can_be_taken_for_another(demo, written):
    """Of a stick that stands in the diary, the meter holds none but itself of the same value within 20 min."""
    table = pd.read_csv(written.meter, sep="\t", dtype=str).drop_duplicates()
    when = pd.to_datetime(table["Taken at"])
    found = []
    for stick in in_diary(demo.trial):
        near = (when - pd.Timestamp(stick.at.wall)).abs() <= pd.Timedelta(minutes=20)
        same = table["Result mg/dL"] == stick.glucose.text
        assert (near & same).sum() <= 1
        assert (when[near & same] == pd.Timestamp(stick.at.wall)).all()
        found.append(int((near & same).sum()))
    assert set(found) == {0, 1}


def test_the_diary_makes_the_trial_and_logs_the_wears(demo, written):
    """One 'new' with names, unit, zone and settings; one 'wear' for each, the replacement naming what it replaced."""
    commands = written.commands()
    new = commands[0]
    assert new[:2] == ("new", "rehearsed.trial")
    said = options(new)
    assert [value for flag, value in said if flag == "--sensor"] == ["Fern", "Slate"]
    assert ("--zone", "Europe/Lisbon") in said
    assert ("--set", "Fern.interval=5min") in said
    assert ("--set", "Slate.low=2.2 mmol/L") in said
    assert ("--set", "Slate.warm_up=30min") in said
    assert ("--set", "Slate.life=10d") in said
    wears = [dict(options(words)) for words in commands if words[0] == "wear"]
    assert len(wears) == len(demo.trial.wears)
    names = {sensor.id: sensor.name for sensor in demo.trial.sensors}
    told = {(w["--sensor"], w["--inserted"], w["--removed"], w["--ending"], w["--lot"]) for w in wears}
    assert told == {
        (names[w.sensor], w.inserted.iso, w.removed.iso, str(w.ending), w.lot) for w in demo.trial.wears
    }
    (replacing,) = [w for w in wears if "--replaces" in w]
    assert replacing["--replaces"] in {w["--inserted"] for w in wears if w["--ending"] == "failed"}


def test_the_diary_holds_notes_and_typed_sticks(demo, written):
    """Every event and every repeat, with times that carry their offset, in time order."""
    commands = written.commands()
    notes = [words for words in commands if words[0] == "note"]
    assert [words[2] for words in notes] == [str(event.kind) for event in demo.trial.events]
    assert [dict(options(words))["--from"] for words in notes] == [
        event.start.iso for event in demo.trial.events
    ]
    sticks = [words for words in commands if words[0] == "stick"]
    typed = in_diary(demo.trial)
    repeated = {stick.at.iso for stick in demo.trial.sticks if stick.repeat}
    assert [(words[2], dict(options(words))["--at"]) for words in sticks] == [
        (stick.glucose.text, stick.at.iso) for stick in typed
    ]
    assert {dict(options(words))["--at"] for words in sticks if "--repeat" in words} == repeated


def test_calibrations_drivers_and_other_units_are_said():
    """A calibration names its sensor, a driving wear says so, a value in another unit than the trial's carries it."""
    world = World(
        days=6, wears=1, driver=0, prompted=0.4, meter=Meter(unit=Unit.MMOL_L),
        sensors=(Model("Fern"), Model("Slate", calibrating=Calibrating.EVERY_SECOND_DAY)),
    )  # fmt: skip
    trial = invent(world, 2).trial
    lines = [shlex.split(line) for line in diary(trial, "x.trial")[1:]]
    into = [words for words in lines if "--into" in words]
    assert len(into) == sum(stick.into is not None for stick in trial.sticks) > 0
    assert all(words[3].endswith(" mmol/L") and dict(options(words))["--into"] == "Slate" for words in into)
    drives = [words for words in lines if words[1] == "wear" and "--drives" in words]
    assert [dict(options(words))["--sensor"] for words in drives] == ["Fern"]
    alarms = [words for words in lines if words[1:4:2] == ["note", "alarm"]]
    assert len(alarms) == sum(event.kind is EventKind.ALARM for event in trial.events)


def test_the_same_trial_writes_the_same_bytes(demo, written, tmp_path):
    """Files are as repeatable as the trial."""
    again = write_files(demo, tmp_path)
    for one, other in ((written.meter, again.meter), (written.diary, again.diary)):
        assert one.read_bytes() == other.read_bytes()
    for (_, one), (_, other) in zip(written.exports, again.exports, strict=True):
        assert one.read_bytes() == other.read_bytes()


def test_a_folder_that_cannot_be_is_refused(demo, tmp_path):
    """A file where the folder should be: one clear error."""
    (tmp_path / "taken").write_text("x")
    with pytest.raises(CannotWrite, match="taken"):
        write_files(demo, tmp_path / "taken")


def test_a_trial_without_sticks_or_readings_still_writes(tmp_path):
    """No sticks planned, a wear shorter than its warm-up: headers alone."""
    world = replace(
        World(days=1, wears=1, sticks=0.0),
        sensors=(Model("Fern", warm_up=2000), Model("Slate", warm_up=2000)),
    )
    written = write_files(invent(world, 1), tmp_path)
    assert written.meter.read_text().splitlines() == ["Taken at\tResult mg/dL\tWhy"]
    assert len(pd.read_csv(written.exports[0][1])) == 0
    assert written.exports[1][1].read_text().splitlines()[-1].startswith("Day and time")

"""From bytes to proposal and back: the same thing twice, sticks typed before, kinds, JSON, time zones of the machine."""

import dataclasses
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from tests.intake.helpers import NOW, a_trial, after, readings_of, sticks_of, take

from evenhand.clock import Stamp
from evenhand.errors import BadTime, BadValue, EvenhandError, UnknownName
from evenhand.records.diary import MarkKind, Reason, Stick
from evenhand.records.files import Fate, SourceFile
from evenhand.units import Glucose, Unit

CGM = "Time,Glucose mg/dL\n2026-03-01 07:42:10,110\n2026-03-01 07:47:10,112\n2026-03-01 07:52:10,LOW\n"
METER = "Date;Time;Result mmol/L;Reason\n2026-03-01;07:42;6,1;habit\n2026-03-01;12:05;5,4;\n2026-03-01;18:30;7,0;plan\n"


def typed(when: str, value: float, unit: Unit = Unit.MMOL_L, name: str = "k1", **more) -> Stick:
    """A stick typed by hand at a wall time in Berlin's winter."""
    import datetime as dt

    instant = int(dt.datetime.fromisoformat(f"{when}+01:00").timestamp())
    return Stick(
        name,
        Stamp.at(instant, "Europe/Berlin"),
        Glucose(value, unit, f"{value:g}"),
        Reason.UNKNOWN,
        instant,
        **more,
    )


@pytest.mark.parametrize(("data", "of"), [(CGM, "Fern"), (METER, "meter")])
def test_the_same_file_twice_changes_nothing(data, of):
    """Every row of a file that is held already is doubled, and there is nothing to write."""
    trial = a_trial()
    first = take(data, of=of, trial=trial)
    again = take(data, of=of, trial=after(trial, first.change), prefix="again")
    assert first.kept == 3
    assert again.counts[Fate.DOUBLED] == again.rows == 3
    assert again.change is None
    assert again.adds_nothing


def test_a_longer_export_adds_only_what_is_new():
    """An overlapping, longer export of the same sensor keeps the new rows and doubles the old."""
    trial = after(a_trial(), take(CGM, of="Fern").change)
    longer = take(CGM + "2026-03-01 07:57:10,115\n", of="Fern", trial=trial, prefix="b")
    assert (longer.kept, longer.counts[Fate.DOUBLED]) == (1, 3)
    assert readings_of(longer, trial) == {"Fern": ["2026-03-01T07:57:10+01:00 115 mg/dL"]}


def test_an_export_with_seconds_cut_off_and_the_other_unit_is_the_same_readings():
    """Seconds cut off and values rounded to the other unit do not make new readings."""
    trial = after(a_trial(), take(CGM, of="Fern").change)
    cut = take(
        "Time,Glucose mmol/L\n2026-03-01 07:42,6.1\n2026-03-01 07:47,6.2\n2026-03-01 07:52,LO\n",
        of="Fern",
        trial=trial,
    )
    assert cut.counts[Fate.DOUBLED] == 3


def test_another_value_at_a_time_that_is_held_is_set_aside_and_said():
    """Of two values at one instant the one held stays; the other is in the ledger with its value."""
    trial = after(a_trial(), take(CGM, of="Fern").change)
    other = take(
        "Time,Glucose mg/dL\n2026-03-01 07:42:10,150\n2026-03-01 08:42:10,150\n", of="Fern", trial=trial
    )
    assert other.kept == 1
    row = other.not_kept()[0]
    assert row.fate is Fate.SET_ASIDE
    assert "150" in row.reason
    assert "110" in row.reason


def test_the_same_file_for_another_sensor_adds_only_what_is_new():
    """What is held for one sensor does not double another's readings."""
    trial = after(a_trial(), take(CGM, of="Fern").change)
    assert take(CGM, of="Slate", trial=trial).kept == 3


def test_a_stick_typed_earlier_is_the_meters():
    """The same value within ten minutes is one stick, across units; others are new."""
    trial = a_trial(
        sticks=(typed("2026-03-01T07:45", 110, Unit.MG_DL), typed("2026-03-01T12:30", 5.4, name="k2"))
    )
    found = take(METER, of="meter", trial=trial)
    assert found.counts[Fate.DOUBLED] == 1
    assert "typed for 2026-03-01T07:45" in found.not_kept()[0].reason
    assert sticks_of(found) == [
        "2026-03-01T12:05:00+01:00 5.4 mmol/L unknown",
        "2026-03-01T18:30:00+01:00 7 mmol/L plan",
    ]


def test_two_typed_sticks_for_one_row_are_asked_about_and_can_be_answered():
    """Where two typed sticks could be the meter's, it is asked; 'typed' and 'new' answer."""
    trial = a_trial(sticks=(typed("2026-03-01T07:39", 6.1), typed("2026-03-01T07:45", 6.1, name="k2")))
    asked = take(METER, of="meter", trial=trial)
    assert [one.code for one in asked.questions] == ["which-stick"]
    assert asked.change is None
    assert asked.counts[Fate.WAITING] == 1
    assert take(METER, of="meter", trial=trial, **{"stick.2": "typed"}).kept == 2
    assert take(METER, of="meter", trial=trial, **{"stick.2": "new"}).kept == 3


def test_the_meters_file_and_the_sensors_file_share_a_calibration():
    """A calibration in a sensor's file is the meter's stick, and tells it what it was."""
    trial = after(a_trial(), take(METER, of="meter").change)
    trial = dataclasses.replace(
        trial, files=tuple(dataclasses.replace(file, id="meterfile") for file in trial.files)
    )
    sticks = tuple(
        dataclasses.replace(stick, source=dataclasses.replace(stick.source, file="meterfile"))
        for stick in trial.sticks
    )
    trial = dataclasses.replace(trial, sticks=sticks)
    found = take(
        "Time,Type,Value mmol/L\n2026-03-01 12:00,Reading,5.6\n2026-03-01 12:07,Calibration,5.4\n",
        of="Fern",
        trial=trial,
    )
    assert (found.kept, found.counts[Fate.DOUBLED]) == (1, 1)
    (amended,) = [record for record in found.change.records if isinstance(record, Stick)]
    assert (amended.reason, amended.into) == (Reason.CALIBRATION, "s1")
    assert amended.id in {stick.id for stick in trial.sticks}


def test_control_solution_is_marked():
    """A control row becomes a stick with its mark."""
    found = take("Time,Type,Value\n2026-03-01 07:42,Control,110\n2026-03-01 07:50,Blood,120\n", of="meter")
    marks = [
        record.marked(MarkKind.CONTROL) is not None
        for record in found.change.records
        if isinstance(record, Stick)
    ]
    assert marks == [True, False]


def test_a_meter_clock_an_hour_off_is_proposed_never_applied():
    """Typed sticks an hour from the meter's same values lead to a proposal with its evidence and its setting."""
    values = [6.1, 7.4, 5.2, 9.8, 4.6]
    sticks = tuple(
        typed(f"2026-03-0{day}T07:40", value, name=f"k{day}") for day, value in enumerate(values, 1)
    )
    rows = "".join(f"2026-03-0{day} 08:41,{value}\n" for day, value in enumerate(values, 1))
    data = "Time,Result mmol/L\n" + rows
    found = take(data, of="meter", trial=a_trial(sticks=sticks))
    (clock,) = found.proposals
    assert clock.code == "clock-off"
    assert clock.set == "shift=-61min"
    assert "5 of 5" in clock.evidence
    assert found.kept == 5
    assert sticks_of(found)[0].startswith("2026-03-01T08:41")
    (source,) = [record for record in found.change.records if isinstance(record, SourceFile)]
    assert source.open_proposals[0].set == "shift=-61min"
    shifted = take(data, of="meter", trial=a_trial(sticks=sticks), shift="-61min")
    assert shifted.counts[Fate.DOUBLED] == 5
    assert shifted.proposals == ()


def test_json_is_the_contract():
    """`to_json` has the contract's keys, is plain JSON, and its sums hold."""
    told = take(CGM + "2026-03-01 08:02:10,\n", of="Fern").to_json("e" * 64)
    assert set(told) == {
        "rows",
        "kept",
        "doubled",
        "waiting",
        "set_aside",
        "questions",
        "proposals",
        "edition",
    }
    assert told["set_aside"] == [{"sheet": None, "line": 5, "fate": "set aside", "reason": "no value"}]
    assert told["rows"] == told["kept"] + len(told["set_aside"])
    assert json.loads(json.dumps(told)) == told


def test_values_stay_as_recorded():
    """The text of a value stands beside its number, as the file has it."""
    change = take("Zeit;Wert\n2026-03-01 07:42;6,10\n2026-03-01 07:47;LO\n", of="Fern").change
    assert change.batches[0].readings.text == ("6,10", "LO")
    assert change.batches[0].readings.line.tolist() == [2, 3]


def test_rows_out_of_order_are_sorted_with_their_lines():
    """Readings come in time order, each with the line it stands on."""
    readings = (
        take("Time,Glucose mg/dL\n2026-03-01 07:52,113\n2026-03-01 07:42,110\n", of="Fern")
        .change.batches[0]
        .readings
    )
    assert readings.line.tolist() == [3, 2]


def test_known_limits_stand_for_limit_words():
    """A sensor's measuring limits are what its words mean; `low=` says otherwise."""
    trial = a_trial()
    fern = dataclasses.replace(trial.sensors[0], low=Glucose(50, Unit.MG_DL, "50"))
    trial = dataclasses.replace(trial, sensors=(fern, trial.sensors[1]))
    data = "Time,Glucose mg/dL\n2026-03-01 07:42,LOW\n2026-03-01 07:47,110\n"
    assert readings_of(take(data, of="Fern", trial=trial), trial)["Fern"][0].endswith("low 50 mg/dL")
    assert readings_of(take(data, of="Fern", trial=trial, low="45"), trial)["Fern"][0].endswith(
        "low 45 mg/dL"
    )
    assert "40" in take(data, of="Fern").notes[0]


@pytest.mark.parametrize(
    ("settings", "error"),
    [
        ({"tme": "Time"}, UnknownName), ({"time": "Tme"}, UnknownName), ({"order": "year"}, BadValue), ({"shift": "soon"}, BadValue),
        ({"zone": "Mars/Base"}, BadTime), ({"delimiter": "dash"}, UnknownName), ({"encoding": "klingon"}, UnknownName),
        ({"sheet": "Two"}, UnknownName), ({"sensor.Time": "Nobody"}, UnknownName), ({"of": "Nobody"}, UnknownName), ({"unit": "stone"}, UnknownName),
    ],
)  # fmt: skip
def test_a_wrong_setting_is_an_error_with_its_cure(settings, error):
    """Unknown keys, columns and words are refused, each with what would be right."""
    with pytest.raises(error) as caught:
        take(CGM, **{"of": "Fern", **settings})
    assert caught.value.cure


def test_progress_is_told():
    """Progress runs up to 1."""
    from tests.intake.helpers import new_ids

    from evenhand.intake.propose import propose

    heard = []
    propose(
        CGM.encode(), "a.csv", a_trial(), "Fern", {}, new_ids(), NOW, lambda what, share: heard.append(share)
    )
    assert heard == sorted(heard)
    assert heard[-1] == 1.0


def test_a_trip_reads_times_in_its_zone():
    """A wall time during a trip is read in the trip's zone."""
    from evenhand.records.diary import Event, EventKind

    start, end = Stamp.at(1772319600, "Europe/Berlin"), Stamp.at(1772665200, "Europe/Berlin")
    trip = Event("e1", EventKind.TRIP, start, 0, end, "Asia/Tokyo")
    trial = a_trial(events=(trip,))
    found = take("Time,Glucose mg/dL\n2026-03-03 07:42,110\n2026-03-10 07:42,112\n", of="Fern", trial=trial)
    assert readings_of(found, trial)["Fern"] == [
        "2026-03-03T07:42:00+09:00 110 mg/dL",
        "2026-03-10T07:42:00+01:00 112 mg/dL",
    ]


@pytest.mark.parametrize("zone", ["UTC", "America/St_Johns", "Pacific/Apia"])
def test_the_machines_zone_never_leaks_in(zone, monkeypatch):
    """The same file is read the same wherever the machine stands."""
    expected = readings_of(take(CGM, of="Fern"), a_trial())
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        assert readings_of(take(CGM, of="Fern"), a_trial()) == expected
    finally:
        monkeypatch.undo()
        time.tzset()


def test_a_fresh_process_in_another_zone_reads_the_same():
    """A process started under another TZ and hash seed gives the same proposal."""
    code = (
        "from tests.intake.helpers import *;"
        f"print(readings_of(take({CGM!r}, of='Fern'), a_trial()), take({METER!r}).counts)"
    )
    root = Path(__file__).parents[2]
    told = {
        subprocess.run(
            [sys.executable, "-c", code], cwd=root, check=True, capture_output=True, text=True,
            env={**os.environ, "TZ": zone, "PYTHONHASHSEED": seed, "PYTHONPATH": f"{root / 'src'}{os.pathsep}{root}"},
        ).stdout
        for zone, seed in (("Asia/Kathmandu", "1"), ("America/New_York", "2"))
    }  # fmt: skip
    assert len(told) == 1


def test_a_file_name_never_carries_a_path():
    """Only the last part of a path is kept, whatever the system's slashes."""
    for path in ("somewhere/private/a.csv", "C:\\private\\a.csv"):
        assert take(CGM, name=path, of="Fern").name == "a.csv"


def test_every_failure_is_an_error_with_a_place():
    """Refusals name the file."""
    with pytest.raises(EvenhandError) as caught:
        take("nonsense", name="x.csv", of="Fern")
    assert caught.value.place.file == "x.csv"


@pytest.mark.parametrize("name", ["glucose", "mg/dL", "glucose mg/dL"])
def test_values_that_rise_by_one_are_values_where_the_name_says_so(name):
    """A running number is no glucose, unless its column says that it is."""
    rows = "".join(f"2026-03-01 {k // 12:02d}:{k % 12 * 5:02d},{100 + k}\n" for k in range(40))
    found = take(f"time,{name}\n{rows}", of="Fern")
    assert found.kept == 40 or [asked.code for asked in found.questions] == ["unit"]

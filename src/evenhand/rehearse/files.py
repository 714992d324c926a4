"""An invented trial as the files its wearer would have: two sensor exports, the meter's memory, a diary.

The dialects are this project's own. Sensor exports alternate by place: the first is comma-separated with ISO
times and offsets; the second semicolon-separated with decimal commas, local day-first times without a zone and
a preamble. The meter's memory is tab-separated, local ISO times to the minute, a reason for each stick, and has
some rows twice. The diary holds plain commands: the trial, its wears, notes, and the sticks that need more than
a value (repeats, calibrations), as a rule in both.
"""

from __future__ import annotations

import csv
import io
import shlex
from dataclasses import dataclass
from pathlib import Path

from evenhand.clock import DAY, HOUR, MINUTE, Stamp, iso_of, wall_of
from evenhand.errors import CannotWrite
from evenhand.records.diary import Event, Stick
from evenhand.records.readings import IN_RANGE, Readings
from evenhand.records.sensors import Sensor, Wear
from evenhand.records.trial import Trial
from evenhand.rehearse.truth import Invented
from evenhand.units import Glucose, Unit

TWICE = 25
"""Every so many rows the meter's memory has one twice."""


@dataclass(frozen=True, slots=True)
class Written:
    """The files of an invented trial: each sensor's export by the sensor's name, the meter's memory, the diary,
    and the name of the trial file that the diary's commands speak of."""

    exports: tuple[tuple[str, Path], ...]
    meter: Path
    diary: Path
    trial_file: str

    def commands(self) -> tuple[tuple[str, ...], ...]:
        """The diary's commands as argument lists, without the leading 'evenhand'."""
        lines = self.diary.read_text(encoding="utf-8").splitlines()
        return tuple(tuple(shlex.split(line)[1:]) for line in lines if line and not line.startswith("#"))


def write_files(invented: Invented, folder: Path) -> Written:
    """Write the trial's files into `folder`, which is made where it is missing; files of the same names are
    overwritten. `CannotWrite` where the folder cannot be written."""
    trial = invented.trial
    written = Written(
        tuple((sensor.name, folder / f"{sensor.name.lower()}-export.csv") for sensor in trial.sensors),
        folder / "meter-memory.tsv",
        folder / "diary.txt",
        "rehearsed.trial",
    )
    texts = {
        path: _export(trial, sensor) for sensor, (_, path) in zip(trial.sensors, written.exports, strict=True)
    }
    texts[written.meter] = meter_memory(trial)
    texts[written.diary] = "".join(f"{line}\n" for line in diary(trial, written.trial_file))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, text in texts.items():
            path.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        raise CannotWrite(
            f"{folder.name} could not be written: {error.strerror or error}.",
            "Choose a folder you may write to.",
        ) from None
    return written


def _export(trial: Trial, sensor: Sensor) -> str:
    readings = trial.readings[sensor.id]
    return semicolon_export(readings, sensor, trial) if sensor.place % 2 else comma_export(readings, sensor)


def _table(rows: list[list[str]], delimiter: str, end: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=end).writerows(rows)
    return out.getvalue()


def comma_export(readings: Readings, sensor: Sensor) -> str:
    """Comma, ISO times with offset, a row number, the value as recorded."""
    unit = _unit(sensor)
    rows = [["Row", "Recorded at", f"Sensor glucose ({unit})", "Source"]]
    for place, text in enumerate(readings.text):
        at = iso_of(int(readings.instant[place]), int(readings.offset[place]))
        rows.append([f"{place + 1:05d}", at, text, "sensor"])
    return _table(rows, ",", "\n")


def semicolon_export(readings: Readings, sensor: Sensor, trial: Trial) -> str:
    """A preamble, then semicolons, decimal commas, day-first local times without a zone, Windows line ends."""
    unit = _unit(sensor)
    rows = [[f"Readings of sensor {sensor.name}"], ["Person", "invented"]]
    if len(readings):
        last = Stamp.at(int(readings.instant[-1]) + HOUR, trial.header.zone)
        rows.append(["Exported", f"{last.wall:%d.%m.%Y %H:%M}"])
    rows += [[], ["Day and time", f"Glucose {unit}", "Remark"]]
    for place, text in enumerate(readings.text):
        wall = wall_of(int(readings.instant[place]), int(readings.offset[place]))
        plain = readings.flag[place] == IN_RANGE
        remark = "" if plain else "beyond measuring range"
        rows.append([f"{wall:%d.%m.%Y %H:%M:%S}", text.replace(".", ","), remark])
    return _table(rows, ";", "\r\n")


def _unit(sensor: Sensor) -> Unit:
    return sensor.low.unit if sensor.low is not None else Unit.MG_DL


def meter_memory(trial: Trial) -> str:
    """What the meter remembers, newest first: local time to the minute, result, reason; some rows twice.

    Of a stick that the diary holds and another of the same value within 20 minutes nobody could tell which is
    which: both stand in the diary alone.
    """
    unit = trial.sticks[0].glucose.unit if trial.sticks else trial.header.unit
    rows = []
    confusable = _confusable(trial)
    for number, stick in enumerate(trial.sticks):
        if number in confusable:
            continue
        row = [f"{stick.at.wall:%Y-%m-%d %H:%M}", stick.glucose.text, str(stick.reason)]
        rows += [row, row] if number % TWICE == TWICE - 1 else [row]
    return _table([["Taken at", f"Result {unit}", "Why"], *reversed(rows)], "\t", "\n")


def in_diary(trial: Trial) -> tuple[Stick, ...]:
    """The sticks typed into the diary: those that need more than a value, and those they could be taken for."""
    confusable = _confusable(trial)
    return tuple(
        stick for number, stick in enumerate(trial.sticks) if needs_more(stick) or number in confusable
    )


def needs_more(stick: Stick) -> bool:
    """Whether a stick needs more than a value and a reason: a repeat, or typed into a sensor."""
    return stick.repeat or stick.into is not None


def _confusable(trial: Trial) -> set[int]:
    """The places of sticks of the same value within 20 minutes of one another, of which one needs more."""
    found: set[int] = set()
    for number, stick in enumerate(trial.sticks):
        if needs_more(stick):
            for other in range(max(number - 8, 0), min(number + 9, len(trial.sticks))):
                near = abs(trial.sticks[other].at.instant - stick.at.instant) <= 20 * MINUTE
                if other != number and near and trial.sticks[other].glucose.text == stick.glucose.text:
                    found |= {number, other}
    return found


def diary(trial: Trial, file: str) -> list[str]:
    """The commands that make the trial and log its wears, notes and typed sticks, in the order they were done."""
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    begun = {wear.id: wear.first for wear in trial.wears}
    dated = [(wear.first.instant, 0, _wear(wear, names, begun, file)) for wear in trial.wears]
    dated += [(event.start.instant, 1, _note(event, names, file)) for event in trial.events]
    dated += [(stick.at.instant, 2, _stick(stick, names, trial, file)) for stick in in_diary(trial)]
    return [
        "# An invented trial. Each line is a command; sticks that are not here stand in the meter's memory.",
        shlex.join(_new(trial, file)),
        *(shlex.join(words) for _, _, words in sorted(dated, key=lambda row: row[:2])),
    ]


def _new(trial: Trial, file: str) -> list[str]:
    header = trial.header
    words = ["evenhand", "new", file]
    for sensor in trial.sensors:
        words += ["--sensor", sensor.name]
    words += ["--unit", str(header.unit), "--zone", header.zone, "--meter", header.meter]
    for sensor in trial.sensors:
        told = {
            "interval": _duration(sensor.interval),
            "warm_up": _duration(sensor.warm_up),
            "life": _duration(sensor.life),
            "grace": _duration(sensor.grace),
            "counts_from": sensor.counts_from and str(sensor.counts_from),
            "low": sensor.low and str(sensor.low),
            "high": sensor.high and str(sensor.high),
            "price": None if sensor.price is None else f"{sensor.price:g}",
            "exports": None if sensor.exports is None else ("yes" if sensor.exports else "no"),
        }
        for key, value in told.items():
            words += [] if value is None else ["--set", f"{sensor.name}.{key}={value}"]
    return words


def _duration(seconds: int | None) -> str | None:
    """A duration as people write it.

    >>> _duration(300), _duration(5400), _duration(10 * 86400), _duration(0), _duration(None)
    ('5min', '90min', '10d', '0min', None)
    """
    if seconds is None:
        return None
    return f"{seconds // DAY}d" if seconds and seconds % DAY == 0 else f"{seconds // MINUTE}min"


def _wear(wear: Wear, names: dict[str, str], begun: dict[str, Stamp], file: str) -> list[str]:
    words = ["evenhand", "wear", file, "--sensor", names[wear.sensor]]
    for flag, stamp in (("inserted", wear.inserted), ("started", wear.started), ("removed", wear.removed)):
        words += [] if stamp is None else [f"--{flag}", stamp.iso]
    told = {"site": wear.site, "side": wear.side, "lot": wear.lot, "ending": wear.ending}
    for flag, value in told.items():
        words += [] if value is None else [f"--{flag}", str(value)]
    if wear.replaces is not None:
        words += ["--replaces", begun[wear.replaces].iso]
    return [*words, "--drives"] if wear.drives else words


def _note(event: Event, names: dict[str, str], file: str) -> list[str]:
    words = ["evenhand", "note", file, str(event.kind)]
    words += [event.text] if event.text else []
    words += ["--of", names[event.sensor]] if event.sensor is not None else []
    words += ["--from", event.start.iso]
    return [*words, "--to", event.end.iso] if event.end is not None else words


def _stick(stick: Stick, names: dict[str, str], trial: Trial, file: str) -> list[str]:
    words = ["evenhand", "stick", file, _value(stick.glucose, trial.header.unit), "--at", stick.at.iso]
    words += ["--reason", str(stick.reason)]
    words += ["--into", names[stick.into]] if stick.into is not None else []
    return [*words, "--repeat"] if stick.repeat else words


def _value(glucose: Glucose, unit: Unit) -> str:
    return glucose.text if glucose.unit is unit else str(glucose)

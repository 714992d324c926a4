"""`evenhand new`: make a trial file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from evenhand.cli.saying import duration
from evenhand.cli.streams import words
from evenhand.cli.world import now
from evenhand.clock import ZoneOrigin
from evenhand.desk.making import TrialSaid, make_trial
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Trial

_File = Annotated[str, Parameter(name="FILE.trial", help="The file to make.")]
_Sensor = Annotated[tuple[str, ...], Parameter(help="A sensor, by your own name for it; once for each.")]
_Unit = Annotated[str | None, Parameter(help="mg/dL or mmol/L. Left out: mg/dL.")]
_Zone = Annotated[
    str | None, Parameter(help="Your time zone, such as Europe/Lisbon. Left out: this computer's.")
]
_Meter = Annotated[str | None, Parameter(help="Your name for the meter.")]
_Set = Annotated[
    tuple[str, ...],
    Parameter(
        name="--set",
        help="What is known of a sensor, as NAME.KEY=VALUE. Keys: interval, warm_up, life, grace, "
        "counts_from (insertion or start), low, high, price, exports (yes or no).",
    ),
]


def new(
    file: _File,
    /,
    *,
    sensor: _Sensor,
    unit: _Unit = None,
    zone: _Zone = None,
    meter: _Meter = None,
    settings: _Set = (),
) -> int:
    """Make a trial file."""
    trial = make_trial(Path(file), TrialSaid(sensor, unit, zone, meter, settings), now())
    header = trial.header
    computer = f" ({ZoneOrigin.COMPUTER})" if header.zone_origin is ZoneOrigin.COMPUTER else ""
    chosen = "" if unit else " (--unit was left out)"
    words(f"Made {file}: unit {header.unit}{chosen}, zone {header.zone}{computer}, meter '{header.meter}'.")
    for one in trial.sensors:
        words(_known(one), "  ")
    missing = _missing(trial)
    if missing:
        words(missing)
    if len(trial.sensors) == 1:
        words("One sensor only: it will be held against your meter, with nothing beside it.")
    words(
        "Next: evenhand wear when a sensor goes in, evenhand stick 6.1 for a fingerstick, evenhand intake FILE for an export."
    )
    return 0


def _known(sensor: Sensor) -> str:
    parts = [
        f"{label} {duration(seconds)}"
        for label, seconds in (
            ("a reading every", sensor.interval),
            ("warm-up", sensor.warm_up),
            ("life", sensor.life),
            ("grace", sensor.grace),
        )
        if seconds is not None
    ]
    parts += [f"life counts from {sensor.counts_from}"] if sensor.counts_from else []
    parts += [f"reads from {sensor.low}"] if sensor.low else []
    parts += [f"reads to {sensor.high}"] if sensor.high else []
    parts += [f"costs {sensor.price:g}"] if sensor.price is not None else []
    parts += ["" if sensor.exports is None else f"readings can {'' if sensor.exports else 'not '}be exported"]
    return f"{sensor.name}: {', '.join(part for part in parts if part) or 'nothing known yet'}"


def _missing(trial: Trial) -> str:
    """What stays out of the judgement for want of a setting."""
    gaps = (
        ("warm_up", "warm-up counts as zero"),
        ("low", "its low limit is taken from limit words only"),
        ("high", "its high limit is taken from limit words only"),
        ("life", "survival to the rated life is left out"),
        ("price", "cost is left out"),
    )
    told = []
    for key, effect in gaps:
        names = [sensor.name for sensor in trial.sensors if getattr(sensor, key) is None]
        if names:
            told.append(f"{key} of {' and '.join(names)} ({effect})")
    return f"Not given: {'; '.join(told)}." if told else ""

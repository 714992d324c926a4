"""The claim sheet of one wear, for its maker: what it was, how long it ran, what it said last beside the fingersticks.

The one page that carries a serial number. It says what was recorded and claims nothing beyond it.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from evenhand.charts import inline
from evenhand.clock import DAY, MINUTE
from evenhand.handouts.face import face
from evenhand.handouts.parts import Table
from evenhand.records.diary import MarkKind, Stick
from evenhand.records.readings import BEYOND_LOW, IN_RANGE, Readings
from evenhand.records.sensors import Sensor, Wear
from evenhand.records.trial import Trial
from evenhand.say import safety
from evenhand.say.dates import hours, moment
from evenhand.say.fates import ending_words
from evenhand.say.numbers import counted
from evenhand.units import Glucose, Unit, shown

_TEMPLATES = Path(__file__).parent / "templates"
BESIDE, LAST_STICKS, LAST_READINGS = 5 * MINUTE, 8, 12
"""A reading stands beside a stick at most this far away; so many of the last of each are shown."""


@dataclass(frozen=True, slots=True)
class _Own:
    """The readings of one wear, shapes (n,): instants, texts as recorded with their unit."""

    at: np.ndarray[tuple[int], np.dtype[np.int64]]
    told: tuple[str, ...]


def claim_page(trial: Trial, wear: Wear, made: str) -> str:
    """The page as HTML; `made` is its date as printed. Readings must be loaded."""
    sensor = next(one for one in trial.sensors if one.id == wear.sensor)
    own = _own(trial, wear)
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    light, _ = inline.styles()
    context = {
        "title": f"{sensor.name}: {ending_words(wear.ending, removed=wear.removed is not None)}",
        "rows": facts(trial, sensor, wear, own),
        "tables": [table for table in (_beside(trial, own), _last(trial, own)) if table.rows],
        "notes": _noted(trial, wear),
        "foot": safety.FOOT,
        "made": made,
    }  # fmt: skip
    template = environment.get_template("claim.html")
    bare = template.render(**context, style="", light="", face="")
    style = (_TEMPLATES / "report.css").read_text(encoding="utf-8")
    return template.render(**context, style=Markup(style), light=Markup(light), face=Markup(face(bare)))


def facts(trial: Trial, sensor: Sensor, wear: Wear, own: _Own) -> tuple[tuple[str, str], ...]:
    """What was recorded of the wear: label and text; 'not noted' where it was not."""
    end = wear.removed.instant if wear.removed else int(own.at[-1]) if own.at.size else wear.start.instant
    worn = hours((end - wear.start.instant) / 3600)
    rated = f"{worn} of {hours(sensor.life / 3600)} rated" if sensor.life else worn
    return (
        ("lot", wear.lot or "not noted"),
        ("serial number", wear.serial or "not noted"),
        ("expiry date", wear.expires.isoformat() if wear.expires else "not noted"),
        ("inserted", moment(wear.inserted.iso, year=True) if wear.inserted else "not noted"),
        ("started", moment(wear.start.iso, year=True)),
        ("removed", moment(wear.removed.iso, year=True) if wear.removed else "not yet"),
        ("ran for", rated),
        (
            "site",
            ", ".join(part for part in (wear.site, f"{wear.side} side" if wear.side else None) if part)
            or "not noted",
        ),
        ("readings", counted(int(own.at.size), "reading")),
        (
            "last reading",
            moment(trial.zones.stamp(int(own.at[-1])).iso, year=True) if own.at.size else "none",
        ),
    )


def _own(trial: Trial, wear: Wear) -> _Own:
    readings = trial.readings.get(wear.sensor, Readings.none())
    later = [
        one.start.instant for one in trial.wears_of(wear.sensor) if one.start.instant > wear.start.instant
    ]
    end = min([*later, *([wear.removed.instant] if wear.removed else [])], default=np.iinfo(np.int64).max)
    chosen = np.flatnonzero((readings.instant >= wear.start.instant) & (readings.instant <= end))
    return _Own(readings.instant[chosen], tuple(_value(readings, int(place)) for place in chosen))


def _value(readings: Readings, place: int) -> str:
    if readings.flag[place] == IN_RANGE:
        text = readings.text[place]
        number = text if text.replace(",", "").replace(".", "").isdigit() else f"{readings.value[place]:g}"
        return f"{number} {readings.unit(place)}"
    return "LOW" if readings.flag[place] == BEYOND_LOW else "HIGH"


def _beside(trial: Trial, own: _Own) -> Table:
    """The last sticks of the wear with the reading nearest to each."""
    rows = []
    if own.at.size:
        sticks = [one for one in trial.sticks if own.at[0] - BESIDE <= one.at.instant <= own.at[-1] + DAY]
        for stick in _blood(sticks)[-LAST_STICKS:]:
            near = int(np.argmin(np.abs(own.at - stick.at.instant)))
            close = abs(int(own.at[near]) - stick.at.instant) <= BESIDE
            said = own.told[near] if close else "no reading"
            rows.append((moment(stick.at.iso), _glucose(stick.glucose, trial.header.unit), said))
    return Table(
        "The last fingersticks, and what it read then", ("time", "fingerstick", "sensor"), tuple(rows)
    )


def _blood(sticks: list[Stick]) -> list[Stick]:
    return [one for one in sticks if one.marked(MarkKind.CONTROL) is None]


def _glucose(glucose: Glucose, unit: Unit) -> str:
    if glucose.beyond is not None:
        return str(glucose.beyond).upper()
    return str(glucose) if glucose.unit is unit else f"{shown(glucose.mg_dl, unit)} {unit}"


def _last(trial: Trial, own: _Own) -> Table:
    rows = [
        (moment(trial.zones.stamp(int(at)).iso), told)
        for at, told in zip(own.at[-LAST_READINGS:], own.told[-LAST_READINGS:], strict=True)
    ]
    return Table("Its last readings", ("time", "sensor"), tuple(rows))


def _noted(trial: Trial, wear: Wear) -> tuple[str, ...]:
    """What the diary says of the sensor in that time."""
    end = wear.removed.instant if wear.removed else None
    return tuple(
        f"{moment(event.start.iso)}: {event.kind}{', ' + event.text if event.text else ''}"
        for event in trial.events
        if event.sensor == wear.sensor
        and wear.first.instant <= event.start.instant
        and (end is None or event.start.instant <= end + DAY)
    )

"""The words of the card for the bedside."""

from __future__ import annotations

from evenhand.records.plan import Drawn
from evenhand.records.trial import Trial
from evenhand.say.dates import day
from evenhand.say.numbers import counted

TITLE = "By the bed"
LOW = "Low, or feeling low? Treat first. Everything on this card can wait."
WRITE = "If you are awake anyway"
CHANGES = "Sensors"
CHANGE_COLUMNS = ("sensor", "when", "arm")
SAFETY = (
    "Below 70 mg/dL (3.9 mmol/L) is a low: treat first. Below 54 (3.0) is a serious one: treat now, get help if you need it.",
    "When symptoms and sensor disagree, a fingerstick decides.",
    "This card sets no dose. Your care team and local rules come first.",
)


def night(trial: Trial) -> tuple[str, ...]:
    """What holds at night."""
    start, end = trial.question.waking or (420, 1380)
    return (
        f"Nothing is planned between {_clock(end)} and {_clock(start)}, and nothing rings. Sleep.",
        "A stick at night: prick, and leave it. The meter keeps the value; in the morning type 'evenhand stick' or bring the meter's file.",
        "Keep one sensor's alarm for serious lows on. A sensor you lie on may read too low until you turn.",
    )


def _clock(minute: int) -> str:
    return f"{minute // 60 % 24:02d}:{minute % 60:02d}"


def columns(trial: Trial) -> tuple[str, ...]:
    """What may be written down beside a value, after it is taken."""
    return ("date, time", "meter", *(f"{sensor.name} showed" for sensor in trial.sensors), "why")


def changes(trial: Trial, drawn: Drawn) -> list[tuple[str, str, str]]:
    """When sensors go in and the last come off, those of the past left out."""
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    found = [
        (
            f"{names[wear.sensor]} {wear.number} in",
            f"{day(wear.inserted.iso, year=False)}, {wear.inserted.wall:%H:%M}",
            str(wear.side),
        )
        for wear in drawn.wears
        if not wear.happened
    ]
    return [*found, ("all off", f"{day(drawn.end.iso, year=False)}, {drawn.end.wall:%H:%M}", "")]


def more(left: int) -> str:
    """That the card has no room for all changes."""
    return f"and {counted(left, 'change')} later: see the plan"


def foot(trial: Trial, drawn: Drawn) -> str:
    """Which plan this is the card of."""
    return f"Plan of {day(drawn.at.iso)}, drawing {drawn.number}, seed {drawn.seed}; times are {trial.header.zone}'s."

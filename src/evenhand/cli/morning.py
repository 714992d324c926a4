"""`evenhand stick` without a value: the morning round. Everything typed is saved at once; Enter leaves a question."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from evenhand.cli import keyboard, saying
from evenhand.cli.streams import aside, line, words
from evenhand.cli.world import now
from evenhand.desk import morning
from evenhand.desk.notes import NoteSaid, log_note
from evenhand.desk.sticks import read_trial, say_more
from evenhand.desk.weekly import METER, Due, due
from evenhand.errors import EvenhandError
from evenhand.records.diary import EventKind, Reason, Stick, ill_at
from evenhand.records.trial import Trial
from evenhand.say.diary import SICK_OVER, after_note, export_due
from evenhand.say.low import after_stick

T = TypeVar("T")

REASONS = {
    "p": Reason.PLAN,
    "h": Reason.HABIT,
    "a": Reason.PROMPTED,
    "c": Reason.CALIBRATION,
    "n": Reason.UNKNOWN,
}
_WHY = "Why? p planned, h habit, a alarm or symptom or odd reading, c calibration, n not known; Enter: later."


class Waits(Exception):
    """A low of this moment: everything else waits."""


def morning_round(path: Path) -> int:
    """Type or paste the night's sticks, or take the meter's file; say why; note the night's alarms; once a week clocks
    and exports. A low of this moment ends the round with its line."""
    trial = read_trial(path)
    words(
        f"Morning round, {trial.header.name}. Everything is saved at once. Enter leaves a question, Ctrl-D stops."
    )
    try:
        _ill(path)
        _night(path)
        _unexplained(path)
        _alarms(path)
        _pressure(path)
        _weekly(path)
    except keyboard.Left:
        line("Stopped. What was typed is saved.")
        return 0
    except Waits:
        return 0
    line("Done.")
    return 0


def _ill(path: Path) -> None:
    """Whether an illness that was noted without an end still goes on."""
    trial = read_trial(path)
    ill = ill_at(trial.events, now().instant())
    if ill is None or ill.end is not None:
        return
    since = saying.moment(ill.start, now().instant(), trial.zones)
    if keyboard.key(f"Ill since {since}. Still? n over; Enter: still ill.", {"n": "over"}) == "n":
        log_note(path, NoteSaid(EventKind.ILL, end="now"), now())
        words(SICK_OVER)
    else:
        words("Get well. Nothing is asked of you; what you type is kept.")


def _night(path: Path) -> None:
    """Sticks one a line, until Enter; a file's name is the meter's file."""
    words(
        "The night's sticks, one a line, such as '02:10 4.1' or '06:50 6.3 habit'; or drop the meter's file here."
    )
    while typed := keyboard.line(">"):
        if morning.is_file(typed):
            _take(path, morning.unquoted(typed))
            continue
        said = _tried(lambda typed=typed: morning.type_line(path, typed, now()))  # type: ignore[misc]
        if said is None:
            continue
        line(saying.stick(said.logged))
        warning = after_stick(said.logged.stick.glucose)
        if warning is not None:
            line(warning)
            if said.low_now:
                raise Waits
            continue
        if not said.explained:
            _why(path, said.logged.stick)
        _screens(path, said.logged.stick)


def _take(path: Path, name: str) -> None:
    """Take in the meter's file; what is open about it is told, and taken in another time."""
    from evenhand.desk.intaking import IntakeSaid, source_of, take_in

    taken = _tried(lambda: take_in(path, source_of(Path(name)), IntakeSaid("meter", {}, yes=True), now()))
    if taken is None:
        return
    if taken.change is not None:
        words(f"{taken.proposal.kept} sticks taken in from {taken.proposal.name}.")
    elif taken.proposal.questions:
        words(f"Not taken in: {taken.proposal.questions[0].text}")
        words(
            f"Answer it with: evenhand intake {name} --of meter --set {taken.proposal.questions[0].set} --yes"
        )
    else:
        words("Everything in it is held already.")


def _unexplained(path: Path) -> None:
    """Every stick of the night of which nobody has said why, once, by one key."""
    found = morning.unexplained(read_trial(path), now().instant())
    if found:
        words(f"{len(found)} of the last day and a half without a reason. {_WHY}")
    for stick in found:
        _why(path, stick, short=True)


def _why(path: Path, stick: Stick, *, short: bool = False) -> None:
    trial = read_trial(path)
    label = f"{saying.value(stick.glucose)} at {saying.moment(stick.at, now().instant(), trial.zones)}"
    pressed = keyboard.key(
        f"{label}:" if short else _WHY, {key: str(reason) for key, reason in REASONS.items()}
    )
    if not pressed:
        return
    into = _into(trial) if pressed == "c" else None
    _tried(lambda: say_more(path, stick, now(), reason=REASONS[pressed], into=into))


def _into(trial: Trial) -> str | None:
    """The sensor that a calibration was typed into, by its number."""
    if len(trial.sensors) == 1:
        return trial.sensors[0].name
    keys = {str(place): sensor.name for place, sensor in enumerate(trial.sensors, 1)}
    told = ", ".join(f"{key} {name}" for key, name in keys.items())
    return keys.get(keyboard.key(f"Into which? {told}; Enter: not known.", keys))


def _screens(path: Path, stick: Stick) -> None:
    """What each screen showed at that moment, asked only now that the stick is saved."""
    trial = read_trial(path)
    worn = morning.worn_now(trial, stick.at.instant)
    if not worn:
        return
    names = " ".join(sensor.name for sensor in worn)
    while typed := keyboard.line(f"The screens then, in this order: {names}. Enter: not looked at."):
        if _tried(lambda typed=typed: say_more(path, stick, now(), shown=morning.shown_from(typed, worn))):  # type: ignore[misc]
            return


def _alarms(path: Path) -> None:
    """The night's alarms, each with its level and whether it was right."""
    trial = read_trial(path)
    worn = morning.worn_now(trial, now().instant())
    if not worn:
        return
    example = f"'{worn[0].name} 02:10 low right'"
    while typed := keyboard.line(f"An alarm in the night? {example}, or wrong. Enter: none, or no more."):
        noted = _tried(lambda typed=typed: morning.note_alarm(path, typed, now()))  # type: ignore[misc]
        if noted is not None and noted.event is not None:
            told = after_note(noted.event, "")
            words(f"Noted.{' ' + told if told else ''}")


def _pressure(path: Path) -> None:
    """A sensor slept on, where the wearer knows of one."""
    trial = read_trial(path)
    worn = morning.worn_now(trial, now().instant())
    while worn and (
        typed := keyboard.line(f"Slept on a sensor? '{worn[0].name} 02:00-03:30'. Enter: not that you know.")
    ):
        name, _, hours = typed.rpartition(" ")
        start, _, end = hours.partition("-")
        said = NoteSaid(EventKind.PRESSURE, "", name.strip() or typed, start or None, end or None)
        if _tried(lambda said=said: log_note(path, said, now())):  # type: ignore[misc]
            words("Noted.")


def _weekly(path: Path) -> None:
    """Once a week: what each clock shows, and which device is due for an export. Not while ill."""
    trial = read_trial(path)
    if ill_at(trial.events, now().instant()) is not None:
        return
    found = due(path, now().instant())
    for one in found:
        if one.kind != "clock":
            words(export_due(one.device, one.kind, _days(one), one.reach, trial.zones))
    for one in found:
        if one.kind == "clock" and trial.wears:
            _clock(path, one.device)


def _days(one: Due) -> int | None:
    return None if one.last is None else (now().instant() - one.last) // 86_400


def _clock(path: Path, device: str) -> None:
    named = "the meter" if device == METER else device
    while typed := keyboard.line(f"What does the clock of {named} show now? Enter: another day."):
        noted = _tried(lambda typed=typed: log_note(path, NoteSaid(EventKind.CLOCK, typed, device), now()))  # type: ignore[misc]
        if noted is None or noted.event is None or noted.event.off is None:
            words("Write it as 07:45.")
            continue
        words(after_note(noted.event, named) or "")
        return


def _tried(do: Callable[[], T]) -> T | None:
    """What was done; None where it was refused, with the reason said."""
    try:
        return do()
    except EvenhandError as error:
        aside(str(error))
        return None

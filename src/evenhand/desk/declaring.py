"""Settling the question: answers saved as a draft, the declaration with its fingerprint, and departures from it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from evenhand import __version__
from evenhand.clock import Stamp
from evenhand.desk.answers import LEARNT, default_end, with_answers
from evenhand.desk.now import Now
from evenhand.desk.replacing import replace_file
from evenhand.desk.wishes import is_wish, with_wishes
from evenhand.errors import BadFile, BadRecord, EvenhandError, Place, WrongUse, raise_all
from evenhand.findings import METHOD
from evenhand.records.change import Change, Record
from evenhand.records.declaration import canonical, departures, fingerprint
from evenhand.records.diary import MarkKind
from evenhand.records.question import Declared, Deviation, Question
from evenhand.records.trial import Trial
from evenhand.store import file as store

_HEX = re.compile(r"(?<![0-9a-f])[0-9a-f]{64}(?![0-9a-f])")
_PART = re.compile(r"[0-9a-f]{8,64}")
MOST_BYTES = 5_000_000
"""No declaration, page or post is larger."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A trial and its question as they are now; what stands in the way of declaring it; the text that would be declared;
    `keys` that were answered just now, and the number of the change (None where nothing was new)."""

    trial: Trial
    problems: tuple[EvenhandError, ...]
    text: str
    keys: tuple[str, ...] = ()
    change: int | None = None

    @property
    def fingerprint(self) -> str:
        """The fingerprint of the declaration; of a draft, the one it would have if it were declared now."""
        declared = self.trial.question.declared
        return declared.fingerprint if declared else fingerprint(self.text)


@dataclass(frozen=True, slots=True)
class Declaration:
    """A declaration as made: the trial with it, and the file in which its text lies."""

    trial: Trial
    declared: Declared
    path: Path


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check of a declaration found: whether it is this trial's, in which words it was recognised ('text', 'names
    it', 'fingerprint'), whether the stored text still gives the fingerprint, and what would be declared otherwise today."""

    matches: bool
    how: str
    sound: bool
    trial: Trial
    departed: tuple[tuple[str, str], ...]


def draft(path: Path, now: Now) -> Draft:
    """The question as it stands; nothing is written."""
    trial = store.read(path, readings=False)
    return _drafted(trial, now)


def answer(path: Path, settings: Sequence[str], now: Now) -> Draft:
    """Save answers in the draft. After the declaration only what is learnt (`met`) can be told; `WrongUse` names the
    way for the rest."""
    trial = store.read(path, readings=False)
    ours = [one for one in settings if not is_wish(one)]
    answered = with_answers(trial, ours)
    wanted = with_wishes(trial, [one for one in settings if is_wish(one)])
    keys = tuple(dict.fromkeys(one.partition("=")[0].strip() for one in settings))
    if trial.question.declared is not None:
        _refuse_after_declaring(keys)
    fresh: list[Record] = [one for one in answered.sensors if one not in trial.sensors]
    if answered.question != trial.question:
        fresh.append(answered.question)
    planned = replace(trial.plan, wanted=wanted)
    fresh += [planned] if planned != trial.plan else []
    changed = replace(trial, question=answered.question, sensors=answered.sensors, plan=planned)
    changed.check()
    if not fresh:
        return replace(_drafted(trial, now), keys=keys)
    what = f"answered {', '.join(keys)}"
    change = store.write(path, Change(what, now.instant(), tuple(fresh)), trial.change)
    return replace(_drafted(replace(changed, change=change), now), keys=keys, change=change)


def _refuse_after_declaring(keys: Sequence[str]) -> None:
    frozen = [key for key in keys if key not in LEARNT]
    if frozen:
        raise WrongUse(
            f"{', '.join(frozen)} was declared and is not edited any more.",
            "Write down what you do otherwise, and why: the same again with --why TEXT. What was declared judges on.",
        )


def declare(path: Path, now: Now) -> Declaration:
    """Declare the question as it stands: its text is frozen, its fingerprint kept, and the text written beside the trial
    as NAME.declaration.txt. Raises everything that stands in the way at once."""
    trial = store.read(path, readings=False)
    raise_all(_problems(trial, now))
    settled = replace(trial, question=_settled(trial))
    declared = _declared(settled, now)
    question = replace(settled.question, declared=declared)
    done = replace(settled, question=question)
    store.write(
        path,
        Change(f"declared the question ({declared.fingerprint[:8]})", now.instant(), (question,)),
        trial.change,
    )
    return Declaration(done, declared, write_text(path, declared.text, now))


def write_text(path: Path, text: str, now: Now) -> Path:
    """The declaration's text beside the trial file, to be published; where it lies."""
    target = path.with_suffix(".declaration.txt")
    replace_file(target, text.encode("utf-8"), now)
    return target


def depart(path: Path, what: Sequence[str], why: str, now: Now) -> tuple[Deviation, ...]:
    """Append departures from the declaration, each with today's date and the reason. The declaration stays as it is."""
    trial = store.read(path, readings=False)
    if trial.question.declared is None:
        raise WrongUse("Nothing is declared yet, so nothing can be departed from.", "Leave --why out.")
    at = trial.zones.stamp(now.instant())
    made = tuple(Deviation(now.fresh_id(), at, " ".join(one.split()), " ".join(why.split())) for one in what)
    store.write(
        path, Change(f"departed from the declaration: {'; '.join(what)}", at.instant, made), trial.change
    )
    return made


def check_declaration(path: Path, said: str) -> Checked:
    """Hold a published text, a page that names a fingerprint, or the fingerprint itself (or its first eight or more
    characters) against the trial's declaration. `BadFile` where it is none of these."""
    trial = store.read(path, readings=False)
    declared = trial.question.declared
    if declared is None:
        raise BadRecord("This trial has no declaration to check.", "Declare it: evenhand declare --yes.")
    sound = bool(declared.text) and fingerprint(declared.text) == declared.fingerprint
    word = said.strip().lower()
    if _PART.fullmatch(word) and not Path(said).exists():
        return Checked(declared.fingerprint.startswith(word), "fingerprint", sound, trial, departures(trial))
    text = _published(Path(said))
    if fingerprint(text) == declared.fingerprint:
        return Checked(True, "text", sound, trial, departures(trial))
    named = set(_HEX.findall(text.lower()))
    if not named and not text.startswith("Evenhand declaration"):
        raise BadFile(
            "This is no declaration, and it names no fingerprint.",
            "Give the text, or 64 hexadecimal digits.",
            Place(said),
        )
    return Checked(
        declared.fingerprint in named, "names it" if named else "text", sound, trial, departures(trial)
    )


def _published(path: Path) -> str:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BadFile("This is too large to be a declaration.", "Give its text alone.", Place(str(path)))
        return path.read_bytes().decode("utf-8-sig", "replace")
    except OSError:
        raise BadFile(
            "There is no such file, and it is no fingerprint.",
            "Name the file with the published text, or write the 64 (at least 8) hexadecimal digits.",
            Place(str(path)),
        ) from None


def _drafted(trial: Trial, now: Now) -> Draft:
    declared = trial.question.declared
    if declared is not None:
        return Draft(trial, (), declared.text)
    settled = replace(trial, question=_settled(trial))
    return Draft(settled, tuple(_problems(trial, now)), canonical(settled, _when(settled, now)))


def _settled(trial: Trial) -> Question:
    """The question with what follows from the rest filled in: the planned end, and of two sensors the pair."""
    question = default_end(trial)
    if question.pair is None and len(trial.sensors) == 2:
        question = replace(question, pair=(trial.sensors[0].id, trial.sensors[1].id))
    return question


def _when(trial: Trial, now: Now) -> Declared:
    at = trial.zones.stamp(now.instant())
    return Declared(at, declared_day(trial, at), sticks_before(trial, at), METHOD, "", "", __version__)


def _declared(trial: Trial, now: Now) -> Declared:
    when = _when(trial, now)
    text = canonical(trial, when)
    return replace(when, text=text, fingerprint=fingerprint(text))


def declared_day(trial: Trial, at: Stamp) -> int:
    """The day of the trial (from 1) on which it is declared: counted from the first wear; 1 before that."""
    first = min((wear.first.day for wear in trial.wears), default=at.day)
    return max(1, (at.day - first).days + 1)


def sticks_before(trial: Trial, at: Stamp) -> int:
    """How many sticks could be held against a sensor before the declaration: from the first wear on. Control solution and
    what was pricked to try the meter before any sensor was in do not count."""
    first = min((wear.start.instant for wear in trial.wears), default=None)
    if first is None:
        return 0
    return sum(
        first <= stick.at.instant < at.instant and stick.marked(MarkKind.CONTROL) is None
        for stick in trial.sticks
    )


def _problems(trial: Trial, now: Now) -> Iterator[EvenhandError]:
    """What stands in the way of declaring."""
    question = _settled(trial)
    if question.declared is not None:
        yield BadRecord(
            f"The question was declared on {question.declared.at.day} and is declared once.",
            "Write a departure down with --set KEY=VALUE --why TEXT; a new question is a new trial file.",
        )
        return
    if question.end is None and question.end_wears is None:
        yield BadRecord(
            "It has no end: without one a trial could be stopped when it looks good.",
            "Give --set end=2026-04-04 (a date), or --set 'end=2 wears' (of each sensor), or draw a plan first.",
        )
    if question.end is not None and question.end.instant <= now.instant():
        yield BadRecord(f"Its end, {question.end.iso}, is over.", "Give a later one: --set end=DATE.")
    drawn = trial.plan.drawn
    if (
        question.end is not None
        and drawn is not None
        and drawn.minutes
        and drawn.minutes[-1] > question.end.instant
    ):
        last = trial.zones.stamp(drawn.minutes[-1])
        yield BadRecord(
            f"Its end, {question.end.iso}, lies before the last planned stick, {last.iso}.",
            f"Give --set end={last.day} or later, or plan fewer days.",
        )
    if question.looks > 1 and question.end is None:
        yield BadRecord(
            "More than one look needs an end by date, so that looks fall at equal numbers of days.",
            "Give --set end=DATE.",
        )
    if question.looks > 1 and question.pair is None:
        yield BadRecord("More than one look needs one pair of sensors.", "Give --set pair='NAME, NAME'.")

"""`evenhand declare`: settle the question, in a conversation or by settings; declare it; check a declaration."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from evenhand.cli import keyboard
from evenhand.cli.arguments import File, split
from evenhand.cli.streams import aside, data, line, words
from evenhand.cli.world import now
from evenhand.desk.answers import LEARNT
from evenhand.desk.declaring import Checked, Declaration, Draft, answer, check_declaration, depart, draft
from evenhand.desk.declaring import declare as declare_now
from evenhand.errors import EvenhandError, WrongUse
from evenhand.say import question as said
from evenhand.say.numbers import counted

_Set = Annotated[
    tuple[str, ...],
    Parameter(
        name="--set",
        help="An answer, as KEY=VALUE; once for each. Keys: tolerance, margin, pairs, pair, must, met, driver, policy, "
        "stream, waking, quiet, looks, end, strips, strip_price, money, strip_lots, alarm_low, alarm_high, alarm_delay, "
        "alarm_silence; of a sensor NAME.version, NAME.lots and what 'new --set' knows.",
    ),
]
_Yes = Annotated[bool, Parameter(help="Declare it as it stands.")]
_Why = Annotated[
    str | None,
    Parameter(
        name="--why",
        help="After declaring: why --set departs from it, noted with its date. --set 'other=TEXT' for what has no key.",
    ),
]
_Check = Annotated[
    str | None,
    Parameter(name="--check", help="A published text, a page that names a fingerprint, or the fingerprint."),
]
_Json = Annotated[bool, Parameter(name="--json", help="The question and its state as JSON.")]


def declare(
    file: File = None,
    /,
    *,
    settings: _Set = (),
    yes: _Yes = False,
    why: _Why = None,
    check: _Check = None,
    as_json: _Json = False,
) -> int:
    """Settle the question, declare it, check a declaration.

    Without --yes the answers are saved as a draft and shown. On a terminal, without options, you are asked.
    """
    path, _ = split(file)
    if check is not None:
        return _checked(check_declaration(path, check), as_json=as_json)
    if why is not None:
        return _departed(path, settings, why)
    made = answer(path, settings, now()) if settings else draft(path, now())
    if (
        not settings
        and not yes
        and not as_json
        and keyboard.present()
        and made.trial.question.declared is None
    ):
        made = _conversation(path, made)
    if yes:
        done = declare_now(path, now())
        made = draft(path, now())
        if not as_json:
            _tell_declared(done)
    if as_json:
        data(json.dumps(_plain(made), ensure_ascii=False, indent=2) + "\n")
    elif not yes:
        _show(made)
    return 0


def _conversation(path: Path, made: Draft) -> Draft:
    """Ask what is not answered yet, each answer saved at once; Ctrl-D leaves, and the rest is asked another day."""
    open_ = [one for one in said.asked(made.trial.header.unit) if one.key not in made.trial.question.answered]
    if not open_:
        return made
    words(
        "Each answer is saved at once. Enter takes the default, '-' leaves it for later, Ctrl-D stops here."
    )
    try:
        for place, one in enumerate(open_, 1):
            line("")
            words(f"{place}/{len(open_)}  {one.text}")
            made = _ask(path, one, made)
    except keyboard.Left:
        aside("Saved so far. 'evenhand declare' goes on from here.")
    line("")
    return made


def _ask(path: Path, one: said.Asked, made: Draft) -> Draft:
    many = one.key == "must"
    while True:
        told = one.default if one.example == one.default else f"{one.default}; for example {one.example}"
        typed = keyboard.line(f"[{told}]")
        if typed == "-" or (not typed and one.default.startswith(("not said", "the end"))):
            return made
        value = typed or ("none" if one.key in ("must", "quiet") else one.default.partition(",")[0])
        if many and not typed and made.trial.question.must_haves:
            return made
        try:
            made = answer(path, [f"{one.key}={value}"], now())
        except EvenhandError as error:
            words(str(error))
            continue
        if not many or not typed:
            return made
        words("Another? Enter if that is all.")


def _show(made: Draft) -> None:
    trial = made.trial
    declared = trial.question.declared
    if declared is not None:
        for text in made.text.splitlines():
            line(text)
        line("")
        words(f"Fingerprint: {declared.fingerprint}")
        for one in trial.deviations:
            words(f"Departure, {one.at.day}: {one.what}. Why: {one.why}.")
        return
    line("The question so far, a draft:")
    _rows(said.answers(trial))
    warning = said.driver_warning(trial)
    if warning:
        line("")
        words(warning)
    line("")
    for problem in made.problems:
        words(f"Before it can be declared: {problem.found} {problem.cure}")
    if trial.plan.drawn is None:
        words(
            "Wears and sticks are planned with evenhand plan: --set start='2026-03-14 09:00' --set days=20."
        )
    if not made.problems:
        words(
            "It can be declared: evenhand declare --yes. Until then each answer can be changed with --set KEY=VALUE."
        )


def _rows(rows: tuple[tuple[str, str], ...]) -> None:
    from evenhand.say.blocks import Block

    line(Block("numbers", rows=rows).text())


def _tell_declared(done: Declaration) -> None:
    trial, declared = done.trial, done.declared
    line(f"Declared. Fingerprint:\n{declared.fingerprint}")
    words(f"Its text lies in {done.path}. {said.PROOF}")
    if declared.sticks_before or any(wear.start.instant < declared.at.instant for wear in trial.wears):
        sticks = counted(declared.sticks_before, "stick")
        words(f"It was declared on day {declared.day}, after {sticks}; every answer says so.")
    warning = said.driver_warning(trial)
    if warning:
        words(warning)
    words(
        "The answer is sealed until the end. What you do otherwise from now on: --set KEY=VALUE --why TEXT."
    )


def _departed(path: Path, settings: tuple[str, ...], why: str) -> int:
    learnt = [one for one in settings if one.partition("=")[0].strip() in LEARNT]
    rest = [one for one in settings if one not in learnt]
    if not rest:
        raise WrongUse(
            "--why belongs to a departure, and none is named.",
            "Add --set KEY=VALUE, or --set 'other=what you did'.",
        )
    made = depart(path, [one.removeprefix("other=") for one in rest], why, now())
    for one in made:
        words(f"Noted as a departure: {one.what}. Why: {one.why}.")
    words("The declaration stays as it is and judges on; the departure is printed with the answer.")
    return 0


def _checked(found: Checked, *, as_json: bool) -> int:
    declared = found.trial.question.declared
    assert declared is not None
    good = found.matches and found.sound
    if as_json:
        told = {
            "matches": found.matches, "sound": found.sound, "fingerprint": declared.fingerprint, "declared": declared.at.iso,
            "departed": [{"declared": was, "now": is_} for was, is_ in found.departed],
        }  # fmt: skip
        data(json.dumps(told, ensure_ascii=False, indent=2) + "\n")
        return 0 if good else 1
    named = {"text": "The text", "names it": "The fingerprint in it", "fingerprint": "The fingerprint"}[
        found.how
    ]
    words(
        f"{named} {'is' if found.matches else 'is NOT'} that of this trial's declaration of {declared.at.iso}."
    )
    if not found.sound:
        words(
            "The text kept in the trial file does NOT give the fingerprint kept with it: the file was altered."
        )
    if found.departed:
        line("Since then, something is otherwise than declared:")
        for was, is_ in found.departed[:20]:
            words(f"{was or 'nothing'}  ->  {is_ or 'nothing'}", "  ")
    return 0 if good else 1


def _plain(made: Draft) -> dict[str, object]:
    """The question for a program."""
    trial = made.trial
    declared = trial.question.declared
    return {
        "state": "declared" if declared else "draft",
        "declared": {"at": declared.at.iso, "day": declared.day, "sticks_before": declared.sticks_before}
        if declared
        else None,
        "fingerprint": made.fingerprint if declared else None,
        "answers": dict(said.answers(trial)),
        "answered": list(trial.question.answered),
        "missing": [{"found": one.found, "cure": one.cure} for one in made.problems],
        "deviations": [{"at": one.at.iso, "what": one.what, "why": one.why} for one in trial.deviations],
        "text": made.text,
    }

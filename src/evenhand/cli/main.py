"""The command `evenhand`: finds the command meant, runs it, and turns failures into words and exit codes."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from cyclopts import App, CycloptsError, Group, Parameter

from evenhand import __version__
from evenhand.cli.failing import tell
from evenhand.cli.misuse import LATER, as_wrong_use, not_yet
from evenhand.cli.streams import prepare
from evenhand.cli.world import STANDARD_INPUT, world
from evenhand.desk.now import Now
from evenhand.errors import CannotWrite, EvenhandError, WrongUse

_ABOUT = """Plans, keeps, judges and tells a fair side-by-side trial of glucose sensors against fingersticks.

Sets no insulin dose and recommends no treatment. A fingerstick decides when symptoms and sensor disagree.
"""

_START, _DIARY, _FILES, _ANSWER = (
    Group(name, sort_key=place) for place, name in enumerate(("Start", "Diary", "Files", "Answer"))
)
_REFUSED_CURE = "What had to be saved was saved before it was said. Check the disk, its room and permissions."
COMMANDS = (
    ("demo", _START, "Invent a trial, take its files in, judge it, write its report."),
    ("new", _START, "Make a trial file."),
    ("wear", _DIARY, "Log a wear: insertion, start, removal; complete or correct one."),
    ("stick", _DIARY, "Log a fingerstick: value and done."),
    ("note", _DIARY, "Note a meal, an illness, a trip, an alarm and the like."),
    ("intake", _FILES, "Take in a file of readings or fingersticks."),
    ("check", _FILES, "Check the trial file and name its newest good copy."),
    ("undo", _FILES, "Take back the last change, or the one of that number."),
    ("backup", _FILES, "Copy the trial file."),
    ("export", _FILES, "Write readings, sticks, diary, ledger or file keys as CSV or JSON."),
    ("judge", _ANSWER, "Judge the trial and print the answer."),
    ("report", _ANSWER, "Write the answer as one HTML page."),
    ("rehearse", _ANSWER, "Invent trials whose truth is known, as trial file and as files."),
)
"""Every command: its name, its group in the help, and what it does."""


def build(only: str | None = None) -> App:
    """The commands, registered by import string: asking for help imports no science. `only`: none but that
    one, where there is a command of that name (registering all of them takes some milliseconds)."""
    app = App(
        name="evenhand",
        help=_ABOUT,
        version=__version__,
        help_format="plaintext",
        help_formatter="plain",
        result_action="return_value",
        default_parameter=Parameter(negative="", show_default=False, show_env_var=False),
        suppress_keyboard_interrupt=False,
    )
    chosen = [command for command in COMMANDS if command[0] == only] or COMMANDS
    for place, (name, group, about) in enumerate(chosen):
        app.command(f"evenhand.cli.{name}:{name}", name=name, help=about, group=group, sort_key=place)
    return app


def main(tokens: Sequence[str] | None = None, now: Now | None = None) -> int:
    """Run one command and return its exit code: 0 done, 1 refused with a reason, 2 wrong use.

    `tokens` are the words after 'evenhand' (the real ones where None), `now` the clock, zone and entropy.
    """
    words = list(sys.argv[1:] if tokens is None else tokens)
    prepare()
    try:
        with world(now):
            code = _run(words)
            sys.stdout.flush()
            return code
    except EvenhandError as error:
        return _told(error, words)
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return 1
    except BrokenPipeError:
        # Whoever read the output has seen enough; what had to be saved was saved before it was said.
        _silence()
        return 0
    except OSError as error:
        return _told(CannotWrite(f"The system refused ({error.strerror or error}).", _REFUSED_CURE), words)


def _run(words: list[str]) -> int:
    for word in words:
        if any("\ud800" <= letter <= "\udfff" for letter in word):
            raise WrongUse("A word on the command line is not readable text.", "Type it again.")
    if words and words[0] in LATER:
        raise not_yet(f"'{words[0]}' ({LATER[words[0]]})")
    try:
        result = build(words[0] if words else None)(
            _with_standard_input(words),
            exit_on_error=False,
            print_error=False,
        )
    except CycloptsError as error:
        raise as_wrong_use(error) from None
    return result if isinstance(result, int) else 0


def _with_standard_input(words: list[str]) -> list[str]:
    """The words with '-' told apart from an option, for the one command that reads standard input."""
    if words[:1] != ["intake"]:
        return words
    return [STANDARD_INPUT if word == "-" else word for word in words]


def _told(error: EvenhandError, words: list[str]) -> int:
    try:
        tell(error, as_json="--json" in words)
        sys.stdout.flush()
    except OSError:
        _silence()
    return error.exit_code


def _silence() -> None:
    """Let standard output go nowhere, so that what is still held back for it fails no more."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)


if __name__ == "__main__":
    sys.exit(main())

"""Wrong use of the command line, in our words."""

from __future__ import annotations

from cyclopts import (
    CoercionError,
    CycloptsError,
    MissingArgumentError,
    RepeatArgumentError,
    Token,
    UnknownCommandError,
    UnknownOptionError,
    UnusedCliTokensError,
)

from evenhand.errors import WrongUse

LATER = {
    "declare": "declaring the question",
    "plan": "planning wears and fingersticks",
    "pack": "the data pack",
    "pool": "pooling many trials",
    "serve": "the local site",
}
"""Commands of a later release, and what they will be for."""


def not_yet(what: str) -> WrongUse:
    """Something that this release does not do yet."""
    return WrongUse(
        f"{what[:1].upper()}{what[1:]} comes with a later release.", "This one does not have it yet."
    )


def as_wrong_use(error: CycloptsError) -> WrongUse:
    """The parser's complaint in plain words, with where to look."""
    command = " ".join(("evenhand", *(error.command_chain or ())))
    return WrongUse(_found(error), f"See '{command} --help'.")


def _found(error: CycloptsError) -> str:
    option = error.argument.name if error.argument is not None else "An option"
    match error:
        case UnknownCommandError():
            found = f"There is no command '{(error.unused_tokens or ['that'])[0]}'."
        case UnknownOptionError():
            found = f"There is no option '{error.token.keyword or error.token.value}' here."
        case UnusedCliTokensError():
            found = f"'{' '.join(error.unused_tokens or ())}' is one word too many."
        case RepeatArgumentError():
            found = f"{error.token.keyword or 'An option'} is given more than once."
        case MissingArgumentError():
            found = f"{option} is missing, or has no value."
        case CoercionError(token=Token() as token):
            found = f"'{token.value}' is not possible for {option}.{_choices(error)}"
        case _:
            found = " ".join(str(error).split())
    return found


def _choices(error: CoercionError) -> str:
    told = str(error)
    if "Choose from: " not in told:
        return ""
    names, _, meant = (
        told.partition("Choose from: ")[2].split("\n")[0].replace('"', "").partition(" Did you mean ")
    )
    return f" Possible: {names.rstrip('. ')}." + (f" Did you mean {meant.rstrip('?. ')}?" if meant else "")

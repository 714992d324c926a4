"""Whose a file is: said, or told by its name, its preamble or the name of its sheet; else a question."""

from __future__ import annotations

from dataclasses import dataclass

from evenhand.intake.ask import Asked, Guess
from evenhand.intake.names import Names, named_in
from evenhand.intake.reading import Read, strange_devices

_MOST_ASKED = 12


@dataclass(frozen=True, slots=True)
class Whose:
    """The owner of what no column or row names ('meter', a sensor's id, None: not known) and how it was found."""

    owner: str | None
    guess: Guess | None = None


def find(of: str | None, names: Names, preambles: list[str]) -> Whose:
    """Whose the file is, from what was said, its name, or the lines before the table."""
    if of is not None:
        owner = names.owner(of)
        return Whose(owner, Guess("of", names.shown(owner), 1.0, "you said so"))
    stem = names.file.rpartition(".")[0] or names.file
    places = [(stem, "the file's name says so")] + [
        (text, "a line before the table says so") for text in preambles
    ]
    for text, evidence in places:
        told = named_in(text, names) or (
            "meter" if " meter " in f" {text.lower().replace('_', ' ').replace('-', ' ')} " else None
        )
        if told is not None:
            return Whose(told, Guess("of", names.shown(told), 0.8, evidence))
    return Whose(None)


def ask(reads: list[Read], names: Names, ownerless: int) -> list[Asked]:
    """Questions about values of whom nobody knows whose they are."""
    if not ownerless:
        return []
    devices = list(dict.fromkeys(word for one in reads for word in strange_devices(one)))
    if 1 < len(devices) <= _MOST_ASKED:
        return [
            Asked(
                "device",
                f"Which device does '{word}' stand for?",
                (*names.choices(), "ignore"),
                f"device.{word}=NAME",
            )
            for word in devices
        ]
    return [Asked("of", f"Whose are the {ownerless} values of this file?", names.choices(), "of=NAME")]

"""Whose a word is: the names of a trial's sensors and its meter, as files write them."""

from __future__ import annotations

from dataclasses import dataclass

from evenhand.errors import UnknownName
from evenhand.intake.settings import did_you_mean
from evenhand.intake.words import fold
from evenhand.records.trial import Trial

METER = "meter"


@dataclass(frozen=True, slots=True)
class Names:
    """The sensors (id to name) and the meter's name of a trial, with the file's name for messages."""

    sensors: dict[str, str]
    meter: str
    file: str

    def choices(self) -> tuple[str, ...]:
        """What `of=` may say."""
        return (*self.sensors.values(), METER)

    def shown(self, owner: str) -> str:
        """An owner as a person reads it."""
        return "the meter" if owner == METER else self.sensors[owner]

    def owner(self, said: str) -> str:
        """The owner a person names: 'meter' or a sensor's id; `UnknownName` for neither."""
        found = self.whose(said)
        if found is None:
            raise UnknownName(
                f"There is no sensor '{said}' in this trial.", did_you_mean(said, self.choices())
            )
        return found

    def whose(self, word: str) -> str | None:
        """The owner whose very name a word is; None for nobody's.

        >>> Names({"s1": "Fern"}, "Kitchen meter", "a.csv").whose(" fern ")
        's1'
        """
        folded = fold(word)
        for sensor, name in self.sensors.items():
            if fold(name) == folded:
                return sensor
        return METER if folded and folded in (METER, fold(self.meter)) else None


def named_in(text: str, names: Names) -> str | None:
    """The one owner whose name stands in a text as a word; None where nobody's or more than one does.

    >>> names = Names({"s1": "Fern", "s2": "Slate"}, "", "a.csv")
    >>> named_in("Fern (mg/dL)", names), named_in("fern_and_slate.csv", names)
    ('s1', None)
    """
    padded = f" {fold(text.replace('(', ' ').replace(')', ' ').replace('[', ' '))} "
    found = {sensor for sensor, name in names.sensors.items() if fold(name) and f" {fold(name)} " in padded}
    if names.meter and fold(names.meter) != METER and f" {fold(names.meter)} " in padded:
        found.add(METER)
    return found.pop() if len(found) == 1 else None


def names_of(trial: Trial, file: str) -> Names:
    """The names of a trial, for the file at hand."""
    return Names({sensor.id: sensor.name for sensor in trial.sensors}, trial.header.meter, file)

"""Which column is what: guessed from all rows and the header's words, each guess with its evidence."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import islice, pairwise

from evenhand.errors import Place, UnknownName
from evenhand.intake import moments, odd_columns, words, zoned
from evenhand.intake.ask import Asked, Guess
from evenhand.intake.facts import Facts
from evenhand.intake.layout import Section, role_of
from evenhand.intake.names import Names, named_in
from evenhand.intake.settings import Settings, did_you_mean
from evenhand.intake.words import Role, fold


@dataclass(frozen=True, slots=True)
class ValueColumn:
    """A column of values and whose they are: 'meter', a sensor's id, or None (whoever the file is of)."""

    index: int
    owner: str | None = None


@dataclass(frozen=True, slots=True)
class Roles:
    """The columns of a section by what they hold (indices; None: there is none)."""

    time: int
    date: int | None
    values: tuple[ValueColumn, ...]
    others: dict[Role, int]

    def get(self, role: Role) -> int | None:
        """The column of a role other than time, date and value."""
        return self.others.get(role)


@dataclass(slots=True)
class Findings:
    """What was found on the way: guesses to show and questions to ask."""

    guesses: list[Guess]
    asked: list[Asked]
    unread: list[str] = field(default_factory=list)
    """Columns of numbers that are not read."""


def column_named(section: Section, said: str, key: str, name: str) -> int:
    """The column a person named: by its name, '#3' or '3'; `UnknownName` with the nearest name otherwise."""
    folded = [fold(known) for known in section.names]
    if fold(said) in folded:
        return folded.index(fold(said))
    number = said.removeprefix("#").removeprefix("column ").strip()
    if number.isascii() and number.isdigit() and 1 <= int(number) <= len(folded):
        return int(number) - 1
    raise UnknownName(
        f"There is no column '{said}' for {key}=.",
        did_you_mean(said, section.names),
        Place(file=name, sheet=section.sheet, line=section.header[-1] if section.header else None),
    )


def find(
    section: Section, facts: Sequence[Facts], settings: Settings, names: Names, file: str
) -> tuple[Roles | None, Findings]:
    """The roles of a section's columns; None where no time or no value can be found and nobody said which."""
    found = Findings([], [])
    said = {key: column_named(section, column, key, file) for key, column in settings.columns().items()}
    unit_column = settings.unit_column()
    if unit_column is not None:
        said["unit"] = column_named(section, unit_column, "unit", file)
    taken = set(said.values())
    moment = _time(section, facts, said, taken, found)
    if moment is None:
        return None, found
    time, date = moment
    taken |= {time} | ({date} if date is not None else set())
    others = _others(section, facts, said, taken, names, found, settings)
    taken |= set(others.values())
    several = odd_columns.persons(facts, [fact.index for fact in facts if fact.index not in taken])
    if several is not None:
        others[Role.PERSON] = several.index
        taken |= {several.index}
        if settings.get("person") is None:
            found.asked.append(odd_columns.ask_person(several))
    values = _values(section, facts, said, taken, settings, names, found)
    if not values and not others.get(Role.KIND) and not found.asked:
        return None, found
    return Roles(time, date, values, others), found


def _time(
    section: Section, facts: Sequence[Facts], said: dict[str, int], taken: set[int], found: Findings
) -> tuple[int, int | None] | None:
    if "time" in said:
        return said["time"], said.get("date")
    free = [fact for fact in facts if fact.index not in taken or fact.index == said.get("date")]
    if "date" not in said:
        whole = _ranked(section, [fact for fact in free if _whole_time(fact, section)])
        if whole:
            return _chosen_time(section, whole, found), None
    dates = [fact for fact in free if fact.day >= 0.6 or (fact.index == said.get("date"))]
    dates += [fact for fact in free if not dates and fact.moment >= 0.6 and midnights(fact)]
    clocks = [fact for fact in free if fact.clock >= 0.6 and fact.index not in {date.index for date in dates}]
    if dates and clocks:
        date = max(
            dates,
            key=lambda fact: (fact.index == said.get("date"), role_of(fact.name, Role.DATE), fact.filled),
        )
        clock = max(
            clocks,
            key=lambda fact: (role_of(fact.name, Role.TIME), fact.filled, -abs(fact.index - date.index)),
        )
        found.guesses += [
            Guess("date", date.name, date.day, f"{date.day:.0%} of its cells are dates", section.sheet),
            Guess(
                "time",
                clock.name,
                clock.clock,
                f"{clock.clock:.0%} of its cells are times of day",
                section.sheet,
            ),
        ]
        return clock.index, date.index
    return None


def midnights(fact: Facts) -> bool:
    """Whether (nearly) every time of a column is midnight: dates that were written as times."""
    first = list(islice(fact.counts, 20))
    if sum(map(_midnight, first)) < 0.8 * len(first):
        return False
    return fact.distinct > 0 and fact.share(_midnight) > 0.98


def _midnight(cell: str) -> bool:
    parted = moments.split(cell)
    clock = None if parted is None else moments.read_clock(parted[1])
    return clock is not None and clock[0] == 0


def _whole_time(fact: Facts, section: Section) -> bool:
    """Whether a column can be date and time together; a column that is called so may hold other lines too."""
    if fact.moment >= (0.2 if role_of(fact.name, Role.TIME) == 1.0 else 0.6):
        return not (
            midnights(fact)
            and any(True for name in section.names if role_of(name, Role.TIME) and name != fact.name)
        )
    headed = role_of(fact.name, Role.TIME) > 0 or role_of(fact.name, Role.DATE) > 0
    return (fact.epoch >= 0.9 and (headed or fact.distinct > 0.5 * fact.filled)) or (
        fact.serial >= 0.9 and (headed or section.serial_base is not None)
    )


def _ranked(section: Section, candidates: list[Facts]) -> list[tuple[float, Facts]]:  # noqa: ARG001
    scored = []
    for fact in candidates:
        share = max(fact.moment, fact.epoch, fact.serial)
        score = share + max(role_of(fact.name, Role.TIME), 0.5 * role_of(fact.name, Role.DATE))
        score += 0.5 * fact.distinct / max(fact.filled, 1) + 0.5 * fact.filled / max(fact.rows, 1)
        score -= 1.0 * _other(fact.name)
        score += 0.6 * _plainly_utc(fact.name)
        scored.append((score, fact))
    return sorted(scored, key=lambda item: (-item[0], item[1].index))


def _plainly_utc(name: str) -> bool:
    """Whether a column is called a time in UTC and nothing else: beside a local one it says more.

    >>> _plainly_utc("Time (UTC)"), _plainly_utc("UTC time"), _plainly_utc("Upload time UTC")
    (True, True, False)
    """
    told = fold(name.replace("(", " ").replace(")", " ")).split()
    bare = " ".join(word for word in told if word not in ("utc", "gmt"))
    return len(bare) < len(" ".join(told)) and bare in words.COLUMN_WORDS[Role.TIME]


def _other(name: str) -> bool:
    """Whether a name says something that is neither a time of measuring nor a value."""
    folded = fold(name)
    padded = f" {folded} "
    return any(f" {word} " in padded for word in words.OTHER_COLUMNS)


def _chosen_time(section: Section, ranked: list[tuple[float, Facts]], found: Findings) -> int:
    score, best = ranked[0]
    rivals = [
        fact
        for other, fact in ranked[1:]
        if (other > score - 0.25 or _bare(section, fact.name) == _bare(section, best.name))
        and not _alike(section, best, fact)
        and not (_plainly_utc(best.name) and not _plainly_utc(fact.name))
    ]
    if rivals:
        names = (best.name, *(fact.name for fact in rivals))
        found.asked.append(
            Asked(
                "time-column",
                f"More than one column could be the time of measuring: {', '.join(names)}. Which is it?",
                names,
                "time=COLUMN",
            )
        )
    share = max(best.moment, best.epoch, best.serial)
    form = (
        "date and time"
        if best.moment >= 0.6
        else ("counts of seconds since 1970" if best.epoch >= 0.9 else "serial numbers of days")
    )
    found.guesses.append(
        Guess("time", best.name, min(1.0, score / 3), f"{share:.0%} of its cells are {form}", section.sheet)
    )
    return best.index


def _bare(section: Section, name: str) -> str:
    """A name without the number of its repetition, and without its group's: what columns of tables side by side share."""
    folded = fold(re.sub(r" \(\d+\)$", "", name))
    return folded.rpartition(" ")[2] if len(section.header) > 1 else folded


def _alike(section: Section, one: Facts, other: Facts) -> bool:
    return section.columns[one.index] == section.columns[other.index]


_TESTS: dict[Role, tuple[float, frozenset[str]]] = {
    Role.UNIT: (0.9, frozenset(words.UNIT_WORDS)),
    Role.KIND: (0.6, frozenset(words.KIND_WORDS)),
    Role.REASON: (0.6, frozenset(words.REASON_WORDS)),
    Role.MARKS: (0.6, frozenset(words.MARK_WORDS)),
}


def _others(
    section: Section,
    facts: Sequence[Facts],
    said: dict[str, int],
    taken: set[int],
    names: Names,
    found: Findings,
    settings: Settings,
) -> dict[Role, int]:
    """Columns of unit, kind, device, reason, marks, note and lot."""
    named = {"offset": "zone"}
    others = {
        Role(named.get(key, key)): at for key, at in said.items() if key not in ("time", "date", "value")
    }
    used = set(taken)
    for role in (Role.ZONE, Role.UNIT, Role.DEVICE, Role.KIND, Role.REASON, Role.MARKS, Role.LOT, Role.NOTE):
        if role in others:
            continue
        scored = [
            (_score(role, fact, names), fact) for fact in facts if fact.index not in used and fact.filled
        ]
        best = max(scored, key=lambda item: item[0], default=None)
        if best is None or best[0] < 0.6:
            if role is Role.ZONE and settings.get("zone") is None:
                found.asked.extend(_strange_zone([fact for _, fact in scored]))
            continue
        others[role] = best[1].index
        used.add(best[1].index)
        found.guesses.append(
            Guess(role.value, best[1].name, min(1.0, best[0] / 2), _why(role, best[1]), section.sheet)
        )
    return others


def _strange_zone(facts: Sequence[Facts]) -> list[Asked]:
    """The question for a column of zones in words that are neither offsets nor IANA names ('EST')."""
    return [
        Asked(
            "zone",
            f"The column '{fact.name}' says '{next(iter(fact.counts))}', which is no zone's name and no offset. Which zone were the times written in?",
            ("an IANA name, such as America/New_York", "an offset, such as -05:00"),
            "zone=ZONE",
        )
        for fact in facts
        if fact.share(zoned.known) < 0.9
        and (
            (fold(fact.name) in words.ZONE_COLUMNS and fact.numeric < 0.5)
            or (fact.numeric >= 0.5 and "offset" in fold(fact.name) and role_of(fact.name, Role.ZONE) >= 0.6)
        )
    ]


def _score(role: Role, fact: Facts, names: Names) -> float:  # noqa: PLR0911
    headed = role_of(fact.name, role)
    if headed < 1.0 and any(role_of(fact.name, other) == 1.0 for other in Role if other is not role):
        return 0.0
    if role is Role.ZONE:
        share = fact.share(zoned.known) if fact.distinct <= 60 else 0.0
        signed = fact.share(
            lambda cell: (
                ":" in cell
                or "/" in cell
                or "UTC" in cell.upper()
                or "GMT" in cell.upper()
                or cell.strip()[:1] in "+-−"
            )
        )
        return share + headed if share >= 0.9 and (headed or signed >= 0.9) else 0.0
    if role in (Role.NOTE, Role.LOT):
        return headed if role is Role.LOT or fact.share(_numbered) < 0.5 else 0.0
    if role is Role.DEVICE:
        known = fact.share(lambda cell: names.whose(cell) is not None) if fact.distinct < 200 else 0.0
        return (
            known + (headed if fact.numeric < 0.5 and fact.moment < 0.5 and fact.distinct <= 40 else 0.0)
            if known > 0.3 or headed == 1.0
            else 0.0
        )
    least, known_words = _TESTS[role]
    share = (
        fact.share(lambda cell: any(part in known_words for part in _parts(cell, role)))
        if fact.distinct <= 400
        else 0.0
    )
    if role is Role.UNIT:
        other = fact.share(lambda cell: words.other_unit(cell) is not None) if headed == 1.0 else 0.0
        return share + headed if share + other >= least else 0.0
    if share >= least:
        return share + headed
    return (
        headed
        if headed == 1.0
        and fact.numeric < 0.3
        and 0 < fact.distinct <= 40
        and (share > 0 or role is Role.KIND)
        else 0.0
    )


def _numbered(cell: str) -> bool:
    """Whether a cell begins like a number; a note may well be 'low'."""
    return cell.strip()[:1] in set("0123456789<>")


def _parts(cell: str, role: Role) -> list[str]:
    """A cell as its words for a list of marks: the whole, and what commas, semicolons or plus signs part."""
    whole = fold(cell)
    if role is not Role.MARKS:
        return [whole]
    return [
        whole,
        *(fold(part) for part in cell.replace(";", ",").replace("+", ",").replace("|", ",").split(",")),
    ]


def _why(role: Role, fact: Facts) -> str:
    if role_of(fact.name, role) >= 0.6:
        return f"its name says so, and {fact.filled} of {fact.rows} rows fill it"
    return f"most of its {fact.filled} cells are words for it"


def _values(
    section: Section,
    facts: Sequence[Facts],
    said: dict[str, int],
    taken: set[int],
    settings: Settings,
    names: Names,
    found: Findings,
) -> tuple[ValueColumn, ...]:
    owned = _said_owners(section, settings, names)
    if "value" in said:
        return (
            ValueColumn(said["value"]),
            *(ValueColumn(index, owner) for index, owner in owned.items() if owner),
        )
    skipped = {index for index, owner in owned.items() if owner is None}
    candidates = [
        fact
        for fact in facts
        if fact.index not in taken and fact.index not in skipped and _can_be_value(fact)
    ]
    columns: list[ValueColumn] = [ValueColumn(index, owner) for index, owner in owned.items() if owner]
    rest: list[Facts] = []
    for fact in candidates:
        if fact.index in owned:
            continue
        owner = _named_owner(fact.name, names)
        if owner is not None and not _other(fact.name):
            columns.append(ValueColumn(fact.index, owner))
            found.guesses.append(
                Guess(
                    "value",
                    fact.name,
                    0.95,
                    f"its name is that of {names.shown(owner)}, and {fact.numeric:.0%} of its cells are values",
                    section.sheet,
                )
            )
        else:
            rest.append(fact)
    return tuple(
        sorted(
            [*columns, *_unnamed(section, rest, bool(columns), names, found)], key=lambda column: column.index
        )
    )


def _said_owners(section: Section, settings: Settings, names: Names) -> dict[int, str | None]:
    """What `sensor.COLUMN=` settings say: column index to owner, None for 'ignore'."""
    owned: dict[int, str | None] = {}
    for column, said in settings.families["sensor"].items():
        try:
            index = column_named(section, column, "sensor.COLUMN", names.file)
        except UnknownName:
            if section.sheet is None:
                raise
            continue
        owned[index] = None if said.lower() == "ignore" else names.owner(said)
    return owned


def _named_owner(name: str, names: Names) -> str | None:
    owner = named_in(name, names)
    if owner is not None:
        return owner
    folded = fold(name.partition("(")[0])
    return (
        "meter"
        if folded in words.STICK_COLUMNS
        or any(f" {word} " in f" {folded} " for word in words.STICK_COLUMNS if " " in word or len(word) > 6)
        else None
    )


def _can_be_value(fact: Facts) -> bool:
    """Mostly numbers that a body can have, and no running number from 0 or 1 on; a name that says so weighs more than bad cells."""
    headed = not _other(fact.name) and (
        role_of(fact.name, Role.VALUE) == 1.0 or unit_in(fact.name) is not None
    )
    if fact.numeric < (0.02 if headed else 0.5) or fact.epoch > 0.5 or not fact.filled:
        return False
    plain = {
        cell: count
        for cell, count in fact.counts.items()
        if cell.strip()[:9].replace(".", "").replace(",", "").isdigit()
    }
    numbers = [
        (float(cell.strip().replace(",", ".")), count)
        for cell, count in plain.items()
        if cell.strip().replace(",", ".").count(".") <= 1 and cell.strip().isascii() and len(cell) < 10
    ]
    total = sum(count for _, count in numbers)
    likely = sum(count for number, count in numbers if 0.5 <= number <= 1000)
    if total and likely < (0.3 if headed else 0.8) * total:
        return False
    steps = [number for number, _ in numbers]
    running = (
        len(steps) > 8 and steps[0] <= 1 and all(after - before == 1 for before, after in pairwise(steps))
    )
    return headed or not running


def _unnamed(
    section: Section,
    rest: list[Facts],
    has_named: bool,  # noqa: FBT001
    names: Names,
    found: Findings,
) -> list[ValueColumn]:
    """Which of the columns without a device's name hold the values of whoever the file is of."""
    scored = [
        (_value_name(fact.name) + _unit_in(section, fact) - 2.0 * _other(fact.name), fact) for fact in rest
    ]
    headed = [fact for score, fact in scored if score >= 0.6]
    plain = [fact for score, fact in scored if -0.5 < score < 0.6]
    steady = [fact for fact in plain if not _rises_by_one(fact)]
    chosen = headed or ([] if has_named else steady or plain)
    if chosen == headed:
        found.unread.extend(fact.name for fact in plain)
    if len(chosen) > 1:
        chosen = _without_twins(section, chosen)
    measured = [fact for fact in chosen if not odd_columns.derived(fact.name)]
    if len(measured) < len(chosen) and (measured or not has_named):
        found.unread.extend(fact.name for fact in chosen if fact not in measured and measured)
        if not measured:
            found.asked.append(odd_columns.ask_derived([fact.name for fact in chosen]))
            return [ValueColumn(fact.index) for fact in chosen[:1]]
        chosen = measured
    if len(chosen) == 1:
        fact = chosen[0]
        why = "its name says so" if headed else "no other column can be values"
        found.guesses.append(
            Guess(
                "value",
                fact.name,
                0.9 if headed else 0.6,
                f"{fact.numeric:.0%} of its cells are values, and {why}",
                section.sheet,
            )
        )
        return [ValueColumn(fact.index)]
    if chosen:
        listed = ", ".join(f"'{fact.name}'" for fact in chosen)
        for fact in chosen:
            found.asked.append(
                Asked(
                    "sensor-columns",
                    f"The columns {listed} all hold values. Whose are those of '{fact.name}'? (Or name the one to take: value=COLUMN.)",
                    (*names.choices(), "ignore"),
                    f"sensor.{fact.name}=NAME",
                )
            )
    return [ValueColumn(fact.index) for fact in chosen]


def _rises_by_one(fact: Facts) -> bool:
    """Whether each number is the one before and one more: rows that were counted, beside a column that is not so."""
    cells = list(islice(fact.counts, 300))
    if len(cells) < 9 or not all(cell.strip().isascii() and cell.strip().isdigit() for cell in cells):
        return False
    return all(int(after) - int(before) == 1 for before, after in pairwise(cells))


def _value_name(name: str) -> float:
    """How well a column's name says that it holds glucose values, of a sensor or in general."""
    return 1.0 if fold(name) in words.SENSOR_COLUMNS else role_of(name, Role.VALUE)


def _unit_in(section: Section, fact: Facts) -> float:
    under = section.units[fact.index] if fact.index < len(section.units) else ""
    return 0.7 if unit_in(fact.name) or unit_in(under) else 0.0


def unit_in(text: str) -> str | None:
    """The unit of glucose a name holds, as the folded word, None for none.

    >>> unit_in("Glucose (mmol/L)"), unit_in("Glucose")
    ('mmol l', None)
    """
    text = words.without_other_units(text)
    padded = f" {fold(text.replace('(', ' ').replace(')', ' ').replace('[', ' ').replace(']', ' ').replace(',', ' '))} "
    return next(
        (word for word in sorted(words.UNIT_WORDS, key=len, reverse=True) if f" {word} " in padded), None
    )


def _without_twins(section: Section, chosen: list[Facts]) -> list[Facts]:
    """One of two columns that hold the same values, each in its own unit."""
    kept: list[Facts] = []
    for fact in chosen:
        if not any(_twins(section.columns[fact.index], section.columns[other.index]) for other in kept):
            kept.append(fact)
    return kept


def _twins(one: Sequence[str], other: Sequence[str]) -> bool:
    from evenhand.intake.numerals import read

    pairs = [
        (read(a), read(b)) for a, b in list(zip(one, other, strict=True))[:2_000] if a.strip() and b.strip()
    ]
    numbers = [(a.value, b.value) for a, b in pairs if a and b and a.value and b.value]
    if len(numbers) < 3 or len(numbers) < 0.8 * len(pairs):
        return False
    return all(abs(max(a, b) / min(a, b) - 18.0156) < 0.08 * 18 for a, b in numbers)

"""Records as JSON text and back: strict, exact, from the types themselves; no SQL here and no numpy.

A codec of our own because this stands on the path of `stick`: building it takes 2 ms, where importing the
JSON library of the findings takes 25.
"""

from __future__ import annotations

import dataclasses
import json
import operator
import types
from collections.abc import Callable
from datetime import date
from enum import Enum
from functools import cache
from typing import Any, TypeAlias, TypeVar, cast, get_args, get_origin, get_type_hints

from evenhand.errors import EvenhandError
from evenhand.records.change import Record
from evenhand.records.diary import Event, Stick
from evenhand.records.files import FileKey, SourceFile
from evenhand.records.plan import Plan
from evenhand.records.question import Deviation, Opening, Question
from evenhand.records.sensors import Sensor, Wear

Plain: TypeAlias = Any
"""A value that is about to be checked: of a record, or as JSON gave it."""

Coder: TypeAlias = Callable[[Plain], Plain]
T = TypeVar("T")

KINDS: dict[str, type[Record]] = {
    "sensor": Sensor,
    "wear": Wear,
    "stick": Stick,
    "event": Event,
    "question": Question,
    "plan": Plan,
    "opening": Opening,
    "deviation": Deviation,
    "file": SourceFile,
    "key": FileKey,
}
_KIND_OF = {made: kind for kind, made in KINDS.items()}


class Undecodable(ValueError):
    """A stored record is not what its type says; the message names the field."""


def kind_of(record: Record) -> str:
    """The name a kind of record is stored under.

    >>> from evenhand.records.files import FileKey
    >>> kind_of(FileKey("k1", "csv", ()))
    'key'
    """
    return _KIND_OF[type(record)]


def type_of(kind: str) -> type[Record]:
    """The type a kind of record has; `Undecodable` for one this Evenhand does not know."""
    if kind not in KINDS:
        raise Undecodable("is of a kind this Evenhand does not know")
    return KINDS[kind]


def encode(value: object) -> str:
    """A dataclass as compact JSON, every field written, so that a changed default never changes a record.

    >>> from evenhand.records.files import FileKey
    >>> encode(FileKey("k1", "csv", (("unit", "mg/dL"),)))
    '{"id":"k1","kind":"csv","settings":[["unit","mg/dL"]]}'
    """
    made: Any = type(value)
    return json.dumps(_coders(made)[0](value), separators=(",", ":"), allow_nan=False)


def decode(made: type[T], text: str) -> T:
    """The dataclass from its JSON; `Undecodable` where it does not fit the type exactly."""
    try:
        plain = json.loads(text)
    except ValueError as error:
        raise Undecodable(f"is not JSON ({error})") from None
    return from_plain(made, plain)


def from_plain(made: type[T], plain: object) -> T:
    """The dataclass from parsed JSON; `Undecodable` where it does not fit the type exactly."""
    try:
        form: Any = made
        return cast(T, _coders(form)[1](plain))
    except EvenhandError as error:
        raise Undecodable(str(error)) from error


@cache
def _coders(hint: Plain) -> tuple[Coder, Coder]:
    """Encoder and decoder of one type."""
    if hint in _PLAIN:
        return _PLAIN[hint]
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        return _of_dataclass(hint)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _of_enum(hint)
    origin: Any = get_origin(hint)
    parts = get_args(hint)
    if origin is types.UnionType and types.NoneType in parts and len(parts) == 2:
        return _of_optional(next(part for part in parts if part is not types.NoneType))
    if origin is tuple and len(parts) == 2 and parts[1] is Ellipsis:
        return _of_many(parts[0])
    if origin is tuple and parts:
        return _of_few(parts)
    raise TypeError(f"the trial file has no form for {hint}")


def _text(value: Plain) -> str:
    if not isinstance(value, str):
        raise Undecodable(f"is {value!r}, not text")
    return str(value)


def _whole(value: Plain) -> int:
    if isinstance(value, bool | float | str):
        raise Undecodable(f"is {value!r}, not a whole number")
    try:
        return operator.index(value)
    except TypeError:
        raise Undecodable(f"is {value!r}, not a whole number") from None


def _number(value: Plain) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise Undecodable(f"is {value!r}, not a number")
    return float(value)


def _truth(value: Plain) -> bool:
    if not isinstance(value, bool):
        raise Undecodable(f"is {value!r}, not true or false")
    return value


def _date_to(value: Plain) -> str:
    if type(value) is not date:
        raise Undecodable(f"is {value!r}, not a date")
    return value.isoformat()


def _date_from(value: Plain) -> date:
    try:
        return date.fromisoformat(_text(value))
    except ValueError as error:
        raise Undecodable(f"is {value!r}, not a date") from error


_PLAIN: dict[Any, tuple[Coder, Coder]] = {
    str: (_text, _text),
    int: (_whole, _whole),
    float: (_number, _number),
    bool: (_truth, _truth),
    date: (_date_to, _date_from),
}


def _of_enum(made: type[Enum]) -> tuple[Coder, Coder]:
    members = {member.value: member for member in made}

    def to(value: Plain) -> Plain:
        if not isinstance(value, made):
            raise Undecodable(f"is {value!r}, not one of {made.__name__}")
        return value.value

    def back(value: Plain) -> Enum:
        found = members.get(value) if isinstance(value, str) else None
        if found is None:
            raise Undecodable(f"is {value!r}, not one of {', '.join(map(str, members))}")
        return found

    return to, back


def _of_optional(inner: Plain) -> tuple[Coder, Coder]:
    inner_to, inner_back = _coders(inner)
    return (
        lambda value: None if value is None else inner_to(value),
        lambda value: None if value is None else inner_back(value),
    )


def _of_many(inner: Plain) -> tuple[Coder, Coder]:
    inner_to, inner_back = _coders(inner)
    return (
        lambda value: [inner_to(part) for part in _sequence(value, tuple)],
        lambda value: tuple([inner_back(part) for part in _sequence(value, list)]),
    )


def _of_few(inner: tuple[Any, ...]) -> tuple[Coder, Coder]:
    to, back = zip(*(_coders(part) for part in inner), strict=True)

    def check(value: Plain, made: type) -> Plain:
        if len(_sequence(value, made)) != len(inner):
            raise Undecodable(f"has {len(value)} parts, not {len(inner)}")
        return value

    return (
        lambda value: [coder(part) for coder, part in zip(to, check(value, tuple), strict=True)],
        lambda value: tuple(coder(part) for coder, part in zip(back, check(value, list), strict=True)),
    )


def _sequence(value: Plain, made: type) -> Plain:
    if not isinstance(value, made):
        raise Undecodable(f"is {value!r}, not a list")
    return value


def _of_dataclass(made: type) -> tuple[Coder, Coder]:
    hints = get_type_hints(made)
    coders = [(field.name, *_coders(hints[field.name])) for field in dataclasses.fields(made)]
    decoders = [(name, back) for name, _, back in coders]

    def to(value: Plain) -> dict[str, Any]:
        if type(value) is not made:
            raise Undecodable(f"is {value!r}, not a {made.__name__}")
        return {name: _named(name, encoder, getattr(value, name)) for name, encoder, _ in coders}

    def back(value: Plain) -> Plain:
        if not isinstance(value, dict):
            raise Undecodable(f"is {value!r}, not a {made.__name__}")
        try:
            found = {name: decoder(value[name]) for name, decoder in decoders if name in value}
        except Undecodable:
            found = {name: _named(name, decoder, value[name]) for name, decoder in decoders if name in value}
        if len(found) != len(value):
            raise Undecodable(f"has an unknown field {', '.join(sorted(value.keys() - found.keys()))}")
        try:
            return made(**found)
        except TypeError:
            raise Undecodable(f"lacks a field of {made.__name__}") from None

    return to, back


def _named(name: str, coder: Coder, value: Plain) -> Plain:
    try:
        return coder(value)
    except Undecodable as error:
        raise Undecodable(f"{name} {error}") from None

"""What chance decides: which sensor goes in first, and on which side; and which box a wear is taken from."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import date

import numpy as np

from evenhand.records.plan import Held
from evenhand.records.sensors import Side

SIDES = (Side.LEFT, Side.RIGHT)


def stream(seed: int, *names: str | int) -> np.random.Generator:
    """The random stream for one thing that is drawn; the same seed and names give the same stream everywhere.

    >>> bool(stream(7, "order").random() == stream(7, "order").random())
    True
    """
    digest = hashlib.sha256("/".join(map(str, ("plan", seed, *names))).encode()).digest()
    return np.random.Generator(np.random.PCG64(int.from_bytes(digest[:16], "big")))


def order(seed: int, sensors: int) -> tuple[int, ...]:
    """In which order the sensors go in, by place."""
    return tuple(np.argsort(stream(seed, "order").random(sensors)).tolist())


def sides(seed: int, sensors: int) -> tuple[Side, ...]:
    """The side of each sensor's first wear: the first two on opposite sides, which is which drawn; a third drawn."""
    first, third = (SIDES[int(coin)] for coin in np.floor(2 * stream(seed, "sides").random(2)).tolist())
    return (first, other(first), third)[:sensors]


def other(side: Side) -> Side:
    """The other side."""
    return Side.RIGHT if side is Side.LEFT else Side.LEFT


def boxes(held: Sequence[Held], days: Sequence[date]) -> list[Held | None]:
    """The box each wear is taken from, by the day of its insertion in order: of those still in date the one that expires
    first; None where there is none left, or where nothing was said of what is held."""
    left = {place: box.count for place, box in enumerate(held)}
    taken: list[Held | None] = []
    for day in days:
        usable = [
            place for place, count in left.items() if count and (held[place].expires or date.max) >= day
        ]
        place = min(usable, key=lambda place: (held[place].expires or date.max, place), default=None)
        if place is not None:
            left[place] -= 1
        taken.append(None if place is None else held[place])
    return taken

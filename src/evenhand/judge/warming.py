"""Times at which nothing guarded the wearer."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from evenhand.compare.shapes import Worn


def unguarded(worn: Sequence[Worn]) -> int:
    """Seconds in which at least two sensors were in warm-up and none was past it.

    >>> one = Worn(0, 1, start=0, usable=3600, end=9000, ended=True, wear=None)
    >>> two = Worn(1, 1, start=1800, usable=5400, end=9000, ended=True, wear=None)
    >>> unguarded([one, two])
    1800
    """
    edges = sorted({edge for each in worn for edge in (each.start, min(each.usable, each.end), each.end)})
    total = 0
    for start, end in itertools.pairwise(edges):
        warming = {each.sensor for each in worn if each.start <= start < min(each.usable, each.end)}
        guarded = any(each.usable <= start < each.end for each in worn)
        if len(warming) > 1 and not guarded:
            total += end - start
    return total

"""What the cells of each column are, counted over all rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import islice

from evenhand.intake import moments, numerals, words
from evenhand.intake.layout import Section

_SAMPLE = 300
_MANY = 10_000
_BATCH = 5_000


@dataclass(frozen=True, slots=True)
class Facts:
    """Shares are of the filled cells, 0 to 1; `counts` maps each distinct filled cell to how often it occurs (in a long column
    of mostly different cells, of a sample spread over all of it)."""

    index: int
    name: str
    filled: int
    rows: int
    counts: Counter[str] = field(repr=False)
    numeric: float
    moment: float
    day: float
    clock: float
    epoch: float
    serial: float

    @property
    def distinct(self) -> int:
        """How many different cells (as many as the sample lets expect)."""
        counted = self.counts.total()
        return len(self.counts) if counted == self.filled else round(len(self.counts) * self.filled / counted)

    def share(self, test: Callable[[str], bool]) -> float:
        """The share of filled cells that pass a test (each distinct cell is tested once)."""
        return (
            sum(count for cell, count in self.counts.items() if test(cell)) / self.counts.total()
            if self.counts
            else 0.0
        )


def gather(section: Section, reader: numerals.Reader) -> tuple[Facts, ...]:
    """The facts of every column of a section."""
    return tuple(
        _facts(index, name, cells, section.serial_base, reader)
        for index, (name, cells) in enumerate(zip(section.names, section.columns, strict=True))
    )


def _facts(index: int, name: str, cells: Sequence[str], base: str | None, reader: numerals.Reader) -> Facts:
    counts, left = _counted(cells)
    for cell in [cell for cell in counts if words.missing(cell)] if len(counts) < 5_000 else [""]:
        counts.pop(cell, None)
    filled = counts.total() + left

    def share(test: Callable[[str], object], sample: bool = True) -> float:  # noqa: FBT001
        return _share(counts, counts.total(), test, sample)

    numeric = share(lambda cell: reader(cell) is not None)
    return Facts(
        index, name, filled, len(cells), counts, numeric,
        share(lambda cell: moments.split(cell) is not None),
        share(lambda cell: moments.read_day(cell) is not None and moments.split(cell) is None),
        share(lambda cell: _clock(cell, base)),
        share(lambda cell: moments.read_epoch(cell) is not None),
        share(lambda cell: moments.read_serial(cell, base) is not None),
    )  # fmt: skip


def _counted(cells: Sequence[str]) -> tuple[Counter[str], int]:
    """How often each cell occurs, and how many filled cells were not counted: where most of many cells differ, only a
    sample of the rest is, for each takes room."""
    counts: Counter[str] = Counter()
    walk = iter(cells)
    seen = 0
    while len(counts) < _MANY or len(counts) < 0.5 * seen:
        batch = list(islice(walk, _BATCH))
        if not batch:
            return counts, 0
        counts.update(batch)
        seen += len(batch)
    step = max(1, (len(cells) - seen) // _MANY)
    before, filled = counts.total() - counts[""], sum(map(bool, walk))
    counts.update(islice(cells, seen, None, step))
    return counts, filled - (counts.total() - counts[""] - before)


def _clock(cell: str, base: str | None) -> bool:
    bare = cell.strip()
    fraction = base is not None and bare[:2] == "0." and bare[2:].isascii() and bare[2:].isdigit()
    return fraction or (moments.read_clock(cell) is not None and not _number_like(bare))


def _number_like(bare: str) -> bool:
    """'6.10' can be ten past six or a value; only a colon, an 'h' or a half of the day makes it a time."""
    return not any(mark in bare.lower() for mark in ":hampk時点") or bare.replace(".", "").isdigit()


def _share(counts: Counter[str], filled: int, test: Callable[[str], object], sample: bool) -> float:  # noqa: FBT001
    """The share of cells that pass; from a spread of distinct cells first, from all where that is not plain."""
    if not filled:
        return 0.0
    if sample and len(counts) > 4 * _SAMPLE:
        cells = list(counts)
        spread = cells[:: max(1, len(cells) // _SAMPLE)]
        hits = sum(1 for cell in spread if test(cell)) / len(spread)
        if hits < 0.02 or hits > 0.98:
            return hits
    return sum(count for cell, count in counts.items() if test(cell)) / filled

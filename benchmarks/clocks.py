"""How often a clock is spoken of that is right, and found that is wrong: `python -m benchmarks.clocks [TRIALS]`.

Invented trials of ten days; the second sensor's clock is moved, the first (or the sticks alone) is held against it. A correction counts
as found where it is within five minutes (against sticks: fifteen) of the truth; anything else that is proposed counts as wrong.
"""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import DAY, MINUTE
from evenhand.intake import sensor_clocks
from evenhand.intake.ask import Suggested
from evenhand.intake.shifts import parse
from evenhand.records.readings import Batch
from evenhand.records.trial import Trial
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain
from evenhand.rehearse.world import World

Ahead = Callable[[NDArray[np.int64]], NDArray[np.int64]]


def worlds(seed: int) -> World:
    """Worlds in turn: sizes of trial, few and many sticks, seasons; kinds that differ."""
    days, sticks = ((10, 7.0), (14, 4.0), (7, 8.0), (20, 5.0))[seed % 4]
    start = ("2026-02-02T08:00", "2026-03-24T08:00", "2026-10-20T08:00", "2026-06-01T08:00")[seed // 4 % 4]
    return dataclasses.replace(plain(days, 1, sticks), start=start)


def proposed(trial: Trial, ahead: Ahead, *, alone: bool) -> list[Suggested]:
    """What is proposed for the second sensor with its clock moved."""
    first, second = trial.sensors
    held = trial.readings[second.id]
    instant = held.instant + ahead(held.instant)
    order = np.argsort(instant, kind="stable")
    moved = dataclasses.replace(
        held, **{name: getattr(held, name)[order] for name in ("offset", "value", "mmol", "flag", "line")},
        instant=instant[order], text=tuple(held.text[at] for at in order.tolist()),
    )  # fmt: skip
    beside = {} if alone else {first.id: trial.readings[first.id]}
    given = dataclasses.replace(trial, readings=beside)
    return list(sensor_clocks.suggest([Batch("b", "f", None, second.id, moved)], given))


def constant(minutes: float) -> Ahead:
    """The whole file ahead."""
    return lambda instant: np.full(instant.size, round(minutes * MINUTE))


def part(minutes: float, start: float, end: float) -> Ahead:
    """Ahead between two days of the file."""
    return lambda instant: np.where(
        (instant >= instant[0] + start * DAY) & (instant < instant[0] + end * DAY), round(minutes * MINUTE), 0
    )


def right(found: list[Suggested], minutes: float, *, near: float) -> bool:
    """Whether the one proposal undoes the shift."""
    if len(found) != 1 or not found[0].set.startswith("shift="):
        return False
    (piece,) = parse(found[0].set.removeprefix("shift="))
    return abs(piece.seconds / MINUTE + minutes) <= near


def count(trials: list[Trial], minutes: float, ahead: Ahead, *, alone: bool) -> str:
    """A row of the table: found, wrong, silent."""
    hits = wrong = 0
    for trial in trials:
        found = proposed(trial, ahead, alone=alone)
        good = bool(minutes) and right(found, minutes, near=15 if alone else 5)
        hits += good
        wrong += bool(found) and not good
    return f"{hits} | {wrong} | {len(trials) - hits - wrong}"


def page(many: int, fewer: int) -> str:
    """The page of measurements."""
    trials = [invent(worlds(seed), seed + 1).trial for seed in range(many)]
    some = trials[:fewer]
    lines = [
        "# Clocks: how often one is spoken of, measured",
        "",
        "<!-- written by python -m benchmarks.clocks; change that, not this page -->",
        "",
        f"Invented trials of 7 to 20 days in four seasons, two with a clock change inside; {many} for the clock that is right, {fewer} for each that is not.",
        "",
        "| the second sensor's clock | held against | trials | found | wrong | nothing said |",
        "|---|---|---|---|---|---|",
    ]
    for alone, beside in ((False, "the other sensor"), (True, "sticks alone")):
        lines.append(f"| right | {beside} | {many} | {count(trials, 0, constant(0), alone=alone)} |")
        for minutes in (5, 10, 30, -60, 720, 1440):
            told = f"{abs(minutes)} min {'ahead' if minutes > 0 else 'behind'}"
            lines.append(
                f"| {told} | {beside} | {fewer} | {count(some, minutes, constant(minutes), alone=alone)} |"
            )
    for minutes, start, end, told in (
        (-6 * 60, 2, 5, "6 h behind for three days"),
        (720, 3, 99, "12 h ahead from the third day on"),
        (-60, 3, 6, "1 h behind for three days"),
    ):
        lines.append(
            f"| {told} | the other sensor | {fewer} | {count(some, minutes, part(minutes, start, end), alone=False)} |"
        )
    return "\n".join([*lines, ""])


def main() -> None:
    """Measure and write docs/clocks.md."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    text = page(many, max(many // 4, 1))
    if many >= 200:
        (Path(__file__).parents[1] / "docs" / "clocks.md").write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()

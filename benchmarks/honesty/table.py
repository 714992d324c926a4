"""docs/honesty.md: what was counted, good and bad news alike."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from benchmarks.honesty.measure import Row
from benchmarks.honesty.run import rows
from benchmarks.honesty.worlds import cases

GOOD, WEAK = (0.93, 0.97), (0.91, 0.985)
COLUMNS = {
    "d": "MAD difference", "mad_all": "MAD", "mad_first_24h": "MAD, first 24 h", "mad_moving": "MAD, moving",
    "bias": "bias", "within": "within 20/20",
}  # fmt: skip
APART = ("shared errors", "lag 3 min", "lag 15 min", "meter SD 3 %", "meter SD 8 %", "driver")
"""Worlds beside the plain ones in which telling meter and sensors apart is strained."""
PEEK_NAME = "no difference"


def share(hits: Sequence[bool]) -> tuple[float, float]:
    """A share and its Monte Carlo standard error."""
    n = len(hits)
    p = sum(hits) / n
    return p, math.sqrt(max(p * (1 - p), 1 / n / 4) / n)


def covered(found: list[Row], name: str) -> list[bool]:
    """Whether the interval held the truth, for the trials that gave an interval."""
    hits = []
    for row in found:
        low, high, true = (row.get(f"{name}_{end}") for end in ("low", "high", "true"))
        if low is not None and high is not None and true is not None and not math.isnan(float(true)):
            hits.append(float(low) <= float(true) <= float(high))
    return hits


def trials(folder: Path) -> str:
    """How many trials a world has: '2,000', or '100 to 2,000' where not all have as many."""
    counts = [len(found) for name in cases() if (found := rows(name, folder))]
    if not counts:
        return "no"
    least, most = min(counts), max(counts)
    return f"{most:,}" if least == most else f"{least:,} to {most:,}"


def cell(hits: list[bool], of: int | None = None) -> str:
    """Coverage in percent, marked where it is weak (!) or a defect (!!); with the number of trials behind it where more than one
    in a hundred `of` all gave no interval. Fewer than 100: none is told, only how many."""
    if len(hits) < 100:
        return f"- ({len(hits)})" if hits else "-"
    p, error = share(hits)
    mark = "" if GOOD[0] <= p <= GOOD[1] else " !" if WEAK[0] <= p <= WEAK[1] else " !!"
    few = f" ({len(hits):,})" if of is not None and len(hits) < 0.99 * of else ""
    return f"{100 * p:.1f} ± {100 * error:.1f}{mark}{few}"


def percent(hits: list[bool]) -> str:
    p, error = share(hits)
    return f"{100 * p:.1f} % ± {100 * error:.1f}"


def coverage_table(parts: tuple[str, ...], folder: Path) -> list[str]:
    lines = [
        "| world | trials | pairs | " + " | ".join(COLUMNS.values()) + " | with prompted |",
        "|---|---|---|" + "---|" * (len(COLUMNS) + 1),
    ]
    for name, case in cases().items():
        found = rows(name, folder)
        if case.part not in parts or not found:
            continue
        pairs = sorted(float(row["pairs"] or 0) for row in found)[len(found) // 2]
        cells = " | ".join(cell(covered(found, column), len(found)) for column in (*COLUMNS, "prompted"))
        lines.append(f"| {name} | {len(found):,} | {pairs:.0f} | {cells} |")
    return lines


def error_table(folder: Path) -> list[str]:
    """Bias and spread of the difference itself, where the world strains it."""
    lines = ["| world | mean error of the difference | its SD | median half-width |", "|---|---|---|---|"]
    for name, case in cases().items():
        found = [row for row in rows(name, folder) if row["d"] is not None and row["d_low"] is not None]
        if case.part == "answer" or not found:
            continue
        off = [float(row["d"] or 0) - float(row["d_true"] or 0) for row in found]
        mean = sum(off) / len(off)
        sd = math.sqrt(sum((one - mean) ** 2 for one in off) / (len(off) - 1))
        halves = sorted((float(row["d_high"] or 0) - float(row["d_low"] or 0)) / 2 for row in found)
        lines.append(
            f"| {name} | {mean:+.2f} ± {sd / math.sqrt(len(off)):.2f} | {sd:.2f} | {halves[len(halves) // 2]:.2f} |"
        )
    return lines


def answer_table(folder: Path) -> list[str]:
    lines = [
        "| world | pairs | a winner named | by more than the margin | equal | not settled | wrong side named |",
        "|---|---|---|---|---|---|---|",
    ]
    for name, case in cases().items():
        found = rows(name, folder)
        if case.part != "answer" or not found:
            continue
        pairs = sorted(float(row["pairs"] or 0) for row in found)[len(found) // 2]
        named = [row["sign"] != 0 for row in found]
        beyond = [row["beyond"] == "yes" for row in found]
        equal = [row["state"] == "equal" for row in found]
        open_ = [row["state"] == "not settled" for row in found]
        wrong = [float(row["sign"] or 0) * float(row["d_true"] or 0) < -1e-9 for row in found]
        lines.append(
            f"| {name} | {pairs:.0f} | {percent(named)} | {percent(beyond)} | {percent(equal)} | {percent(open_)} | {percent(wrong)} |"
        )
    return lines


def next_table(folder: Path) -> list[str]:
    lines = [
        "| world | chance given in | mean chance told | came true | ratio interval held the next pair |",
        "|---|---|---|---|---|",
    ]
    for name, case in cases().items():
        found = [row for row in rows(name, folder) if row.get("ratio_low") is not None]
        forced = (
            case.world.true_difference is not None
        )  # the next pair would be forced to the same difference
        if case.world.wears < 3 or not found or forced or case.part == "strained":
            continue
        given = [row for row in found if row["chance"] is not None]
        right = [(float(row["next_true"] or 1) < 1) == (row["chance_sign"] == -1) for row in given]
        told = sum(float(row["chance"] or 0) for row in given) / max(len(given), 1)
        held = [
            float(row["ratio_low"] or 0) <= float(row["next_true"] or 0) <= float(row["ratio_high"] or 0)
            for row in found
        ]
        lines.append(
            f"| {name} | {percent([row['chance'] is not None for row in found])} | {100 * told:.0f} % | "
            f"{percent(right) if right else '-'} | {percent(held)} |"
        )
    return lines


def verdicts(folder: Path) -> list[str]:
    """The promises, and whether they were kept, in sentences."""
    bad, weak = [], []
    for name, case in cases().items():
        if case.part != "plain":
            continue
        found = rows(name, folder)
        for column, label in COLUMNS.items():
            hits = covered(found, column)
            if len(hits) < 100:
                continue
            p, error = share(hits)
            told = f"- {label}, {name}: {100 * p:.1f} % ± {100 * error:.1f}"
            if not WEAK[0] <= p <= WEAK[1]:
                bad.append(told)
            elif not GOOD[0] <= p <= GOOD[1]:
                weak.append(told)
    lines = ["**Beyond 91-98.5 % in a plain world (defects):**", *(bad or ["- none"]), ""]
    return [*lines, "**91-93 or 97-98.5 % in a plain world (weaknesses):**", *(weak or ["- none"])]


def apart_table(folder: Path) -> list[str]:
    """Meter and sensor told apart: what was told and what was true on average, and how often the interval held it."""
    lines = [
        "| world | meter, told | meter, true | held | first sensor, told | about blood, true | held |",
        "|---|---|---|---|---|---|---|",
    ]
    for name, case in cases().items():
        if name not in APART and case.part != "plain":
            continue
        found = [row for row in rows(name, folder) if row.get("var_meter_value") is not None]
        if len(found) < 100:
            continue
        cells = []
        for what in ("var_meter", "var_a"):
            told, true = (
                sum(float(row[f"{what}_{end}"] or 0) for row in found) / len(found)
                for end in ("value", "true")
            )
            cells.append(f"{told:.0f} | {true:.0f} | {cell(covered(found, what), len(found))}")
        lines.append(f"| {name} | {' | '.join(cells)} |")
    return lines


def peeking(folder: Path) -> str:
    found = [row for row in rows(PEEK_NAME, folder) if row.get("peeked") is not None]
    if not found:
        return "Not run."
    ever, once = [bool(row["peeked"]) for row in found], [row["sign"] != 0 for row in found]
    whole = [bool(row["peeked_whole"]) for row in found]
    return (
        f"Somebody who looks every evening from the seventh day on, and stops when a winner is named, names one by chance alone in "
        f"{percent(ever)} of trials (measured against the truth of the days so far); somebody who looks once, at the end, in "
        f"{percent(once)}. Held against the truth of the whole trial, to which the early looks do not yet belong, it is {percent(whole)}."
    )

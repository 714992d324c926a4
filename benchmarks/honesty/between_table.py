"""docs/honesty-between.md: what was counted of the reconstruction, good and bad news alike."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from benchmarks.honesty.between import Row
from benchmarks.honesty.between_worlds import BetweenCase, between_cases
from benchmarks.honesty.run import rows

GOOD, WEAK = (0.925, 0.975), (0.90, 0.985)
SENSORS = ("s0", "s1", "s2")
LEAST = 20


def errors(found: list[Row], name: str) -> tuple[list[float], list[bool]]:
    """Errors of a number over all sensors of all trials, and whether each interval held the truth."""
    off, hits = [], []
    for row in found:
        for sensor in SENSORS:
            value, low, high, true = (
                row.get(f"{sensor}_{name}_{end}") for end in ("value", "low", "high", "true")
            )
            if value is None or low is None or high is None or true is None:
                continue
            off.append(float(value) - float(true))
            hits.append(float(low) <= float(true) <= float(high))
    return off, hits


def told(off: list[float], hits: list[bool], trials: int) -> str:
    """Mean error / RMSE / coverage in percent with its Monte Carlo error, marked where weak (!) or a defect (!!). Sensors of
    one trial share much, so that error counts trials, not sensors."""
    if not off:
        return "-"
    mean, rmse = sum(off) / len(off), math.sqrt(sum(one * one for one in off) / len(off))
    if len(hits) < LEAST:
        return f"{mean:+.2f} / {rmse:.2f} / -"
    p = sum(hits) / len(hits)
    error = math.sqrt(max(p * (1 - p), 0.25 / trials) / trials)
    mark = "" if GOOD[0] <= p <= GOOD[1] else " !" if WEAK[0] <= p <= WEAK[1] else " !!"
    return f"{mean:+.2f} / {rmse:.2f} / {100 * p:.1f} ± {100 * error:.1f}{mark}"


def _cases(parts: tuple[str, ...], folder: Path) -> Iterator[tuple[str, BetweenCase, list[Row], list[Row]]]:
    """Every case of these parts with rows: its name, all its rows, and those that were fitted."""
    for name, case in between_cases().items():
        every = rows(name, folder)
        if case.part in parts and every:
            yield name, case, every, [row for row in every if "refused" not in row]


def _mean(found: list[Row], key: str) -> float | None:
    values = [float(row[key]) for row in found if row.get(key) is not None]  # type: ignore[arg-type]
    return sum(values) / len(values) if values else None


def _text(value: float | None, places: int = 2) -> str:
    return "-" if value is None else f"{value:.{places}f}"


def main_table(parts: tuple[str, ...], folder: Path) -> list[str]:
    """Distance to blood and the bound, the band, MAD with and by sticks, difference, share out, lag, seconds."""
    lines = [
        (
            "| world | trials | distance (bound), mg/dL | 90 % band holds | MAD: error / RMSE / coverage | MAD by sticks: error / RMSE | bias | "
            "out of tolerance, points | MAD at night | difference of MADs | lag error, min | CPU s |"
        ),
        "|---" * 12 + "|",
    ]
    for name, _, every, fitted in _cases(parts, folder):
        if not fitted:
            continue
        bounded = [row for row in fitted if row.get("bound") is not None]
        bound = (
            f" ({_text(_mean(bounded, 'distance'))} : {_text(_mean(bounded, 'bound'))})" if bounded else ""
        )
        sticks = [
            float(row[f"{sensor}_sticks_mad"]) - float(row[f"{sensor}_all_mad_true"])  # type: ignore[arg-type]
            for row in fitted
            for sensor in SENSORS
            if row.get(f"{sensor}_sticks_mad") is not None
        ]
        alone = (
            f"{sum(sticks) / len(sticks):+.2f} / {math.sqrt(sum(one * one for one in sticks) / len(sticks)):.2f}"
            if sticks
            else "-"
        )
        band = _mean(fitted, "band_90")
        lag = [float(row["lag_value"] or 0) - float(row["lag_true"] or 0) for row in fitted]
        cells = (
            f"{len(every)}", f"{_text(_mean(fitted, 'distance'))}{bound}", _text(None if band is None else 100 * band, 1),
            told(*errors(fitted, "all_mad"), len(fitted)), alone, told(*errors(fitted, "all_bias"), len(fitted)),
            told(*errors(fitted, "all_outside_percent"), len(fitted)), told(*errors(fitted, "night_mad"), len(fitted)), _difference(fitted),
            f"{sum(lag) / len(lag):+.1f}", _text(_mean(fitted, "seconds"), 1),
        )  # fmt: skip
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    return lines


def _difference(found: list[Row]) -> str:
    off, hits = [], []
    for row in found:
        value, low, high, true = (row.get(f"difference_{end}") for end in ("value", "low", "high", "true"))
        if value is None or low is None or high is None or true is None:
            continue
        off.append(float(value) - float(true))
        hits.append(float(low) <= float(true) <= float(high))
    return told(off, hits, len(hits) or 1)


def trust_table(parts: tuple[str, ...], folder: Path) -> list[str]:
    """How often it was trusted, and why not."""
    lines = ["| world | trials | trusted | why not | with a caution of its own |", "|---|---|---|---|---|"]
    for name, _, every, _ in _cases(parts, folder):
        trusted = sum(bool(row.get("trusted")) for row in every)
        why: Counter[str] = Counter()
        for row in every:
            why.update(str(row["refused"]).split() if "refused" in row else str(row.get("why") or "").split())
        cautioned = sum(bool(row.get("trusted")) and _cautioned(row) for row in every)
        reasons = ", ".join(f"{code} {count}" for code, count in why.most_common(3)) or "-"
        lines.append(
            f"| {name} | {len(every)} | {100 * trusted / len(every):.0f} % | {reasons} | {100 * cautioned / len(every):.0f} % |"
        )
    return lines


def _cautioned(row: Row) -> bool:
    """Whether a judgement would say that lag was hardly learnt or is unusual, that sticks were left out, or that a
    number does not agree with that made without the sensor."""
    lag = float(row.get("lag_value") or 9.0)
    apart = any(
        _beyond(row, f"{sensor}_without_mad_value", f"{sensor}_all_mad")
        and _beyond(row, f"{sensor}_all_mad_value", f"{sensor}_without_mad")
        for sensor in SENSORS
    )
    return bool(row.get("cautions")) or not 5.0 <= lag <= 12.0 or bool(row.get("dropped")) or apart


def _beyond(row: Row, value: str, interval: str) -> bool:
    given, low, high = row.get(value), row.get(f"{interval}_low"), row.get(f"{interval}_high")
    return (
        given is not None
        and low is not None
        and high is not None
        and not float(low) <= float(given) <= float(high)
    )


def without_table(parts: tuple[str, ...], folder: Path) -> list[str]:
    """The number from all sensors beside the one made without the sensor."""
    lines = [
        "| world | trials | MAD with it: error / RMSE / coverage | without it | share out with it | without it |",
        "|---" * 6 + "|",
    ]
    for name, _, _, fitted in _cases(parts, folder):
        both = [row for row in fitted if row.get("s0_without_mad_value") is not None]
        if both:
            names = ("all_mad", "without_mad", "all_outside_percent", "without_outside_percent")
            lines.append(
                f"| {name} | {len(both)} | "
                + " | ".join(told(*errors(both, one), len(both)) for one in names)
                + " |"
            )
    return lines


def _sum(found: list[Row], key: str) -> float:
    return sum(float(row.get(f"{sensor}_{key}") or 0) for row in found for sensor in SENSORS)


def _share(part: float, whole: float) -> str:
    return "-" if not whole else f"{100 * part / whole:.0f} %"


def stray_table(parts: tuple[str, ...], folder: Path) -> list[str]:
    """Strays told, how many were, how sure it was; true ones of an hour and how many were found; what held wrongly."""
    lines = [
        "| world | strays told a sensor | truly out for most of it | chance told | true ones of an hour or more found | out while told 'held' |",
        "|---" * 6 + "|",
    ]
    for name, _, _, fitted in _cases(parts, folder):
        if not fitted:
            continue
        sensors = sum(row.get(f"{sensor}_strays") is not None for row in fitted for sensor in SENSORS)
        strays = _sum(fitted, "strays")
        held = _sum(fitted, "held")
        lines.append(
            f"| {name} | {strays / max(sensors, 1):.1f} | {_share(_sum(fitted, 'strays_right'), strays)} | "
            f"{_share(_sum(fitted, 'strays_chance'), strays)} | {_share(_sum(fitted, 'strays_found'), _sum(fitted, 'strays_true'))} | "
            f"{100 * _sum(fitted, 'held_out') / max(held, 1):.1f} % |"
        )
    return lines


def alarm_table(parts: tuple[str, ...], folder: Path) -> list[str]:
    """Alarms: probability told against truth, and in the sure ones; partings; pressure lows."""
    lines = [
        "| world | alarms | told true | truly | of those told over 90 % | of those told under 10 % | partings named, right | chance told | pressure lows told, right | true ones found |",
        "|---" * 10 + "|",
    ]
    for name, _, _, fitted in _cases(parts, folder):
        if not fitted:
            continue
        alarms, named = _sum(fitted, "alarms"), sum(float(row.get("parted_named") or 0) for row in fitted)

        def total(key: str, found: list[Row] = fitted) -> float:
            return sum(float(row.get(key) or 0) for row in found)

        lines.append(
            f"| {name} | {alarms:.0f} | {_share(_sum(fitted, 'alarm_told'), alarms)} | {_share(_sum(fitted, 'alarm_true'), alarms)} | "
            f"{_share(_sum(fitted, 'alarm_sure_true'), _sum(fitted, 'alarm_sure'))} | "
            f"{_share(_sum(fitted, 'alarm_false_sure_true'), _sum(fitted, 'alarm_false_sure'))} | "
            f"{_share(total('parted_right'), named)} | {_share(total('parted_chance'), named)} | "
            f"{_share(total('pressure_right'), total('pressure_told'))} | {_share(total('pressure_found'), total('pressure_true'))} |"
        )
    return lines

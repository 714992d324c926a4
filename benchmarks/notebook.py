"""What a wearer would write in a notebook with general libraries: the same judgement from sticks, with a loop bootstrap.

Reads `readings.csv` and `sticks.csv` as `evenhand export` writes them. Pairs by nearest time, movement by a fitted
line, bias, MAD, MARD and agreement for every split, head to head with a day bootstrap. It stands here as the other
side of the speed benchmark and is written as such notebooks are: merges, groupbys and loops.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pandas as pd

FACTOR = 18.0156
REPEATS = 2000


def read(folder: Path) -> tuple[pd.DataFrame, pd.DataFrame]:
    readings = pd.read_csv(folder / "readings.csv")
    sticks = pd.read_csv(folder / "sticks.csv")
    for table in (readings, sticks):
        table["time"] = pd.to_datetime(table["time"], utc=True)
        table["mg"] = pd.to_numeric(table["value"], errors="coerce")
        table.loc[table["unit"] == "mmol/L", "mg"] *= FACTOR
    return readings.dropna(subset=["mg"]).sort_values("time"), sticks.dropna(subset=["mg"]).sort_values(
        "time"
    )


def slope(readings: pd.DataFrame, at: pd.Timestamp) -> float:
    window = readings[(readings["time"] > at - pd.Timedelta("15min")) & (readings["time"] <= at)]
    if len(window) < 3:
        return np.nan
    minutes = (window["time"] - at).dt.total_seconds() / 60
    return float(np.polyfit(minutes, window["mg"], 1)[0])


def pair(readings: pd.DataFrame, sticks: pd.DataFrame) -> pd.DataFrame:
    table = sticks[["time", "mg"]].rename(columns={"mg": "stick"})
    slopes = []
    for name, one in readings.groupby("sensor"):
        near = pd.merge_asof(
            table[["time"]],
            one[["time", "mg"]],
            on="time",
            direction="nearest",
            tolerance=pd.Timedelta("5min"),
        )
        table[name] = near["mg"].to_numpy()
        slopes.append([slope(one, at) for at in table["time"]])
    table["slope"] = pd.DataFrame(slopes).mean().to_numpy() if slopes else np.nan
    table["steady"] = table["slope"].abs() < 1
    local = table["time"].dt.tz_convert("Europe/Lisbon")
    table["day"], table["hour"] = local.dt.date, local.dt.hour
    return table


def boot(
    table: pd.DataFrame, statistic: str, names: list[str], rng: np.random.Generator
) -> tuple[float, float, float]:
    days = dict(iter(table.groupby("day")))
    keys = list(days)

    def value(chosen: pd.DataFrame) -> float:
        errors = [chosen[name] - chosen["stick"] for name in names]
        if statistic == "bias":
            return float(errors[0].mean())
        if statistic == "mad":
            return float(errors[0].abs().mean())
        if statistic == "mard":
            return float((errors[0].abs() / chosen["stick"]).mean() * 100)
        if statistic == "within":
            return float((errors[0].abs() <= np.maximum(20, 0.2 * chosen["stick"])).mean() * 100)
        return float(errors[0].abs().mean() - errors[1].abs().mean())

    if not keys:
        return np.nan, np.nan, np.nan
    draws = []
    for _ in range(REPEATS):
        picked = rng.integers(0, len(keys), len(keys))
        draws.append(value(pd.concat([days[keys[place]] for place in picked])))
    low, high = np.nanpercentile(draws, [2.5, 97.5])
    return value(table), float(low), float(high)


def judge(folder: Path) -> dict[str, tuple[float, float, float]]:
    readings, sticks = read(folder)
    table = pair(readings, sticks)
    names = sorted(readings["sensor"].unique())
    rng = np.random.default_rng(1)
    found = {}
    splits = {
        "all": table, "steady": table[table["steady"]], "moving": table[~table["steady"]],
        "night": table[(table["hour"] < 7) | (table["hour"] >= 23)],
    }  # fmt: skip
    for name in names:
        for split, part in splits.items():
            paired = part.dropna(subset=[name])
            for statistic in ("bias", "mad", "mard", "within"):
                found[f"{name} {split} {statistic}"] = boot(paired, statistic, [name], rng)
    both = table[table["steady"]].dropna(subset=names)
    found["difference"] = boot(both, "difference", names, rng)
    return found


if __name__ == "__main__":
    for what, (value, low, high) in judge(Path(sys.argv[1])).items():
        print(f"{what}: {value:.2f} ({low:.2f} to {high:.2f})")

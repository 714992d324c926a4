"""What a wearer who knows statsmodels would write to estimate blood glucose between sticks: the other side of the speed
benchmark, written as such notebooks are, with loops over days and a state space whose matrices vary in time.

Reads `readings.csv` and `sticks.csv` as `evenhand export` writes them. Blood as a random walk in its velocity, fluid
that trails it, one slow and one fast error a sensor; parameters by maximum likelihood from numerical gradients;
240 draws of the path with statsmodels' simulation smoother; five folds of days held out. It estimates fewer parameters than
Evenhand does (no delays, gains or wears' constants), and draws none of them.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import minimize
from statsmodels.tsa.statespace.mlemodel import MLEModel

FACTOR = 18.0156
STEP = 5.0


def even(mg: np.ndarray) -> np.ndarray:
    share = mg / 100.0
    return np.where(share < 1.0, share, 1.0 + np.log(np.maximum(share, 1.0)))


def read(folder: Path) -> tuple[pd.DataFrame, list[str]]:
    readings = pd.read_csv(folder / "readings.csv")
    sticks = pd.read_csv(folder / "sticks.csv")
    for table in (readings, sticks):
        table["time"] = pd.to_datetime(table["time"], utc=True)
        table["mg"] = pd.to_numeric(table["value"], errors="coerce")
        table.loc[table["unit"] == "mmol/L", "mg"] *= FACTOR
    start = readings["time"].min().floor("5min")
    names = sorted(readings["sensor"].unique())
    grid = pd.date_range(start, readings["time"].max(), freq="5min")
    table = pd.DataFrame(index=range(len(grid)))
    for name in names:
        own = readings[(readings["sensor"] == name)].dropna(subset=["mg"])
        column = np.full(len(grid), np.nan)
        for _, row in own.iterrows():
            place = round((row["time"] - start).total_seconds() / 300)
            if 0 <= place < len(grid):
                column[place] = even(np.array([row["mg"]]))[0] - 1.3
        table[name] = column
    column = np.full(len(grid), np.nan)
    for _, row in sticks.dropna(subset=["mg"]).iterrows():
        place = round((row["time"] - start).total_seconds() / 300)
        if 0 <= place < len(grid):
            column[place] = even(np.array([row["mg"]]))[0] - 1.3
    table["stick"] = column
    table["day"] = grid.tz_convert("Europe/Lisbon").date
    return table, names


class Between(MLEModel):
    """States: blood, its velocity, fluid, and a slow and a fast error for each sensor."""

    def __init__(self, data: pd.DataFrame, names: list[str]) -> None:
        self.sensors = len(names)
        size = 3 + 2 * self.sensors
        super().__init__(data[[*names, "stick"]].to_numpy(), k_states=size, k_posdef=1 + 2 * self.sensors)
        for sensor in range(self.sensors):
            self["design", sensor, 2] = 1.0
            self["design", sensor, 3 + 2 * sensor] = self["design", sensor, 4 + 2 * sensor] = 1.0
        self["design", self.sensors, 0] = 1.0
        self["selection", 1, 0] = 1.0
        for place in range(2 * self.sensors):
            self["selection", 3 + place, 1 + place] = 1.0
        self.initialize_known(np.zeros(size), np.diag([0.25, 1e-4, 0.25, *([0.01] * 2 * self.sensors)]))

    @property
    def start_params(self) -> np.ndarray:
        return np.log(np.array([8.0, 0.05, 0.004, *([0.05, 0.05, 25.0, 0.01] * self.sensors)]))

    def update(self, params: np.ndarray, **kwargs: object) -> None:
        params = super().update(params, **kwargs)
        tau, meter, speed, *own = np.exp(params)
        a = np.exp(-STEP / tau)
        self["transition", 0, 0], self["transition", 0, 1] = np.exp(-STEP / 720.0), STEP
        self["transition", 1, 1] = np.exp(-STEP / 20.0)
        self["transition", 2, 0], self["transition", 2, 2] = 1 - a, a
        self["state_cov", 0, 0] = speed**2
        self["obs_cov", self.sensors, self.sensors] = meter**2
        for sensor in range(self.sensors):
            slow, fast, memory, white = own[4 * sensor : 4 * sensor + 4]
            keeps = (np.exp(-STEP / 2160.0), np.exp(-STEP / memory))
            for which, (keep, sd) in enumerate(zip(keeps, (slow, fast), strict=True)):
                place = 3 + 2 * sensor + which
                self["transition", place, place] = keep
                self["state_cov", 1 + 2 * sensor + which, 1 + 2 * sensor + which] = sd**2 * (1 - keep**2)
            self["obs_cov", sensor, sensor] = white**2


def main(folder: Path) -> None:
    table, names = read(folder)
    model = Between(table, names)

    def cost(params: np.ndarray) -> float:
        prior = float((((params - model.start_params) / 0.5) ** 2).sum() / 2)
        return prior - float(model.loglike(params))

    found = minimize(cost, model.start_params, method="BFGS", options={"maxiter": 60, "gtol": 1.0})
    model.update(found.x)
    simulator = model.simulation_smoother()
    rng = np.random.default_rng(1)
    draws = []
    for _ in range(240):
        simulator.simulate(random_state=rng)
        draws.append(simulator.simulated_state[0].copy())
    blood = np.array(draws) + 1.3
    for name in names:
        reading = table[name].to_numpy() + 1.3
        there = np.isfinite(reading)
        mads = [float(np.abs(reading[there] - path[there]).mean()) for path in blood]
        print(name, "MAD on the even scale", np.mean(mads), np.percentile(mads, [2.5, 97.5]))
    inside, total = 0, 0
    days = list(pd.unique(table["day"]))
    for fold in range(5):
        held = table["day"].isin(days[fold::5]) & table["stick"].notna()
        part = table.copy()
        part.loc[held, "stick"] = np.nan
        other = Between(part, names)
        smoothed = other.smooth(found.x)
        for place in np.flatnonzero(held):
            mean = smoothed.smoothed_state[0, place]
            sd = np.sqrt(smoothed.smoothed_state_cov[0, 0, place] + np.exp(2 * found.x[1]))
            inside += abs(table["stick"][place] - mean) <= 1.645 * sd
            total += 1
    print("held out in their 90 % bands", inside, "of", total)


if __name__ == "__main__":
    main(Path(sys.argv[1]))

"""A twin of the model, written again from its derivation in plain loops and dense matrices.

Nothing of `evenhand.reconstruct` is used but the trial's data as given. Every unknown is built forward from
independent noises (so that no Jacobian is needed), every datum from the unknowns, and the answer comes from
conditioning one multivariate normal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

H = 5.0


@dataclass
class Parameters:
    """Natural values; tuples run over sensors, `gain` over wears."""

    tau: float
    meter: float
    sigma_v: float
    tau_v: float
    tau_a: float
    slow: tuple[float, ...]
    fast: tuple[float, ...]
    memory: tuple[float, ...]
    white: tuple[float, ...]
    delay: tuple[float, ...]
    gain: tuple[float, ...]


@dataclass
class Datum:
    """A reading (`sensor` from 0, `wear` of all wears, `age` minutes) or a stick (`sensor` None)."""

    at: float
    value: float
    sensor: int | None = None
    wear: int = 0
    age: float = 0.0
    many: float = 1.0


class Twin:
    """The joint normal of all unknowns and data. `starts` are (sensor, minute, is a calibration) of new wears and
    calibrations after the first wear."""

    def __init__(
        self, p: Parameters, size: int, data: list[Datum], starts: list[tuple[int, float, bool]]
    ) -> None:
        self.p, self.size, self.data = p, size, data
        self.noises: list[float] = []
        self.blood_and_fluid()
        self.errors(starts)
        self.rows()

    def fresh(self, sd: float) -> dict[int, float]:
        """A new independent noise, as a sparse row."""
        self.noises.append(sd)
        return {len(self.noises) - 1: 1.0}

    @staticmethod
    def add(*parts: tuple[float, dict[int, float]]) -> dict[int, float]:
        total: dict[int, float] = {}
        for by, row in parts:
            for place, value in row.items():
                total[place] = total.get(place, 0.0) + by * value
        return total

    def blood_and_fluid(self) -> None:
        """Blood from its start and innovations; fluid from blood."""
        p, add = self.p, self.add
        p1, p2, p3 = np.exp(-H / 720.0), np.exp(-H / p.tau_v), np.exp(-H / p.tau_a)
        sd = p.sigma_v * H * np.sqrt((1 - p2 * p3) * (1 - p2**2) * (1 - p3**2) / (1 + p2 * p3))
        first = self.fresh(0.5)
        step = self.fresh(0.1)
        bend = self.fresh(0.1)
        blood = [first, add((1, first), (1, step))]
        blood.append(add((2, blood[1]), (-1, blood[0]), (1, bend)))
        for k in range(3, self.size - 1):
            blood.append(
                add(
                    (p1 + p2 + p3, blood[k - 1]),
                    (-(p1 * p2 + p1 * p3 + p2 * p3), blood[k - 2]),
                    (p1 * p2 * p3, blood[k - 3]),
                    (1, self.fresh(sd)),
                )
            )
        a = np.exp(-H / p.tau)
        fluid = [add((1, first), (1, self.fresh(0.1)))]
        for k in range(self.size - 1):
            fluid.append(add((a, fluid[k]), (1 - a, blood[k])))
        self.blood, self.fluid = blood, fluid

    def errors(self, starts: list[tuple[int, float, bool]]) -> None:
        """Slow offsets every 20 min, fast errors every 10, constants of the wears."""
        p, add = self.p, self.add
        self.slow, self.fast = [], []
        for s in range(len(p.slow)):
            anew = {int(at // 20): calibrated for who, at, calibrated in starts if who == s}
            keep = np.exp(-20.0 / 2160.0)
            slow = [self.fresh(p.slow[s])]
            for c in range(1, self.size // 4):
                if c in anew:
                    slow.append(self.fresh(np.hypot(p.slow[s], 0.05 * anew[c])))
                else:
                    slow.append(add((keep, slow[-1]), (1, self.fresh(p.slow[s] * np.sqrt(1 - keep**2)))))
            self.slow.append(slow)
            again = {int(at // 10) for who, at, calibrated in starts if who == s and not calibrated} | {0}
            q = np.exp(-10.0 / p.memory[s])
            r = 2 * q / (1 + q * q)
            fast: list[dict[int, float]] = []
            for k in range(self.size // 2):
                if k in again:
                    fast.append(self.fresh(p.fast[s]))
                elif k - 1 in again:
                    fast.append(add((r, fast[-1]), (1, self.fresh(p.fast[s] * np.sqrt(1 - r * r)))))
                else:
                    sd = p.fast[s] * np.sqrt((1 - q * q) ** 3 / (1 + q * q))
                    fast.append(add((2 * q, fast[-1]), (-q * q, fast[-2]), (1, self.fresh(sd))))
            self.fast.append(fast)
        wears = 1 + max(d.wear for d in self.data if d.sensor is not None)
        self.constant = [(self.fresh(0.10), self.fresh(0.08)) for _ in range(wears)]

    def blood_at(self, at: float) -> dict[int, float]:
        """Blood at a minute, as a row of noises."""
        a = np.exp(-H / self.p.tau)
        c = self.p.tau - H * a / (1 - a)
        k = int(np.floor((at + c) / H)) - 1
        f = (at + c) / H - 1 - k
        return self.add((1 - f, self.blood[k]), (f, self.blood[k + 1]))

    def fluid_at(self, at: float) -> dict[int, float]:
        """Fluid at a minute: quadratic B-spline through the grid points."""
        k = int(np.floor(at / H + 0.5))
        w = at / H - k
        return self.add(
            ((0.5 - w) ** 2 / 2, self.fluid[k - 1]),
            (0.75 - w * w, self.fluid[k]),
            ((0.5 + w) ** 2 / 2, self.fluid[k + 1]),
        )

    def rows(self) -> None:
        """Every datum as a row of noises, its own among them."""
        rows = []
        middle = np.mean(self.p.delay)
        for d in self.data:
            if d.sensor is None:
                rows.append(
                    self.add((1, self.blood_at(d.at)), (1, self.fresh(self.p.meter / np.sqrt(d.many))))
                )
                continue
            s, knot = d.sensor, int(d.at // 10)
            way = d.at / 10 - knot
            constant, fading = self.constant[d.wear]
            rows.append(
                self.add(
                    (1 + self.p.gain[d.wear], self.fluid_at(d.at - self.p.delay[s] + middle)),
                    (1, self.slow[s][int(d.at // 20)]),
                    (1 - way, self.fast[s][knot]),
                    (way, self.fast[s][knot + 1]),
                    (1, constant),
                    (np.exp(-d.age / 600), fading),
                    (1, self.fresh(self.p.white[s])),
                )
            )
        variance = np.array(self.noises) ** 2
        self.by = self.matrix(rows)
        self.root = variance
        self.covariance = self.by @ (variance[:, None] * self.by.T)
        self.value = np.array([d.value for d in self.data])

    def matrix(self, rows: list[dict[int, float]]) -> np.ndarray:
        found = np.zeros((len(rows), len(self.noises)))
        for number, row in enumerate(rows):
            found[number, list(row)] = list(row.values())
        return found

    def log_likelihood(self) -> float:
        """The log density of the data."""
        _, log = np.linalg.slogdet(self.covariance)
        square = self.value @ np.linalg.solve(self.covariance, self.value)
        return float(-0.5 * (log + square + self.value.size * np.log(2 * np.pi)))

    def blood_given_data(self, at: list[float]) -> tuple[np.ndarray, np.ndarray]:
        """Mean and covariance of blood at these minutes given the data."""
        wanted = self.matrix([self.blood_at(one) for one in at])
        cross = wanted @ (self.root[:, None] * self.by.T)
        own = wanted @ (self.root[:, None] * wanted.T)
        gained = np.linalg.solve(self.covariance, cross.T)
        return gained.T @ self.value, own - cross @ gained

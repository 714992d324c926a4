"""Published data sets and numbers that the checks in this folder hold the code against.

Standing, said beside each: READ = read in the source itself or in a general package that reprints it; COMPUTED =
recomputed from data that was read, by R or by hand, not printed in the source; MEMORY = remembered, not looked up.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import numpy as np
import pytest

HERE = Path(__file__).parent

# Bland and Altman, Lancet 1986;1:307-310: peak expiratory flow (l/min), 17 subjects, two readings by each of two meters. READ.
PEFR_WRIGHT_1 = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
PEFR_WRIGHT_2 = [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421]
PEFR_MINI_1 = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
PEFR_MINI_2 = [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443]

# Bland and Altman, Stat Methods Med Res 1999;8:135-160, Table 4: cardiac output by two methods (RV/IC), 12 subjects. READ.
CARDIAC = {
    1: "7.83/6.57 7.42/5.62 7.89/6.90 7.12/6.57 7.88/6.35",
    2: "6.16/4.06 7.26/4.29 6.71/4.26 6.54/4.09",
    3: "4.75/4.71 5.24/5.50 4.86/5.08 4.78/5.02 6.05/6.01 5.42/5.67",
    4: "4.21/4.14 3.61/4.20 3.72/4.61 3.87/4.68 3.92/5.04",
    5: "3.13/3.03 2.98/2.86 2.85/2.77 3.17/2.46 3.09/2.32 3.12/2.43",
    6: "5.92/5.90 6.42/5.81 5.92/5.70 6.27/5.76",
    7: "7.13/5.09 6.62/4.63 6.58/4.61 6.93/5.09",
    8: "4.54/4.72 4.81/4.61 5.11/4.36 5.29/4.20 5.39/4.36 5.57/4.20",
    9: "4.48/3.17 4.92/3.12 3.97/2.96",
    10: "4.22/4.35 4.65/4.62 4.74/3.16 4.44/3.53 4.50/3.53",
    11: "6.78/7.20 6.07/6.09 6.52/7.00 6.42/7.10 6.41/7.40 5.76/6.80",
    12: "5.06/4.50 4.72/4.20 4.90/3.80 4.80/3.80 4.90/4.20 5.10/4.50",
}

# Giavarina, Biochem Med 2015;25:141-151 (open access). READ.
GIAVARINA_A = [
    1, 5, 10, 20, 50, 40, 50, 60, 70, 80, 90, 100, 150, 200, 250, 300, 350, 400, 450, 500, 550, 600, 650, 700, 750,
    800, 850, 900, 950, 1000,
]  # fmt: skip
GIAVARINA_B = [
    8, 16, 30, 24, 39, 54, 40, 68, 72, 62, 122, 80, 181, 259, 275, 380, 320, 434, 479, 587, 626, 648, 738, 766, 793,
    851, 871, 957, 1001, 960,
]  # fmt: skip

# Freireich et al., Blood 1963;21:699-716: weeks in remission; a minus sign marks a censored time. READ (R, MASS::gehan).
SIX_MP = [6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]


def cardiac() -> tuple[list[float], list[float], list[int]]:
    """The cardiac output pairs: RV, IC, subject."""
    pairs = [
        (float(rv), float(ic), subject)
        for subject, text in CARDIAC.items()
        for rv, ic in (pair.split("/") for pair in text.split())
    ]
    rv, ic, subject = (list(column) for column in zip(*pairs, strict=True))
    return rv, ic, subject


def systolic() -> dict[str, np.ndarray]:
    """Bland and Altman 1999, Table 1: systolic pressure, 85 subjects, three readings by J, R, S. READ (R, MethComp::sbp)."""
    with (HERE / "systolic.csv").open() as lines:
        rows = list(csv.DictReader(lines))
    return {who: np.array([[float(row[f"{who}{k}"]) for k in (1, 2, 3)] for row in rows]) for who in "jrs"}


def nist_file(kind: str, name: str) -> list[str]:
    """The lines of a NIST StRD file that comes inside scipy's wheel. READ (certified by NIST)."""
    import scipy

    path = Path(scipy.__file__).parent / "stats" / "tests" / "data" / kind / f"{name}.dat"
    if not path.exists():
        pytest.skip(f"this scipy was installed without its test data: no {kind}/{name}.dat")
    return path.read_text().splitlines()


def nist_anova(name: str) -> tuple[np.ndarray, np.ndarray, float, float, float]:
    """Group, response, and the certified mean squares between and within and residual SD of an ANOVA set."""
    lines = nist_file("nist_anova", name)
    between, within = (
        float(next(line for line in lines if re.match(rf"{kind} \w+ +\d", line)).split()[4])
        for kind in ("Between", "Within")
    )
    sd = float(next(line for line in lines if "Standard Deviation" in line).split()[-1])
    body = np.array([[float(word) for word in line.split()] for line in lines[60:] if line.strip()])
    return body[:, 0], body[:, 1], between, within, sd

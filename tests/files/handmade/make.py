"""Made the three files beside it, without a line of Evenhand: a sine for a body, two sensors and a meter with plain errors.

Afterwards the files were edited by hand (preambles, words, broken rows, a doubled block); run this only to see where the
numbers came from, not to make them anew.
"""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta

START = datetime(2026, 5, 4, 8, 0)
rng = random.Random(20260504)


def body(minutes: float) -> float:
    day = 2 * math.pi * minutes / 1440
    return 140 + 35 * math.sin(day) + 25 * math.sin(3.1 * day + 1) + 12 * math.sin(11.7 * day)


def main() -> None:
    fern, slate, meter = [], [], []
    for minute in range(0, 9 * 1440, 5):
        at = START + timedelta(minutes=minute)
        wave = 6 * math.sin(minute / 700)
        fern.append(
            f"{at:%d.%m.%Y};{at:%H:%M};{str(round((body(minute - 8) + wave + rng.gauss(0, 4)) / 18.0156, 1)).replace('.', ',')};"
        )
        off = 14 if minute < 1440 else -9
        at2 = at + timedelta(minutes=2)
        slate.append(f"{at2:%Y-%m-%dT%H:%M:%S}+02:00,{round(body(minute - 6) + off + rng.gauss(0, 9))},ok")
    for day in range(9):
        for slot in range(7):
            minute = day * 1440 + slot * 130 + rng.randrange(120)
            at = START + timedelta(minutes=minute)
            meter.append(f"{at:%m/%d/%Y %I:%M %p}\t{round(body(minute) * (1 + rng.gauss(0, 0.04)))}\tmg/dL")
    for name, lines in (("fern.txt", fern), ("slate.csv", slate), ("meter.tsv", meter)):
        with open(name, "w", encoding="utf-8", newline="") as out:  # noqa: PTH123
            out.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()

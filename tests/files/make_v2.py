"""Makes v2.trial, the small trial file of version 2: what version 1 held, and a plan. It stays readable for ever.

Run from the checkout: `PYTHONPATH=src:. python tests/files/make_v2.py`. All of it is invented.
"""

from __future__ import annotations

import shutil
import tempfile
from datetime import date
from pathlib import Path

from tests.files.make_v1 import CHANGES, DAY, HEADER, HOUR, QUESTION, T0, at

from evenhand.records.change import Change
from evenhand.records.plan import Chances, Drawn, Held, Plan, PlannedWear, SensorPlan, Tells, Wanted
from evenhand.records.sensors import Side

PLAN = Plan(
    wanted=Wanted(at(8 * HOUR), 20, 6, 2, (SensorPlan("s-1", 2, 12 * HOUR, 1, (Held(3, "L1", date(2027, 2, 28)),)),), overlap=True),
    drawn=Drawn(
        at(60), 2**63 + 7,
        (PlannedWear("s-1", 1, at(8 * HOUR), at(20 * HOUR), at(21 * HOUR), at(10 * DAY), Side.RIGHT, "L1", date(2027, 2, 28), happened=True),
         PlannedWear("s-2", 1, at(9 * HOUR), at(9 * HOUR), at(9 * HOUR), at(9 * DAY), Side.LEFT)),
        (T0 + DAY, T0 + DAY + 9000, T0 + 2 * DAY), (T0 + DAY,), 2, 4, 3,
    ),
    tells=Tells(3.0, 500, 98.5, (Chances(5.0, 0.7, 0.1, 0.0, 0.001, 0.02), Chances(None, 0.4, 0.1, 0.1, 0.0, 0.02))),
)  # fmt: skip
PLANNED = Change("drew a plan", T0 + DAY, (PLAN, QUESTION))


def make(path: Path) -> None:
    """Writes the file."""
    from evenhand.store import file

    file.create(path, HEADER, CHANGES[0])
    for change in (*CHANGES[1:], PLANNED):
        file.write(path, change)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        make(Path(folder) / "v2.trial")
        shutil.copy(Path(folder) / "v2.trial", Path(__file__).with_name("v2.trial"))

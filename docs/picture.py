"""Draws the README's picture from a real run: the demo's trial, judged as any trial is."""

from __future__ import annotations

import sys
from pathlib import Path

from evenhand.charts.balance import balance
from evenhand.judge.judge import judge
from evenhand.rehearse.demo import DEMO_SEED, demo_world
from evenhand.rehearse.invent import invent


def main(path: Path) -> None:
    """Write the balance picture as PNG."""
    trial = invent(demo_world(), DEMO_SEED).trial
    places = {sensor.name: sensor.place for sensor in trial.sensors}
    path.write_bytes(balance(judge(trial), places, trial.header.unit).png())


if __name__ == "__main__":
    main(Path(sys.argv[1]))

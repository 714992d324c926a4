"""Writes docs/honesty-between.md around the tables."""

from __future__ import annotations

from pathlib import Path

from benchmarks.honesty import between_table as table
from evenhand.findings import METHOD

ROOT = Path(__file__).parents[2]

HEAD = """# Between the sticks, measured

<!-- written by `python -m benchmarks.honesty.between_run --page`; change benchmarks/honesty, not this page -->

Is blood glucose between the sticks where Evenhand says it is? Invented trials (`evenhand.rehearse`, which shares no model with the
reconstruction) are reconstructed as any trial is, and held against true blood. Made under METHOD {method}, code {stamp}. Anyone can run it again, stop
it and go on: `python -m benchmarks.honesty.between_run --workers 2` (about three seconds of one core a trial, five and a half with the fits
without each sensor). Rows say how many trials they rest on; where that is fewer than 500 (plain) or 100 (others) the run was not finished.

Truth here is blood as this meter would show it without its random error: a meter that is off passes through unseen. How to read: mean error / root mean square
error / observed coverage in percent of the 95 % interval ± Monte Carlo standard error. `!` marks 90-92.5 and 97.5-98.5, `!!` what lies
beyond. All fitted trials are counted, trusted or not. In brackets after the distance: the same trials with the fit's parameters and with the truth's best ones (the bound).
"""

EVERY = ("plain", "other", "faulty")


def write(folder: Path) -> None:
    """The whole page, from the results in `folder`."""
    parts = [
        HEAD.format(method=METHOD, stamp=folder.name),
        "## Plain worlds: here the promises must hold\n", *table.main_table(("plain",), folder), "",
        "'MAD by sticks' is what sticks alone show, held against blood: it carries the meter's scatter, which they cannot take out.", "",
        "## Other worlds\n", *table.main_table(("other",), folder), "",
        "## Faulty worlds: how far each promise falls\n", *table.main_table(("faulty",), folder), "",
        "## Trusted or not\n",
        ("'With a caution of its own': trusted, and the judgement says that the lag is unusual or hardly learnt, that sticks were left out of the fit, or that the "
        "number made without a sensor disagrees. That an offset shared by all sensors, and a wrong meter, cannot be seen is said in every trusted judgement."), "",
        *table.trust_table(EVERY, folder), "",
        "## With it and without it\n",
        "Each sensor's number from all sensors and the sticks, and from the reconstruction made without that sensor: the check against circularity.\n",
        *table.without_table(EVERY, folder), "",
        "## Strays\n", *table.stray_table(EVERY, folder), "",
        "## Alarms, partings, pressure lows\n",
        "Rehearsed low alarms at 70 mg/dL. 'Right' for a parting: the sensor named was the nearer one to true blood over the stretch.\n",
        *table.alarm_table(EVERY, folder), "",
    ]  # fmt: skip
    (ROOT / "docs" / "honesty-between.md").write_text("\n".join(parts), encoding="utf-8")

"""The demo's scenario: three weeks with two sensors, something happens, and there is an answer worth reading."""

from __future__ import annotations

from evenhand.records.sensors import Ending
from evenhand.rehearse.world import Kind, Meter, Model, Planned, Script, Trouble, World
from evenhand.units import Unit

DEMO_SEED = 1
"""The seed the demo is told with."""


def demo_world() -> World:
    """Fern and Slate, three weeks in spring with the clock change among them.

    Fern: two wears to their end, one night slept on. Slate: a bad first night, a phone left at home, and a
    second wear that fails after four days and is replaced. Slate's export is in mmol/L, the rest in mg/dL.
    """
    fern = Kind().times(0.75)
    slate = Kind(
        gain=(0.05, 0.05),
        offset=(4.0, 5.0),
        slow=9.5,
        fast=6.5,
        first_day=20.0,
        last_day=9.0,
        pressure=0.08,
        delay=2.0,
    )
    return World(
        name="Fern and Slate in spring",
        days=21,
        sensors=(
            Model("Fern", fern, price=58.0, life=10.5),
            Model("Slate", slate, warm_up=30, unit=Unit.MMOL_L, price=46.0, life=10.0),
        ),
        meter=Meter("bathroom meter", sd=0.04),
        plan=(
            (Planned(0.0, 10.5), Planned(10.5, 10.5)),
            (Planned(0.0, 10.0), Planned(10.0, 4.2, Ending.FAILED), Planned(14.25, 6.75, replaces=True)),
        ),
        script=(
            Script(1, Trouble.STRAY, 0, 1330, 480, 48.0),
            Script(0, Trouble.PRESSURE, 7, 135, 80, -56.0),
            Script(1, Trouble.PHONE_AWAY, 12, 560, 250),
            Script(0, Trouble.SILENT, 17, 900, 70),
        ),
        sticks=6.0,
        habit=1.2,
        repeats=10,
        prompted=0.11,
        declared=False,
        start="2026-03-14T08:00",
    )

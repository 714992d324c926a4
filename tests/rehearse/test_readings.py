"""What a sensor keeps: rounding, limit words, gaps, strays."""

import numpy as np
import pytest

from evenhand.records.readings import BEYOND_HIGH, BEYOND_LOW, IN_RANGE
from evenhand.rehearse.grid import Grid, instant_of
from evenhand.rehearse.readings import (
    Cause,
    Gap,
    Slots,
    gaps,
    limits,
    recorded,
    scripted_gaps,
    sensed,
    slots,
    spread,
    strays,
    without,
)
from evenhand.rehearse.streams import Streams
from evenhand.rehearse.wears import faults
from evenhand.rehearse.world import GapStyle, Kind, Model, Planned, Script, Trouble
from evenhand.units import FACTOR, Unit

GRID = Grid.over(instant_of("2026-02-02T08:00", "Europe/Lisbon"), 10 * 1440, "Europe/Lisbon")
PLAN = (Planned(0, 5), Planned(5, 5))


FERN = Model("Fern")


def found(model=FERN, seed=1):
    return faults(model, PLAN, GRID, Streams(seed).of("faults"))


def at_once(values):
    size = len(values)
    return Slots(np.arange(size), np.arange(size), np.zeros(size))


def test_errors_grow_with_glucose():
    """One at 120, rising, half at nothing, nearly proportional far up."""
    sizes = spread(np.array([0.0, 60.0, 120.0, 300.0, 390.0]))
    assert (np.diff(sizes) > 0).all()
    assert sizes[2] == pytest.approx(1.0)
    assert sizes[4] / sizes[3] == pytest.approx(390 / 300, rel=0.02)


def test_a_faultless_sensor_reads_the_fluid():
    """With every error at nought what is sensed is the fluid, and nothing outside a wear."""
    still = Kind(gain=(0, 0), offset=(0, 0), slow=0, fast=0, first_day=0, last_day=0, pressure=0)
    none = faults(Model("Fern", still), (Planned(0, 5),), GRID, Streams(1).of("x"))
    fluid = np.linspace(80, 200, len(GRID))
    series = sensed(fluid, none, np.zeros(len(GRID)), 0.0)
    assert np.allclose(series[: 5 * 1440], fluid[: 5 * 1440])
    assert np.isnan(series[5 * 1440 :]).all()


def test_gain_offset_and_delay_do_what_they_say():
    """Gain and offset are linear in the fluid; the sensor's own delay comes on top."""
    kind = Kind(gain=(0.1, 0), offset=(7.0, 0), slow=0, fast=0, first_day=0, last_day=0, pressure=0)
    some = faults(Model("Fern", kind), (Planned(0, 10),), GRID, Streams(1).of("x"))
    ramp = 60 + 0.02 * np.arange(len(GRID))
    assert np.allclose(sensed(ramp, some, np.zeros(len(GRID)), 0.0), 1.1 * ramp + 7.0)
    late = sensed(ramp, some, np.zeros(len(GRID)), 5.0)
    assert np.allclose(late[200:], 1.1 * (ramp[200:] - 0.1) + 7.0, atol=0.01)


@pytest.mark.parametrize("interval", [1, 5, 15])
def test_readings_come_every_interval_after_warm_up(interval):
    """Within a wear the steps are the interval, none falls in warm-up or after the end, seconds are kept."""
    model = Model("Fern", interval=interval, warm_up=60)
    one = found(model)
    when = slots(one, model, GRID, Streams(1).of("slots"))
    for wear in one.wears:
        inside = when.instant[(when.minute >= wear.start) & (when.minute < wear.end)]
        assert set(np.diff(inside).tolist()) == {interval * 60}
        assert GRID.start + 60 * wear.usable <= inside[0]
        assert inside[0] < GRID.start + 60 * (wear.usable + interval + 1)
        assert inside.size == pytest.approx((wear.end - wear.usable) / interval, abs=1)


def test_limit_words_and_rounding_in_mg():
    """Whole numbers; beyond a limit the limit itself with its flag, at the limit a plain reading."""
    value, flag = recorded(np.array([39.4, 39.6, 100.5, 400.4, 400.6]), at_once(range(5)), Model("Fern"))
    assert value.tolist() == [40.0, 40.0, 101.0, 400.0, 400.0]
    assert flag.tolist() == [BEYOND_LOW, IN_RANGE, IN_RANGE, IN_RANGE, BEYOND_HIGH]


def test_limit_words_and_rounding_in_mmol():
    """One decimal; limits are the sensor's own in mmol/L."""
    model = Model("Slate", unit=Unit.MMOL_L)
    assert limits(model) == (2.2, 22.2)
    value, flag = recorded(np.array([2.1, 2.24, 6.149, 22.4]) * FACTOR, at_once(range(4)), model)
    assert value.tolist() == [2.2, 2.2, 6.1, 22.2]
    assert flag.tolist() == [BEYOND_LOW, IN_RANGE, IN_RANGE, BEYOND_HIGH]


def test_plain_gaps_come_at_their_rates():
    """About half a gap a day by the sensor, lasting 15 to 100 min; phones are away 30 to 240 min."""
    off = np.zeros(len(GRID))
    drawn = [gap for seed in range(150) for gap in gaps(GapStyle.PLAIN, off, found(), Streams(seed).of("g"))]
    sensor = [gap for gap in drawn if gap.cause is Cause.SENSOR]
    phone = [gap for gap in drawn if gap.cause is Cause.PHONE]
    assert 0.4 * 1500 < len(sensor) < 0.55 * 1500
    assert 0.08 * 1500 < len(phone) < 0.14 * 1500
    assert all(15 <= gap.end - gap.start < 100 for gap in sensor)
    assert all(30 <= gap.end - gap.start < 240 for gap in phone)


def test_gaps_where_wrong_hide_the_worst():
    """The mean error inside the gaps is more than a third larger than outside."""
    off = 32 * np.sin(np.arange(len(GRID)) / 500.0)
    inside, outside = [], []
    for seed in range(30):
        present = without(gaps(GapStyle.WHERE_WRONG, off, found(), Streams(seed).of("g")), len(GRID))
        inside.append(np.abs(off[~present]).mean())
        outside.append(np.abs(off[present]).mean())
    assert np.mean(inside) > 1.33 * np.mean(outside)


def test_no_gaps_where_none_are_wanted():
    """The style 'none' has none."""
    assert gaps(GapStyle.NONE, np.zeros(len(GRID)), found(), Streams(1).of("g")) == ()


def test_scripted_gaps_are_where_told():
    """Silence and a lost phone, of the sensor they are told of."""
    script = (
        Script(0, Trouble.SILENT, 2, 600, 45),
        Script(0, Trouble.PHONE_AWAY, 3, 700, 90),
        Script(1, Trouble.SILENT, 2, 600, 45),
        Script(0, Trouble.PRESSURE, 2, 100, 45, -30),
    )
    told = scripted_gaps(0, script, GRID)
    assert [gap.cause for gap in told] == [Cause.SENSOR, Cause.PHONE]
    assert GRID.of_day[told[0].start] == 600
    assert told[1].end - told[1].start == 90
    assert without((Gap(2, 4, Cause.SENSOR),), 6).tolist() == [True, True, False, False, True, True]


def test_strays_are_long_stretches_out_of_tolerance():
    """Twenty minutes out make a stray, a return of under 15 min does not end it, limits switch at 100."""
    blood = np.full(200, 150.0)
    series = blood.copy()
    series[10:25] += 40.0
    series[50:80] -= 31.0
    series[90:110] -= 31.0
    series[150:180] += 29.0
    assert strays(series, blood) == ((50, 110),)
    low = np.full(100, 90.0)
    assert strays(low + np.where(np.arange(100) < 30, 20.5, 19.5), low) == ((0, 30),)


def test_nothing_worn_is_no_stray():
    """NaN is not out of tolerance."""
    assert strays(np.full(100, np.nan), np.full(100, 120.0)) == ()

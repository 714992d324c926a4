"""The faults of each wear."""

import numpy as np
import pytest

from evenhand.records.sensors import Ending
from evenhand.rehearse.grid import Grid, instant_of
from evenhand.rehearse.streams import Streams
from evenhand.rehearse.wears import faults, scripted, shared_error
from evenhand.rehearse.world import Kind, Model, Planned, Script, Trouble

GRID = Grid.over(instant_of("2026-02-02T08:00", "Europe/Lisbon"), 10 * 1440, "Europe/Lisbon")
ONE = (Planned(0.0, 10.0),)


def many(kind, count=60, plan=ONE):
    return [faults(Model("Fern", kind), plan, GRID, Streams(seed).of("faults")) for seed in range(count)]


def test_wears_lie_where_they_were_planned():
    """Start, warm-up and end in minutes; between two wears nothing is worn and no error is there."""
    found = faults(Model("Fern", warm_up=90), (Planned(0, 4), Planned(5, 5)), GRID, Streams(1).of("x"))
    first, second = found.wears
    assert (first.start, first.usable, first.end, second.start, second.end) == (0, 90, 5760, 7200, 14400)
    between = slice(5760, 7200)
    assert (found.worn[between] == -1).all()
    assert not found.usable[between].any()
    for series in (found.gain, found.offset, found.level, found.fast, found.pressed):
        assert not series[between].any()


def test_a_plan_beyond_the_trial_is_cut_at_its_end():
    """A wear that would outlast the trial ends with it."""
    found = faults(Model("Fern"), (Planned(8.0, 5.0),), GRID, Streams(1).of("x"))
    assert found.wears[0].end == len(GRID)


def test_gain_and_offset_are_drawn_from_the_kind():
    """Over 400 wears mean and SD are the kind's, within four standard errors."""
    kind = Kind(gain=(0.04, 0.06), offset=(-3.0, 7.0))
    wears = [found.wears[0] for found in many(kind, 400)]
    for drawn, (mean, sd) in (
        (([w.gain for w in wears]), kind.gain),
        ([w.offset for w in wears], kind.offset),
    ):
        assert np.mean(drawn) == pytest.approx(mean, abs=4 * sd / 20)
        assert np.std(drawn) == pytest.approx(sd, rel=0.15)


def test_slow_and_fast_errors_have_about_their_size():
    """In the middle of a wear the root mean squares are what the kind says, within a third."""
    kind = Kind(slow=7.0, fast=5.0, vary=0.0, first_day=0.0, last_day=0.0, first_noise=1.0, last_noise=1.0)
    found = many(kind)
    middle = slice(1440, 9 * 1440)
    assert np.sqrt(np.mean([np.mean(f.level[middle] ** 2) for f in found])) == pytest.approx(7.0, rel=0.33)
    assert np.sqrt(np.mean([np.mean(f.fast[middle] ** 2) for f in found])) == pytest.approx(5.0, rel=0.33)


def test_the_fast_error_is_autocorrelated_without_exponential_memory():
    """Neighbours 5 min apart agree closely; the log of the autocorrelation is bent, not a straight line, as
    that of an exponential memory would be."""
    kind = Kind(vary=0.0, first_noise=1.0, last_noise=1.0)
    series = np.concatenate([found.fast[::5] for found in many(kind)])
    series = series - series.mean()

    def agreement(steps):
        return float((series[:-steps] * series[steps:]).mean() / series.var())

    one, two, four, eight = (agreement(steps) for steps in (1, 2, 4, 8))
    assert one > 0.9
    assert eight < 0.45
    assert abs(two - one**2) > 0.01
    assert two - one**2 < 0 < one - four


def test_fast_shocks_have_heavy_tails():
    """The fast error's kurtosis is well above a normal's 3."""
    kind = Kind(vary=0.0, first_noise=1.0, last_noise=1.0)
    series = np.concatenate([found.fast for found in many(kind)])
    assert np.mean((series / series.std()) ** 4) > 3.3


def test_the_first_and_last_day_are_worse():
    """Level errors are larger in the first 12 h and the last 6 h than in the middle, over many wears."""
    found = many(Kind(first_day=17.0, last_day=12.0))

    def size(part):
        return np.sqrt(np.mean([np.mean((f.level[part] + f.fast[part]) ** 2) for f in found]))

    middle = size(slice(3 * 1440, 8 * 1440))
    assert size(slice(0, 720)) > 1.3 * middle
    assert size(slice(10 * 1440 - 360, 10 * 1440)) > 1.2 * middle


def test_first_day_trouble_fades_or_wanders():
    """Both forms occur, and a day and a half later hardly anything is left of either."""
    kind = Kind(slow=0.0, last_day=0.0, first_day=20.0)
    found = many(kind)
    wandering = [f for f in found if f.wears[0].wanders]
    assert 5 < len(wandering) < 40
    assert all(np.abs(f.level[31 * 60 : 9 * 1440]).max() < 1e-9 for f in wandering)
    fading = [f for f in found if not f.wears[0].wanders]
    assert all(abs(f.level[36 * 60]) < 0.05 * abs(f.level[0]) for f in fading)
    signs = [len(set(np.sign(f.level[:1000]))) for f in wandering]
    assert max(signs) > 1


def test_pressure_lows_come_at_night_and_pull_down():
    """Within 25 to 110 min, starting between 23:30 and 5:10, never upwards, about as often as asked."""
    found = many(Kind(pressure=0.3))
    spans = [span for f in found for span in f.wears[0].pressure]
    assert 0.3 * 9 * 60 * 0.8 < len(spans) < 0.3 * 9 * 60 * 1.2
    for start, end in spans:
        assert 25 <= end - start <= 110
        assert GRID.of_day[start] >= 1405 or GRID.of_day[start] <= 315
    assert all(f.pressed.max() <= 0 for f in found)
    assert all(f.pressed[(a + b) // 2] < -15 for f in found for a, b in f.wears[0].pressure)


def test_a_failing_wear_falls_on_its_last_day():
    """A wear that ends by failure reads far too low at its end."""
    found = many(Kind(slow=0.0, first_day=0.0), 5, (Planned(0, 5, Ending.FAILED),))
    assert all(f.level[5 * 1440 - 1] < -30 for f in found)
    assert all(f.wears[0].ending is Ending.FAILED for f in found)


def test_scripted_trouble_is_added_where_told():
    """A told pressure low is in the error and in the wear's truth; a told stray only in the error; another
    sensor's script is not heard."""
    plain = faults(Model("Fern", Kind(pressure=0.0)), ONE, GRID, Streams(1).of("x"))
    script = (
        Script(0, Trouble.PRESSURE, 3, 130, 60, -50.0),
        Script(0, Trouble.STRAY, 5, 600, 300, 40.0),
        Script(1, Trouble.STRAY, 6, 600, 300, 99.0),
    )
    told = scripted(plain, 0, script, GRID)
    low, up = (int(GRID.minute(np.array([d * 1440 + m]))[0]) for d, m in ((3, 160), (5, 750)))
    assert told.pressed[low] == -50.0
    assert told.pressed[up] == 40.0
    assert told.pressed.max() == 40.0
    assert len(told.wears[0].pressure) == 1
    assert GRID.of_day[told.wears[0].pressure[0][0]] == 130


def test_kinds_can_be_scaled():
    """Twice the kind gives twice the gain and offset errors from the same draws."""
    one = faults(Model("Fern", Kind()), ONE, GRID, Streams(2).of("x"))
    two = faults(Model("Fern", Kind().times(2.0)), ONE, GRID, Streams(2).of("x"))
    assert two.wears[0].gain == pytest.approx(2 * one.wears[0].gain)
    assert np.allclose(two.level, 2 * one.level)
    assert two.wears[0].pressure == one.wears[0].pressure


def test_a_shared_error_has_its_size_and_can_be_none():
    """Root mean square as asked within a third, over many; nothing where none is asked."""
    sizes = [np.mean(shared_error(8.0, 14400, Streams(seed).of("s")) ** 2) for seed in range(80)]
    assert np.sqrt(np.mean(sizes)) == pytest.approx(8.0, rel=0.33)
    assert not shared_error(0.0, 14400, Streams(1).of("s")).any()

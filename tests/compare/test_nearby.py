"""The reading beside an instant and the slope before it: by hand, and against a slow twin with loops."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compare.layout_twin import movement, nearest
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stick, trial, wear

from evenhand.compare.layout import lay_out
from evenhand.units import FACTOR, Unit


def layout_of(minutes, values, sticks, interval=300, **more):
    """One sensor, worn for two days, with readings at these minutes, and sticks at these."""
    made = sensor("Fern", interval=interval, warm_up=0)
    stream = readings(MIDNIGHT + np.round(np.array(minutes) * 60).astype(int), values, **more)
    return lay_out(
        trial(
            [made],
            [wear("fern", MIDNIGHT, MIDNIGHT + 2 * DAY)],
            [stick(MIDNIGHT + round(minute * 60), 100) for minute in sticks],
            {"fern": stream},
        )
    )


@pytest.mark.parametrize(
    ("at", "reading", "apart"),
    [(10, 110.0, 0), (12, 110.0, -120), (13, 115.0, 120), (12.5, 110.0, -150), (5, 110.0, 300), (4.9, None, None),
     (20, 115.0, -300), (20.1, None, None)],
)  # fmt: skip
def test_nearest_by_hand(at, reading, apart):
    """Nearest in time, at most 5 min away, the earlier of two at the same distance."""
    pairs = layout_of([10, 15], [110, 115], [at]).pairs
    if reading is None:
        assert np.isnan(pairs.reading).all()
        assert np.isnan(pairs.apart).all()
        assert not pairs.scored.any()
    else:
        assert (pairs.reading[0, 0], pairs.apart[0, 0]) == (reading, apart)


def test_limit_of_a_fifteen_minute_sensor():
    """7.5 min for all sensors of a trial in which any stores only every 15 min."""
    fine, coarse = sensor("Fern", warm_up=0), sensor("Slate", 1, interval=900, warm_up=0)
    streams = {name: readings([MIDNIGHT + HOUR], [100]) for name in ("fern", "slate")}
    wears = [wear(name, MIDNIGHT, MIDNIGHT + DAY) for name in streams]
    sticks = [stick(MIDNIGHT + HOUR + 450, 100)]
    made = lay_out(trial([fine, coarse], wears, sticks, streams))
    assert made.limit == 450
    assert made.pairs.scored.tolist() == [[True, True]]
    alone = lay_out(trial([fine], wears[:1], sticks, {"fern": streams["fern"]}))
    assert (alone.limit, alone.pairs.scored.tolist()) == (300, [[False]])


@pytest.mark.parametrize(
    ("minutes", "values", "slope"),
    [
        ([45, 50, 55, 60], [100, 105, 110, 115], 1.0),
        ([50, 55, 60], [100, 98, 96], -0.4),
        ([44.9, 55, 60], [100, 98, 96], np.nan),
        ([45, 55, 60], [90, 100, 105], 1.0),
        ([45, 50, 55, 61], [100, 104, 102, 500], 0.2),
        ([45, 50], [100, 104], np.nan),
    ],
)
def test_slope_by_hand(minutes, values, slope):
    """Readings from 15 min before the stick up to it, at least 3; none from after it."""
    found = layout_of(minutes, values, [60]).pairs.slope
    assert found == pytest.approx([slope], nan_ok=True, abs=1e-12)


@pytest.mark.parametrize(
    ("minutes", "slope"), [([30, 45], 0.5), ([29, 45], np.nan), ([45, 60, 61], 0.5), ([45], np.nan)]
)
def test_slope_of_a_fifteen_minute_sensor(minutes, slope):
    """2 readings in 30 min are enough for a sensor that stores every 15."""
    values = [100 + 0.5 * minute for minute in minutes]
    found = layout_of(minutes, values, [60], interval=900).pairs.slope
    assert found == pytest.approx([slope], nan_ok=True)


def test_exactly_one_a_minute_is_moving():
    """5 mg/dL every 5 min is 1.0 to the last bit, in both units."""
    minutes, values = np.arange(0, 61, 5), 100.0 + np.arange(0, 61, 5)
    assert layout_of(minutes, values, [60]).pairs.slope[0] == 1.0
    same = layout_of(minutes, values / FACTOR, [60], unit=Unit.MMOL_L)
    assert same.pairs.slope[0] == 1.0


def test_slope_does_not_reach_into_another_wear():
    """Readings of the wear before say nothing about movement, and are never paired."""
    made = sensor("Fern", warm_up=0)
    wears = [wear("fern", MIDNIGHT, MIDNIGHT + HOUR), wear("fern", MIDNIGHT + HOUR)]
    stream = readings(MIDNIGHT + np.array([45, 50, 55, 62]) * 60, [100, 110, 120, 50])
    found = lay_out(trial([made], wears, [stick(MIDNIGHT + 61 * 60, 100)], {"fern": stream})).pairs
    assert np.isnan(found.slope[0])
    assert found.reading[0, 0] == 50.0


def test_movement_is_the_mean_over_sensors_that_have_one():
    """Two slopes: their mean; one: that; none: unknown."""
    names = ("fern", "slate")
    sensors = [sensor("Fern", warm_up=0), sensor("Slate", 1, warm_up=0)]
    wears = [wear(name, MIDNIGHT, MIDNIGHT + DAY) for name in names]
    sticks = [stick(MIDNIGHT + minute * 60, 100) for minute in (15, 120, 240)]
    streams = {
        "fern": readings(
            MIDNIGHT + np.array([5, 10, 15, 110, 115, 120]) * 60, [100, 110, 120, 100, 105, 110]
        ),
        "slate": readings(MIDNIGHT + np.array([5, 10, 15]) * 60, [100, 102, 104]),
    }
    found = lay_out(trial(sensors, wears, sticks, streams)).pairs.slope
    assert found == pytest.approx([(2 + 0.4) / 2, 1.0, np.nan], nan_ok=True)


def test_long_fast_series_stays_exact():
    """At the end of 300 days of 1-minute readings near 400 mg/dL the slope is still exact."""
    minutes = np.concatenate([np.arange(0, 60), 300 * 1440 + np.arange(0, 16)])
    values = np.concatenate([np.full(60, 400.0), 380.0 + np.arange(16)])
    made = sensor("Fern", interval=60, warm_up=0)
    stream = readings(MIDNIGHT + minutes * 60, values)
    end = MIDNIGHT + int(minutes[-1]) * 60
    found = lay_out(trial([made], [wear("fern", end - DAY, end)], [stick(end, 395)], {"fern": stream}))
    assert found.pairs.slope[0] == 1.0


@st.composite
def streams_and_sticks(draw):
    """Two sensors with ragged readings over two short wears each, and sticks anywhere."""
    sensors, wears, streams = [], [], {}
    for place, name in enumerate(("Fern", "Slate")):
        interval = draw(st.sampled_from([60, 300, 900]))
        made = sensor(name, place, interval=interval, warm_up=draw(st.sampled_from([0, 1200])))
        cut = draw(st.integers(60, 120)) * 60
        off = draw(st.sampled_from([0, 600]))
        wears += [
            wear(made.id, MIDNIGHT, MIDNIGHT + cut),
            wear(made.id, MIDNIGHT + cut + off, MIDNIGHT + 14_400),
        ]
        rng = np.random.default_rng(draw(st.integers(0, 9999)))
        at = np.arange(0, 14_500, interval) + rng.integers(-50, 50)
        at = np.unique(np.maximum(at + rng.integers(-interval // 4, interval // 4 + 1, at.size), 0))
        at = at[rng.random(at.size) > draw(st.sampled_from([0.0, 0.3]))]
        streams[made.id] = readings(MIDNIGHT + at, np.round(rng.normal(120, 30, at.size), 1))
        sensors.append(made)
    minutes = draw(st.lists(st.integers(-20, 15_000), min_size=1, max_size=8, unique=True))
    return trial(sensors, wears, [stick(MIDNIGHT + at, 100) for at in minutes], streams)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(streams_and_sticks())
def test_slow_twin(made):
    """Readings, distances and slopes are those of a twin with loops, for sticks and for a sample of minutes."""
    layout = lay_out(made)
    streams = [
        list(zip(stream.instant.tolist(), stream.mg_dl.tolist(), strict=True))
        for stream in made.readings.values()
    ]
    rows = [
        (layout.pairs, range(layout.pairs.at.size)),
        (layout.minutes, range(0, layout.minutes.at.size, 37)),
    ]
    for part, places in rows:
        for row in places:
            instant = int(part.at[row])
            assert part.slope[row] == pytest.approx(movement(layout, instant, streams), nan_ok=True, abs=1e-6)
            for column, stream in enumerate(streams):
                best = nearest(layout, column, instant, stream)
                assert np.isnan(part.reading[row, column]) == (best is None)
                if best is not None:
                    assert part.reading[row, column] == best[0]

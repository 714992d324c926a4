"""Lag between sensors and behind blood: shifts put in come out, and what cannot be told says why."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.compare.making import DAY, MIDNIGHT, readings, sensor, stick, trial, wear

from evenhand.compare.lag import CLOCK, GAP, LEAST_STICKS, behind, behind_blood
from evenhand.compare.layout import lay_out
from evenhand.records.diary import Reason
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain
from evenhand.rehearse.world import Kind, Model

FERN, SLATE = sensor("Fern", 0, warm_up=0), sensor("Slate", 1, warm_up=0)
MINUTE = 60


def blood(minutes: np.ndarray) -> np.ndarray:
    """A lively wave with no period that a shift of 90 min could be mistaken for."""
    hours = minutes / 60.0
    slow = 40 * np.sin(2 * np.pi * hours / 5.3) + 20 * np.sin(2 * np.pi * hours / 24 + 1)
    return 150 + slow + 18 * np.sin(2 * np.pi * hours / 2.2 + 0.4)


def two(by: float, days: int = 6, seed: int = 1, sticks: int = 0, noise: float = 4.0):
    """Two sensors over two wears each, the second `by` minutes behind the first, which is 6 min behind blood."""
    rng = np.random.default_rng(seed)
    at = np.arange(0, days * DAY, 300)
    streams, wears = {}, []
    for place, one in enumerate((FERN, SLATE)):
        lag = 6.0 + by * place
        values = blood(at / MINUTE - lag) + rng.normal(0, noise, at.size) + 5 * place
        streams[one.id] = readings(MIDNIGHT + at + 20 * place, values)
        wears += [
            wear(one.id, MIDNIGHT + half * days * DAY // 2, MIDNIGHT + (half + 1) * days * DAY // 2 - 60)
            for half in (0, 1)
        ]
    when = np.sort(rng.choice(days * 1440, sticks, replace=False)) if sticks else np.empty(0)
    pricks = [
        stick(MIDNIGHT + int(minute) * 60, float(value), Reason.PLAN)
        for minute, value in zip(when, blood(when), strict=True)
    ]
    return lay_out(trial([FERN, SLATE], wears, pricks, streams))


@pytest.mark.parametrize("by", [0.0, 4.0, 12.0, -7.0])
def test_a_shift_put_in_comes_out(by: float) -> None:
    """Between sensors to a fraction of a minute, with an interval that holds it and the sign turned the other way round."""
    layout = two(by)
    found = behind(layout, 1, 0)
    assert found.value == pytest.approx(by, abs=0.6)
    assert found.low - 0.5 <= by <= found.high + 0.5
    assert behind(layout, 0, 1).value == pytest.approx(-found.value, abs=0.3)
    assert found.method == "cross-correlation-jackknife"


def test_an_offset_and_a_gain_change_nothing() -> None:
    """Correlation does not mind that a sensor reads higher, or in other steps."""
    layout = two(5.0)
    used = layout.used[1]
    moved = replace(layout, used=(layout.used[0], replace(used, mg_dl=used.mg_dl * 1.2 + 30)))
    assert behind(moved, 1, 0).value == pytest.approx(behind(layout, 1, 0).value, abs=1e-9)


def test_a_clock_an_hour_off_stands_out() -> None:
    """A shift of an hour is found, far beyond what two lags can be."""
    found = behind(two(60.0), 1, 0)
    assert found.value == pytest.approx(60.0, abs=1.0)
    assert found.value > CLOCK


def test_behind_blood_by_moving_sticks() -> None:
    """The sensor that trails blood by 6 min is told so by its sticks; the other by 14."""
    layout = two(8.0, days=10, sticks=140, noise=3.0)
    first, second = behind_blood(layout, 0), behind_blood(layout, 1)
    assert first.value == pytest.approx(6.0, abs=2.5)
    assert second.value == pytest.approx(14.0, abs=2.5)
    assert first.low < 6.0 < first.high
    assert first.n >= LEAST_STICKS
    assert first.method == "least-squares-shift-jackknife"


def test_too_few_moving_sticks() -> None:
    """With ten sticks nothing is said, and how many moved is."""
    found = behind_blood(two(0.0, sticks=10), 0)
    assert found.value is None
    assert found.why == "few-moving-sticks"
    assert found.n <= 10


def test_no_readings_nothing_to_tell() -> None:
    """Sensors without readings, or never worn together, have no lag."""
    assert behind(lay_out(trial([FERN, SLATE])), 0, 1).why == "no-data"
    apart = trial(
        [FERN, SLATE],
        [wear("fern", MIDNIGHT, MIDNIGHT + DAY), wear("slate", MIDNIGHT + 2 * DAY, MIDNIGHT + 3 * DAY)],
        (),
        {
            "fern": readings(MIDNIGHT + np.arange(0, DAY, 300), blood(np.arange(0, 1440, 5))),
            "slate": readings(MIDNIGHT + 2 * DAY + np.arange(0, DAY, 300), blood(np.arange(0, 1440, 5))),
        },
    )
    assert behind(lay_out(apart), 0, 1).why == "too-few"
    assert GAP == 20 * MINUTE


def test_a_flat_trace_has_no_shift() -> None:
    """Without any movement no shift fits best."""
    at = np.arange(0, 3 * DAY, 300)
    flat = trial(
        [FERN, SLATE],
        [wear(one.id, MIDNIGHT, MIDNIGHT + 3 * DAY) for one in (FERN, SLATE)],
        (),
        {one.id: readings(MIDNIGHT + at, np.full(at.size, 120.0)) for one in (FERN, SLATE)},
    )
    found = behind(lay_out(flat), 0, 1)
    assert found.value is None
    assert found.why in {"too-few", "no-spread", "at-the-edge"}


def test_an_invented_delay_is_found() -> None:
    """In an invented trial whose second kind is 4 min slower the traces show a slower second sensor."""
    slower = replace(plain(8, 1, 7), sensors=(Model("Fern"), Model("Slate", replace(Kind(), delay=4.0))))
    found = behind(lay_out(invent(slower, 3).trial), 1, 0)
    assert 1.0 < found.value < 7.0
    assert found.low > -2.0


def test_one_and_fifteen_minute_sensors() -> None:
    """Sensors that store at different steps are compared on one grid."""
    layout = two(5.0)
    every = layout.used[1]
    thin = np.arange(every.instant.size) % 3 == 0
    cut = replace(
        every,
        **{
            name: getattr(every, name)[thin]
            for name in ("instant", "mg_dl", "flag", "level", "wear", "counts")
        },
    )
    found = behind(replace(layout, used=(layout.used[0], cut)), 1, 0)
    assert found.value == pytest.approx(5.0, abs=1.5)

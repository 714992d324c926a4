"""Named worlds."""

import numpy as np
import pytest

from evenhand.records.diary import Reason
from evenhand.records.readings import IN_RANGE
from evenhand.rehearse import scenarios
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import GapStyle, World


@pytest.mark.parametrize("name", list(scenarios.honesty()))
def test_every_scenario_can_be_invented(name):
    """Each named world gives a lawful trial with sticks and readings, under its own name."""
    world = scenarios.honesty()[name]
    trial = invent(world, 1).trial
    trial.check()
    assert trial.header.name == name
    assert len(trial.sticks) > 30
    assert all(len(readings) > 900 for readings in trial.readings.values())


def test_nine_sizes_differ():
    """Nine plain worlds with days, wears and sticks of their own."""
    worlds = scenarios.sizes()
    assert len({(w.days, w.wears, w.sticks) for w in worlds}) == len({w.name for w in worlds}) == 9
    trial = invent(worlds[2], 1).trial
    assert len(trial.wears) == 6


def test_the_benchmark_has_what_the_method_names():
    """Every departure that honesty is to be tested under is there."""
    names = " | ".join(scenarios.honesty())
    for word in (
        "identical kinds", "no difference", "at the margin", "prompted", "meter +5 %", "gaps where wrong", "LOW words",
        "calibrated", "driver", "shared errors", "lag 3 min", "lag 15 min", "meter SD 3 %", "meter SD 8 %",
        "1-minute", "15-minute", "clumped", "uneven", "half the days", "random",
    ):  # fmt: skip
        assert word in names


def test_the_plain_kinds_truly_differ():
    """Over 20 trials Slate's expected MAD exceeds Fern's by 2 to 8 mg/dL on average."""
    apart = []
    for seed in range(20):
        invented = invent(scenarios.plain(), seed)
        first, second = (
            invented.truth.expected_abs_error(r.instant, r.mg_dl).mean()
            for r in invented.trial.readings.values()
        )
        apart.append(second - first)
    assert 2 < np.mean(apart) < 8


def test_identical_kinds_have_no_side():
    """Over 40 trials the mean true difference of two identical kinds is within three standard errors of 0,
    though single trials differ by several mg/dL."""
    apart = []
    for seed in range(40):
        invented = invent(scenarios.identical_kinds(), seed)
        first, second = (
            invented.truth.expected_abs_error(r.instant, r.mg_dl).mean()
            for r in invented.trial.readings.values()
        )
        apart.append(second - first)
    assert abs(np.mean(apart)) < 3 * np.std(apart) / 40**0.5
    assert np.std(apart) > 1.0


def test_limit_words_are_common_there():
    """In the world of LOW words at least 2 % of readings are words, in the plain one under 1 %."""

    def share(world):
        flags = np.concatenate([r.flag for s in range(6) for r in invent(world, s).trial.readings.values()])
        return (flags != IN_RANGE).mean()

    assert share(scenarios.limit_words()) > 0.02
    assert share(scenarios.plain()) < 0.012


def test_scenarios_say_what_they_do():
    """Spot checks of the settings behind the names."""
    assert scenarios.prompted(told=False).prompted_as is Reason.PLAN
    assert scenarios.meter_off(-0.05).meter.bias == -0.05
    assert scenarios.gaps_where_wrong().gaps is GapStyle.WHERE_WRONG
    assert [model.interval for model in scenarios.unequal_intervals().sensors] == [5, 15]
    assert scenarios.lag(3.0) == World(**{**_fields(scenarios.plain()), "name": "lag 3 min", "lag": 3.0})


def _fields(world):
    return {name: getattr(world, name) for name in World.__slots__}

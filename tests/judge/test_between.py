"""Between the sticks in a judgement: told where trusted, withheld with a reason where not, and never the answer."""

from __future__ import annotations

from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from datetime import datetime
from itertools import pairwise

import msgspec
import numpy as np
import pytest
from tests.compare.making import DAY, stamp
from tests.judge.invented import heard, invented, judged
from tests.judge.making import declared, sound

from evenhand.findings import edge
from evenhand.findings.cautions import REASONS
from evenhand.findings.parts import AgainstReconstruction
from evenhand.judge import between
from evenhand.judge.about_between import about_between
from evenhand.judge.judge import judge
from evenhand.reconstruct import reconstruct as room
from evenhand.rehearse.invent import invent
from evenhand.rehearse.scenarios import plain
from evenhand.rehearse.world import Calibrating, Model, World
from evenhand.stats.estimate import Est


def codes(findings) -> set[str]:
    return {each.code for each in findings.cautions}


def when(iso: str) -> float:
    return datetime.fromisoformat(iso).timestamp()


def test_a_trusted_one_is_told_in_full() -> None:
    """Every part is there, fits the schema, and says that it cannot see everything."""
    plain_json = sound(judged())
    told = plain_json["reconstruction"]
    assert told["trusted"] is True
    assert told["why"] is None
    assert told["held_out"]["sticks"] > 40
    assert 30 < told["held_out"]["in_50"] < 75
    assert told["lag_minutes"]["low"] < told["lag_minutes"]["value"] < told["lag_minutes"]["high"]
    assert 0.0 < told["mad_per_minute_of_lag"] < 2.0
    assert 2.0 < told["meter_sd_percent"]["value"] < 9.0
    assert "reconstruction-limits" in {each["code"] for each in plain_json["cautions"]}
    assert "reconstruction-withheld" not in {each["code"] for each in plain_json["cautions"]}


def test_the_answer_is_that_of_the_sticks_alone() -> None:
    """Head to head, accuracy, meter and safety are the same, number for number, without the reconstruction."""
    with_it = msgspec.to_builtins(judged())
    without = msgspec.to_builtins(judge(invented().trial, sticks_only=True))
    assert without["reconstruction"] is None
    for part in ("head_to_head", "meter", "wears", "safety", "primary", "must_haves"):
        assert with_it[part] == without[part]
    for one, other in zip(with_it["sensors"], without["sensors"], strict=True):
        for part in (
            "accuracy",
            "phases",
            "days",
            "levels",
            "ranges",
            "upkeep",
            "lag_minutes",
            "pressure_lows",
        ):
            assert one[part] == other[part]
        assert other["against_reconstruction"] is None
        assert all(stray["from"] == "sticks" for stray in other["strays"])


class Half(Executor):
    """A pool that does the first thing it is given, and whose worker then dies."""

    def __init__(self) -> None:
        self.done = 0

    def submit(self, what, *given, **_named):
        future: Future[AgainstReconstruction] = Future()
        self.done += 1
        if self.done == 1:
            future.set_result(what(*given))
        else:
            future.set_exception(BrokenProcessPool())
        return future


def test_the_same_trial_gives_the_same_bytes() -> None:
    """Drawn by the trial's own seed: judged again, with one check done in a pool and one here because the pool broke, it is
    the same to the last digit."""
    pool = Half()
    again = judge(invented().trial, pool=pool)
    assert pool.done == 2
    assert edge.to_json(again) == edge.to_json(judged())


def test_the_truth_lies_in_or_near_what_is_told() -> None:
    """Of this trial the true MAD of both sensors lies within the interval, and the check without each agrees roughly."""
    made = invented()
    for sensor, found in zip(made.trial.sensors, judged().sensors, strict=True):
        readings = made.trial.readings[sensor.id]
        truth = float(np.abs(readings.mg_dl - made.truth.blood_at(readings.instant)).mean())
        told = found.against_reconstruction
        assert told is not None
        assert told.all.mad.low - 1.0 <= truth <= told.all.mad.high + 1.0
        assert told.without_it.mad.low - 3.0 <= truth <= told.without_it.mad.high + 3.0
        assert told.all.mad.n == told.night.mad.n + round(told.all.mad.n - told.night.mad.n)
        assert (
            told.phases.first_24h.mad.n + told.phases.middle.mad.n + told.phases.last_24h.mad.n
            >= told.all.mad.n
        )


def test_the_time_line_covers_each_wear_once() -> None:
    """Stretches of a wear follow one another; strays are those that strayed, dated within their wear."""
    for sensor in judged().sensors:
        line = sensor.against_reconstruction.time_line
        assert {part.wear for part in line} == {1, 2}
        for one, other in pairwise(line):
            if one.wear == other.wear:
                assert when(one.end) <= when(other.start)
        starts = {part.start for part in line if part.state == "strayed"}
        assert {stray.start for stray in sensor.strays} <= starts
        assert all(stray.source == "reconstruction" for stray in sensor.strays)
        assert all(0.0 <= stray.chance <= 1.0 for stray in sensor.strays)


def test_the_line_for_drawing_is_the_estimate() -> None:
    """Every five minutes over the trial, the middle within its band, near true blood."""
    line = judged().reconstruction.line
    assert line.step_s == 300
    middle, low, high = (
        np.array([np.nan if x is None else x for x in part]) for part in (line.middle, line.low, line.high)
    )
    there = np.isfinite(middle)
    assert there.mean() > 0.9
    assert (low[there] <= middle[there]).all()
    assert (middle[there] <= high[there]).all()
    at = when(line.start) + 300 * np.arange(middle.size)
    blood = invented().truth.blood_at(at[there].astype(np.int64))
    assert np.abs(middle[there] - blood).mean() < 9.0
    held = ((low[there] - 0.05 <= blood) & (blood <= high[there] + 0.05)).mean()
    assert 0.75 < held <= 1.0


def test_ranges_are_shares_of_time() -> None:
    """They add up to the whole, and the three with intervals agree with the five."""
    told = judged().reconstruction
    five = (
        told.ranges.below_54, told.ranges.share_54_69, told.ranges.share_70_180, told.ranges.share_181_250, told.ranges.above_250,
    )  # fmt: skip
    assert sum(five) == pytest.approx(100.0)
    assert told.shares.below_70.value == pytest.approx(five[0] + five[1])
    assert told.shares.in_range.value == pytest.approx(five[2])
    assert told.shares.above_180.value == pytest.approx(five[3] + five[4])


def test_partings_name_a_sensor_only_when_sure() -> None:
    """`right` is a name of a sensor exactly from a chance of 0.9 on."""
    told = judged().reconstruction.parted
    assert told
    for one in told:
        assert (one.right in {"Fern", "Slate"}) == (one.chance >= 0.9)
        assert when(one.end) - when(one.start) >= 1200


@pytest.mark.parametrize(
    ("world", "code"),
    [
        (plain(8, 1, 1.5), "few-sticks"),
        (plain(20, 1, 1.5), "few-sticks-a-day"),
        (plain(1, 1, 30), "few-days"),
    ],
)
def test_thin_data_are_refused_with_the_reason(world: World, code: str) -> None:
    """Too few sticks, too few a day, too few days: nothing is told, and the caution says why."""
    found = judge(invent(world, 3).trial)
    told = found.reconstruction
    assert told is not None
    assert told.trusted is False
    assert told.why == code
    assert told.held_out is None
    assert told.line is None
    assert told.lag_minutes.why == code
    (caution,) = [each for each in found.cautions if each.code == "reconstruction-withheld"]
    assert REASONS[code] in caution.text
    assert all(sensor.against_reconstruction is None for sensor in found.sensors)
    sound(found)


def test_one_sensor_is_fitted_but_not_trusted() -> None:
    """With a single sensor nothing can check what is said of it: the fit is shown, nothing that rests on it."""
    found = judge(invent(replace(plain(8, 1, 7), sensors=(Model("Fern"),)), 3).trial)
    told = found.reconstruction
    assert told is not None
    assert (told.trusted, told.why) == (False, "one-sensor")
    assert told.lag_minutes.value is not None
    assert told.held_out is not None
    assert (told.ranges, told.line, told.parted) == (None, None, ())
    assert found.sensors[0].against_reconstruction is None
    assert found.sensors[0].alarms.rehearsed.false_per_night.why == "no-reconstruction"
    sound(found)


def test_days_held_out_that_fail_withhold_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the bands do not hold what they promise it is not trusted, and the strays come from sticks again."""
    real = room.held_out

    def failing(*given):
        found = real(*given)
        return replace(found, interval=((0.9, 1.0), (0.0, 0.1)))

    monkeypatch.setattr(room, "held_out", failing)
    found = judge(invented().trial)
    assert found.reconstruction is not None
    assert found.reconstruction.why == "held-out-days"
    assert "reconstruction-withheld" in codes(found)
    assert all(stray.source == "sticks" for sensor in found.sensors for stray in sensor.strays)
    sound(found)


def test_a_sealed_trial_is_not_even_fitted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Under seal nothing is reconstructed and nothing is shown."""

    def never(*_given, **_named):
        raise AssertionError("reconstructed under seal")

    monkeypatch.setattr(between, "reconstruct", never)
    trial = invented().trial
    last = max(int(readings.instant[-1]) for readings in trial.readings.values())
    found = judge(declared(trial, end=stamp(last + 40 * DAY)))
    assert found.sealed
    assert found.reconstruction is None
    assert all(sensor.alarms is None and sensor.pressure_lows is None for sensor in found.sensors)


def test_nothing_to_reconstruct_says_so() -> None:
    """A trial without readings: refused for that, not silently absent."""
    made = replace(invented().trial, readings={})
    found = judge(made)
    assert found.reconstruction is not None
    assert found.reconstruction.why == "no-readings"


def test_numbers_that_cannot_be_solved_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """An arithmetic failure inside becomes a reason, never an error for the wearer."""

    def broken(*_given, **_named):
        raise np.linalg.LinAlgError

    monkeypatch.setattr(room, "fit", broken)
    found = judge(invented().trial)
    assert found.reconstruction is not None
    assert found.reconstruction.why == "not-solved"


def bundle(findings, lag: float = 9.0, **changed):
    """What the cautions look at, with the reconstruction and the first sensor changed."""

    class Known:
        told = msgspec.structs.replace(
            findings.reconstruction, lag_minutes=Est(lag, lag - 2, lag + 2), **changed
        )
        codes = ("lag-from-prior",)

    class Judged:
        between = Known
        sensors = findings.sensors

    return Judged


def test_cautions_about_lag_and_sticks() -> None:
    """A lag taken from the prior, a lag outside what was tried, sticks left out of the fit: each is said."""
    usual = {each.code for each in about_between(bundle(judged()))}
    assert "lag-from-prior" in usual
    assert "lag-extreme" not in usual
    odd = {each.code: each.text for each in about_between(bundle(judged(), 15.2, sticks_dropped=2))}
    assert "15 min" in odd["lag-extreme"]
    assert "2 sticks" in odd["sticks-out-of-fit"]


def test_a_gap_between_the_two_numbers_is_said() -> None:
    """Where the number with the sensor and that without it lie outside each other's intervals, a caution names both."""
    first, second = judged().sensors
    told = first.against_reconstruction
    far = msgspec.structs.replace(told.without_it, mad=Est(40.0, 38.0, 42.0))
    gap = msgspec.structs.replace(first, against_reconstruction=msgspec.structs.replace(told, without_it=far))

    class Judged:
        between = bundle(judged()).between
        sensors = (gap, second)

    (caution,) = [each for each in about_between(Judged) if each.code == "reconstruction-without"]
    assert caution.subject == "Fern"
    assert "40.0" in caution.text
    assert "reconstruction-without" not in {each.code for each in about_between(bundle(judged()))}


def test_progress_only_rises() -> None:
    """What is being done is told with a share that never falls, from 0 to 1."""
    judged()
    shares = [share for share, _ in heard]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert any("blood between sticks" in what for _, what in heard)
    assert any("without Fern" in what for _, what in heard)


def test_three_sensors_of_mixed_steps_with_calibrations() -> None:
    """One-, five- and fifteen-minute sensors, one of them calibrated: all are held against blood, each checked without
    itself, and the numbers are of the size of the truth."""
    models = (
        Model("Fern"),
        Model("Slate", interval=15, calibrating=Calibrating.EVERY_SECOND_DAY),
        Model("Moss", interval=1),
    )
    made = invent(replace(plain(6, 1, 7), sensors=models), 5)
    found = judge(made.trial)
    sound(found)
    assert found.reconstruction.trusted
    assert found.sensors[1].calibrations
    for sensor, told in zip(made.trial.sensors, found.sensors, strict=True):
        readings = made.trial.readings[sensor.id]
        truth = float(np.abs(readings.mg_dl - made.truth.blood_at(readings.instant)).mean())
        for number in (told.against_reconstruction.all.mad, told.against_reconstruction.without_it.mad):
            assert number.value == pytest.approx(truth, abs=4.0)
        assert set(told.lag_minutes.to_sensor) == {"Fern", "Slate", "Moss"} - {told.name}

"""Every caution is raised where it should be: one trial for each code, and one that lacks it."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import pytest
from tests.compare.making import DAY, HOUR, MIDNIGHT, readings, sensor, stamp, stick, trial, wear
from tests.compare.test_shown import showing
from tests.judge.invented import invented, judged
from tests.judge.making import by_sticks as judge
from tests.judge.making import codes, declared, opened, twenty_days
from tests.judge.test_judge import THIN
from tests.judge.test_pairs import calibrated

from evenhand.clock import ZoneOrigin
from evenhand.findings import METHOD
from evenhand.findings.cautions import CAUTIONS
from evenhand.judge.judge import judge as judge_whole
from evenhand.records.diary import Event, EventKind, Mark, MarkKind, Reason
from evenhand.records.files import OpenProposal, SourceFile
from evenhand.records.question import Declared, Opening, Policy, Question, Stream
from evenhand.records.sensors import CountsFrom
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import Model, World
from evenhand.units import Glucose, Unit


def base(**more):
    return replace(twenty_days(), **more)


def sensors(**more):
    """20 days with these settings on both sensors."""
    return base(sensors=tuple(replace(each, **more) for each in twenty_days().sensors))


def known():
    """20 days with everything known that can be."""
    made = sensors(
        low=Glucose(40, Unit.MG_DL, "40"), high=Glucose(400, Unit.MG_DL, "400"), life=10 * DAY, grace=0,
        price=60.0, counts_from=CountsFrom.START,
    )  # fmt: skip
    wears = tuple(
        replace(each, lot=f"lot{i}", drives=each.sensor == "fern") for i, each in enumerate(made.wears)
    )
    control = stick(MIDNIGHT - HOUR, 120, marks=(Mark(MarkKind.CONTROL),), inside=True, id="control")
    return declared(replace(made, wears=wears, sticks=(control, *made.sticks)))


def sticks(chosen):
    """20 days with every stick put through `chosen(number, stick)`."""
    return base(sticks=tuple(chosen(number, each) for number, each in enumerate(twenty_days().sticks)))


def every(number, **more):
    """20 days with these fields on every `number`-th stick."""
    return sticks(lambda place, each: replace(each, **more) if place % number == 0 else each)


def late(**more):
    """20 days declared, with these fields of the declaration."""
    fields = {"at": stamp(MIDNIGHT - DAY), "day": 1, "sticks_before": 0, "method": METHOD, "fingerprint": ""}
    return base(question=Question("q", declared=Declared(**{**fields, **more})))


def proposal():
    source = SourceFile("f", "fern.csv", "0" * 64, 1, "fern", 0, 1, (), (OpenProposal("clock", "The clock looks 60 min fast.", "", ""),))  # fmt: skip
    return base(files=(source,))


def odd_prompted():
    """Prompted sticks, every one of which says just what Slate says."""
    made = declared(twenty_days())
    slate = made.readings["slate"]
    more = []
    for number, each in enumerate(made.sticks):
        at = each.at.instant + 20 * 60
        near = int(abs(slate.instant - at).argmin())
        more.append(stick(at, slate.value[near], Reason.PROMPTED, id=f"p{number}"))
    return replace(made, sticks=tuple(sorted((*made.sticks, *more), key=lambda each: each.at.instant)))


def gap_alone():
    made = twenty_days()
    stream = made.readings["fern"]
    kept = (stream.instant < MIDNIGHT + 3 * DAY) | (stream.instant > MIDNIGHT + 3 * DAY + 5 * HOUR)
    short = readings(stream.instant[kept], stream.value[kept])
    return replace(made, readings={**made.readings, "fern": short})


def late_readings(seconds):
    made = twenty_days()
    stream = made.readings["fern"]
    at = stream.instant // 900 * 900
    first = [i for i in range(at.size) if i == 0 or at[i] != at[i - 1]]
    moved = readings(at[first] + seconds, stream.value[first])
    pricked = [
        stick(MIDNIGHT + day * DAY + hour * HOUR, 120, id=f"x{day}-{hour}") for day in range(10) for hour in (3, 8, 13, 18)
    ]  # fmt: skip
    return replace(made, readings={**made.readings, "fern": moved}, sticks=tuple(pricked))


def thin_wear(per_wear):
    """The second wears with so few sticks."""
    made, cut = twenty_days(), MIDNIGHT + 10 * DAY
    after = [each for each in made.sticks if each.at.instant >= cut][:per_wear]
    return replace(made, sticks=(*(each for each in made.sticks if each.at.instant < cut), *after))


def two_days_pricked():
    made, cut = twenty_days(), MIDNIGHT + 10 * DAY
    kept = [each for each in made.sticks if each.at.instant < cut or cut <= each.at.instant < cut + 2 * DAY]
    return replace(made, sticks=tuple(kept))


def world(**more):
    return invent(World(**more), 1).trial


def noisy_meter():
    """Ten planned repeats that scatter by as much as the sensors do."""
    made = declared(twenty_days())
    more = []
    for number in range(12):
        at = MIDNIGHT + number * DAY + 3 * HOUR + 30 * 60
        more += [stick(at, 90, Reason.PLAN, id=f"r{number}"), stick(at + 60, 210, Reason.PLAN, repeat=True, id=f"rr{number}")]  # fmt: skip
    return replace(made, sticks=tuple(sorted((*made.sticks, *more), key=lambda each: each.at.instant)))


def two_lots(one, two):
    return sticks(lambda place, each: replace(each, lot=one if place % 2 else two))


@lru_cache(maxsize=1)
def closer():
    """Fern at 4 mg/dL off, Slate at 25: closer by more than the margin."""
    return constant(104.0, 125.0)


@lru_cache(maxsize=1)
def three():
    return world(sensors=(Model("Fern"), Model("Slate"), Model("Moss")))


def constant(first, second, days=20, per=6):
    """Constant readings of 20 days beside sticks of 100 every `per` hours."""
    import numpy as np

    rng = np.random.default_rng(3)
    at = np.arange(0, days * DAY, 300)
    streams = {
        "fern": readings(MIDNIGHT + at, np.full(at.size, first) if np.isscalar(first) else first(at)),
        "slate": readings(MIDNIGHT + at, np.full(at.size, second) if np.isscalar(second) else second(at)),
    }
    worn = [wear(name, MIDNIGHT, MIDNIGHT + days * DAY) for name in streams]
    pricked = [
        stick(MIDNIGHT + when, 100 + int(rng.integers(-1, 2)), id=f"s{when}")
        for when in range(2 * HOUR, days * DAY, per * HOUR)
    ]
    return trial([sensor("Fern"), sensor("Slate", 1)], worn, pricked, streams)


def closer_by_calibration():
    """Alike until Slate is calibrated on day 6, 25 off from then on."""
    made = constant(104.0, lambda at: (at < 5 * DAY) * 104.0 + (at >= 5 * DAY) * 125.0)
    tuned = stick(MIDNIGHT + 5 * DAY + 60, 100, Reason.CALIBRATION, into="slate", id="cal")
    return replace(made, sticks=tuple(sorted((*made.sticks, tuned), key=lambda each: each.at.instant)))


def apart_when_moving():
    """Fern nearer where glucose is steady, Slate where it moves (by 2 mg/dL a minute for half an hour)."""

    def moving(at):
        return (at % (6 * HOUR) > HOUR + 1500) & (at % (6 * HOUR) <= 3 * HOUR) & (at // (6 * HOUR) % 4 != 0)

    def fern(at):
        return 100 + 4.0 + moving(at) * (40 + 2.0 * ((at % (6 * HOUR) - 2 * HOUR) / 60))

    def slate(at):
        return 100 + 10.0 + moving(at) * (0 + 2.0 * ((at % (6 * HOUR) - 2 * HOUR) / 60))

    return constant(fern, slate)


def often_small_seldom_large():
    """Fern mostly on the spot and seldom far off; Slate always a little off: MAD and mean square disagree."""
    return constant(lambda at: 100 + 60.0 * (at // (6 * HOUR) % 8 == 3), 112.0)


def alike():
    """Two sensors that err together: the scatter goes to the meter, what is left for them can fall below zero."""
    import numpy as np

    made = twenty_days()
    stream = made.readings["fern"]
    rng = np.random.default_rng(5)
    other = readings(stream.instant, stream.value + rng.normal(0, 1, stream.value.size))
    noisier = {"fern": stream, "slate": other}
    return replace(made, readings=noisier)


def half_the_readings():
    made = twenty_days()
    stream = made.readings["fern"]
    short = readings(stream.instant[::2], stream.value[::2])
    return replace(made, readings={**made.readings, "fern": short})


def an_hour_late(made):
    """The second sensor's clock an hour behind."""
    last = made.readings["slate"]
    moved = replace(last, instant=last.instant + HOUR)
    return replace(made, readings={**made.readings, "slate": moved})


MADE = {
    "zone-from-computer": lambda: base(header=replace(twenty_days().header, zone_origin=ZoneOrigin.COMPUTER)),
    "unknown-warm-up": lambda: sensors(warm_up=None),
    "unknown-limits": twenty_days,
    "unknown-life": twenty_days,
    "unknown-price": twenty_days,
    "unknown-interval": lambda: sensors(interval=None),
    "driver-not-recorded": twenty_days,
    "sensor-lot-unknown": twenty_days,
    "no-policy": calibrated,
    "no-sticks": lambda: THIN["no sticks"],
    "no-judging-sticks": lambda: THIN["only calibrations"],
    "no-readings": lambda: THIN["no readings"],
    "no-wear": lambda: THIN["two sensors and nothing else"],
    "one-sensor": lambda: THIN["one sensor"],
    "few-pairs": lambda: THIN["one stick"],
    "uncovered-readings": lambda: base(wears=twenty_days().wears[:3]),
    "inferred-wears": lambda: base(wears=()),
    "open-wear": lambda: base(wears=tuple(replace(each, removed=None) for each in twenty_days().wears)),
    "open-proposal": proposal,
    "at-least": lambda: world(sensors=(Model("Fern", low=90.0), Model("Slate"))),
    "gaps-unexplained": gap_alone,
    "reading-times": lambda: late_readings(280),
    "sticks-outside-hours": lambda: declared(twenty_days(), waking=(540, 1000)),
    "sticks-left-out": twenty_days,
    "wear-left-out": lambda: thin_wear(2),
    "stretch-left-out": lambda: thin_wear(2),
    "few-pricked-days": two_days_pricked,
    "few-visits": lambda: replace(closer(), sticks=closer().sticks[:5]),
    "stream-not-judged": lambda: base(question=Question("q", stream=Stream.LIVE)),
    "shown-differs": lambda: showing(twenty_days(), 4.0),
    "unknown-sticks": twenty_days,
    "unknown-sticks-left-out": late,
    "prompted-disagree": odd_prompted,
    "marked-sticks": lambda: every(9, marks=(Mark(MarkKind.UNWASHED, early=False),)),
    "marked-change-answer": lambda: replace(closer(), sticks=tuple(replace(each, marks=(Mark(MarkKind.UNWASHED, early=False),)) if i > 15 else each for i, each in enumerate(closer().sticks))),
    "few-repeats": twenty_days,
    "no-control": twenty_days,
    "control-outside": lambda: base(sticks=(stick(MIDNIGHT, 1, marks=(Mark(MarkKind.CONTROL),), inside=False), *twenty_days().sticks)),
    "strip-lots": lambda: two_lots("A1", "B2"),
    "several-meters": lambda: every(2, meter="the spare"),
    "both-warming-up": twenty_days,
    "drives-insulin": known,
    "undeclared": twenty_days,
    "declared-late": lambda: late(sticks_before=3),
    "explored": lambda: declared(twenty_days(), end=stamp(MIDNIGHT + 9 * DAY)),
    "opened-early": lambda: opened(declared(twenty_days(), end=stamp(MIDNIGHT + 40 * DAY)), 9),
    "sealed": lambda: declared(twenty_days(), end=stamp(MIDNIGHT + 40 * DAY)),
    "looks-exceeded": lambda: opened(declared(twenty_days(), end=stamp(MIDNIGHT + 20 * DAY - 9 * HOUR)), 9),
    "at-look": lambda: replace(declared(twenty_days(), end=stamp(MIDNIGHT + 30 * DAY), looks=2), openings=(Opening("o", stamp(MIDNIGHT + 20 * DAY - HOUR), 20, look=1),)),
    "method-raised": lambda: late(method=0),
    "exploratory-looks": twenty_days,
    "identical-kinds": closer,
    "meter-span-narrow": twenty_days,
    "signs-differ-all-steady": apart_when_moving,
    "signs-differ-mean-square": often_small_seldom_large,
    "calibrations": calibrated,
    "calibrated-one-side": calibrated,
    "calibrated-against-policy": lambda: calibrated(Policy.NONE),
    "calibration-into-unknown": lambda: base(sticks=(*twenty_days().sticks, stick(MIDNIGHT + 20 * DAY, 100, Reason.CALIBRATION))),
    "uncalibrated-differs": closer_by_calibration,
    "three-sensors": lambda: replace(three(), question=replace(three().question, pair=None)),
    "other-pairs-unanswered": three,
    "shared-lag": twenty_days,
    "negative-variance": alike,
    "no-equal-meter": noisy_meter,
    "one-wear": lambda: THIN["no spread at all"],
    "two-wears": twenty_days,
    "one-lot": lambda: base(wears=tuple(replace(each, lot="L1") for each in twenty_days().wears)),
    "next-priors": twenty_days,
    "by-level-selection": twenty_days,
    "zones-from-memory": twenty_days,
    "few-days-for-ranges": lambda: THIN["one stick"],
    "few-readings-for-ranges": half_the_readings,
    "strays-from-sticks": world,
    "reconstruction-withheld": lambda: THIN["one stick"],
    "reconstruction-limits": lambda: invented().trial,
    "reconstruction-without": None,
    "lag-from-prior": None,
    "lag-extreme": None,
    "clock-apart": lambda: an_hour_late(twenty_days()),
    "pressure-lows-open": lambda: invented().trial,
    "sticks-out-of-fit": None,
    "alarms-rehearsed": lambda: invented().trial,
}  # fmt: skip


def test_there_is_a_trial_for_each_code():
    """No code without a trial that raises it."""
    assert set(MADE) == set(CAUTIONS)


@pytest.mark.parametrize("code", [code for code, made in MADE.items() if made is not None])
def test_is_raised(code):
    """The trial made for it carries the caution, with a whole sentence. Those about the estimate between sticks that no
    small trial raises are raised by hand in test_between."""
    if code == "reconstruction-limits":
        cautions = judged().cautions
    elif code == "reconstruction-withheld":
        cautions = judge_whole(MADE[code]()).cautions
    else:
        cautions = judge(MADE[code]()).cautions
    found = [each for each in cautions if each.code == code]
    assert found
    assert all(each.subject and "{" not in each.text for each in found)


def test_what_is_known_raises_nothing():
    """A declared trial in which everything is known carries no caution about settings, sticks or declaration."""
    found = codes(judge(known()))
    assert not found & {
        "zone-from-computer", "unknown-warm-up", "unknown-limits", "unknown-life", "unknown-price", "unknown-interval",
        "driver-not-recorded", "sensor-lot-unknown", "one-lot", "no-policy", "undeclared", "declared-late", "explored",
        "opened-early", "method-raised", "unknown-sticks", "unknown-sticks-left-out", "marked-sticks", "no-control",
        "control-outside", "strip-lots", "several-meters", "inferred-wears", "uncovered-readings", "open-wear",
        "open-proposal", "calibrations", "three-sensors", "few-pairs", "few-pricked-days", "wear-left-out",
    }  # fmt: skip


def test_cautions_about_one_sensor_name_it():
    """Of two sensors only the one that a caution is about is its subject."""
    found = judge(showing(twenty_days(), 4.0)).cautions
    assert [each.subject for each in found if each.code == "shown-differs"] == ["Fern"]


def test_a_phone_left_behind_explains_a_gap():
    """A gap noted as 'away' is not called unexplained."""
    made = gap_alone()
    note = Event("a", EventKind.AWAY, stamp(MIDNIGHT + 3 * DAY), 0, stamp(MIDNIGHT + 3 * DAY + 5 * HOUR))
    found = judge(replace(made, events=(note,))).cautions
    assert "Fern" not in {each.subject for each in found if each.code == "gaps-unexplained"}

"""Invented judgements in every state, shaped by the contract; the numbers are made up, not computed."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

from msgspec import structs
from tests.support.fake_trial import START, ZONE, make_trial

from evenhand.clock import DAY, Stamp
from evenhand.findings.findings import (
    Answer,
    AnsweredDifference,
    BetweenSensors,
    Caution,
    ChanceNext,
    Declaration,
    Findings,
    HeadToHead,
    Looks,
    LotSticks,
    MeterFindings,
    Opened,
    Present,
    Primary,
    SafetyLine,
    SealedUntil,
    ToSettle,
    Variances,
    WearFindings,
)
from evenhand.findings.parts import (
    Accuracy,
    AccuracySplits,
    Cost,
    DayAccuracy,
    Gaps,
    Lag,
    LeftOut,
    Levels,
    LevelTables,
    OwnAndCommon,
    Phases,
    PressureLow,
    Ranges,
    SensorFindings,
    Upkeep,
    WearAccuracy,
)
from evenhand.records.trial import Trial
from evenhand.stats.estimate import Est
from evenhand.units import Unit

MISSING = Est.missing("too-few-visits")
SCENARIOS = (
    "closer",
    "closer-open",
    "equal",
    "equal-but-closer",
    "not-settled",
    "too-few",
    "sealed",
    "three",
    "one",
    "mmol",
)


def est(value: float, half: float, n: int = 98, **more: Any) -> Est:
    """An estimate with a symmetric interval."""
    return Est(value, value - half, value + half, n=n, method="these-wears", **more)


def accuracy(mad: float, n: int, bias: float = 2.0, *, missing: bool = False) -> Accuracy:
    """Accuracy with made-up numbers, or none at all."""
    keys = ("15/15", "20/20", "30/30", "40/40")
    if missing:
        return Accuracy(n, 0, (), MISSING, MISSING, MISSING, dict.fromkeys(keys, MISSING))
    half = mad * 1.9 / n**0.5
    rates = (71.0, 84.0, 94.0, 98.0)
    within = {key: est(rate, min(3.0, 99 - rate), n) for key, rate in zip(keys, rates, strict=True)}
    return Accuracy(
        n, n // 40, (), est(bias, half, n), est(mad, half, n), est(mad / 1.3, half / 1.3, n), within
    )


def splits(mad: float, bias: float, *, missing: bool) -> AccuracySplits:
    """The whole wear and its splits."""
    shares = {"all": 126, "steady": 98, "moving": 28, "rising": 15, "falling": 13, "day": 118, "night": 8}
    return AccuracySplits(
        **{name: accuracy(mad, n, bias, missing=missing or n < 10) for name, n in shares.items()}
    )


def sensor_findings(trial: Trial, place: int, mad: float, *, missing: bool = False) -> SensorFindings:
    """Everything about one sensor."""
    sensor = trial.sensors[place]
    sticks = sorted({stick.at.day for stick in trial.sticks})
    days = tuple(
        DayAccuracy(
            number + 1,
            day.isoformat(),
            accuracy(
                mad * (2.1 if number % 10 == 0 else 0.8 + 0.07 * (number * (3 + place) % 7)),
                5 + number % 3,
                missing=missing or number == 6,
            ),
        )
        for number, day in enumerate(sticks)
    )
    ranges = Ranges(0.4, 3.1, 71.0, 20.0, 5.5, 148.0, 36.0, 6.9, 19.0, 96.0)
    wears = trial.wears_of(sensor.id)
    return SensorFindings(
        sensor.name,
        len(wears),
        len(trial.readings[sensor.id]),
        len(trial.readings[sensor.id]) + 86,
        Gaps(0.5, 7.2, 1.0),
        3,
        61.0,
        None,
        splits(mad, -1.5 if place == 0 else 5.0, missing=missing),
        Phases(
            accuracy(mad * 1.9, 14, missing=missing),
            accuracy(mad * 0.85, 92, missing=missing),
            accuracy(mad * 1.05, 14, missing=missing),
        ),
        days,
        tuple(
            WearAccuracy(number + 1, accuracy(mad, 40, missing=missing or number == 1))
            for number in range(len(wears))
        ),
        LevelTables(
            Levels(accuracy(mad, 4, missing=True), accuracy(mad * 0.9, 91), accuracy(mad * 1.5, 31)),
            Levels(accuracy(mad, 6, missing=True), accuracy(mad * 0.9, 92), accuracy(mad * 1.5, 28)),
        ),
        {"A": 108, "B": 18, "C": 0, "D": 0, "E": 0},
        None,
        (),
        Lag(MISSING, {}),
        (PressureLow(Stamp.at(START + 3 * DAY, ZONE).iso, Stamp.at(START + 3 * DAY + 4000, ZONE).iso, None),),
        (),
        None,
        OwnAndCommon(ranges, ranges),
        Upkeep(len(wears), int(place == 1), 0, est(83.0, 12.0, len(wears)), Cost(8.4, 7.6)),
    )


def head(a: str, b: str, difference: Est, answer: Answer, **more: Any) -> HeadToHead:
    """Two sensors head to head."""
    value = difference.value
    other = MISSING if value is None else est(value * 0.8, 2.4, 126)
    given: dict[str, Any] = {
        "a": a, "b": b, "pairs": 98, "days": 19, "left_out": (LeftOut(2, "too-few-visits"),),
        "difference": difference,
        "interval_for_equal": MISSING if value is None else replace(difference, level=0.9),
        "k": 1.04, "answer": answer, "meter_span_percent": (-4.0, 2.0),
        "with_prompted": other, "all_pairs": other, "mean_square_difference": est((value or 0) * 30, 60.0),
        "agreement_difference": est(-(value or 0) * 1.5, 6.0), "with_marked": None, "uncalibrated": None,
        "variances": Variances(est(30.0, 18.0), est(62.0, 22.0), est(140.0, 40.0)),
        "right_and_present": {a: Present(est(82.0, 5.0), est(85.0, 5.0)), b: Present(est(78.0, 5.0), est(79.0, 5.0))},
        "next_ratio": est(0.7, 0.3, 2, about="next_sensor"),
        "chance_next_closer": ChanceNext(None, None, None, "under-3-wears"), "to_settle": None,
        "between_sensors": BetweenSensors(est(-6.5, 1.1, 5200), tuple((0,) * 5 for _ in range(5))),
    }  # fmt: skip
    return HeadToHead(**{**given, **more})


def primary(trial: Trial, **more: Any) -> Primary:
    """The primary question, declared before the first reading."""
    names = tuple(sensor.name for sensor in trial.sensors[:2])
    given: dict[str, Any] = {
        "metric": "mad", "pair": names if len(names) == 2 else None, "pairs": "steady", "sticks": ("plan", "habit"),
        "stream": "kept", "margin": 3.0, "tolerance": "20/20", "waking": ("07:00", "23:00"), "standing": "declared",
        "declared": Declaration("2026-03-01T20:15:00+00:00", 1, 0, 1), "fingerprint": "a51c77e0" + "b" * 56,
        "looks": Looks(1, 1), "sealed_until": None, "opened": (), "deviations": (),
    }  # fmt: skip
    return Primary(**{**given, **more})


def wear_findings(trial: Trial) -> tuple[WearFindings, ...]:
    """The fate of every wear."""
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    number = {
        wear.id: count + 1 for sensor in trial.sensors for count, wear in enumerate(trial.wears_of(sensor.id))
    }
    rows = []
    for wear in trial.wears:
        assert wear.inserted is not None
        assert wear.removed is not None
        hours = (wear.removed.instant - wear.inserted.instant) / 3600
        rows.append(
            WearFindings(
                names[wear.sensor],
                number[wear.id],
                wear.inserted.iso,
                None,
                wear.removed.iso,
                wear.ending.value if wear.ending else None,  # type: ignore[arg-type]
                number.get(wear.replaces or ""),
                wear.lot,
                hours,
                hours - 3,
                (),
            )
        )
    return tuple(rows)


def base(trial: Trial, heads: tuple[HeadToHead, ...], **more: Any) -> Findings:
    """A whole judgement of a trial."""
    mads = (9.8, 14.6, 12.0)
    reasons = {"plan": 104, "habit": 20, "prompted": 15, "calibration": 1, "unknown": 0}
    sticks = trial.sticks
    given: dict[str, Any] = {
        "evenhand": "0.1.0", "contract": 1, "method": 1, "edition": trial.edition, "trial": trial.header.name,
        "span": (sticks[0].at.iso, sticks[-1].at.iso), "zone": ZONE, "unit": "mg/dL", "sealed": False,
        "primary": primary(trial),
        "meter": MeterFindings(140, reasons, 10, est(4.1, 1.2, 10), (), (LotSticks("L9", 140),)),
        "wears": wear_findings(trial),
        "sensors": tuple(sensor_findings(trial, place, mads[place]) for place in range(len(trial.sensors))),
        "head_to_head": heads, "reconstruction": None, "must_haves": (), "safety": (),
        "cautions": (
            Caution("meter-span-narrow", "meter", "A meter that reads a few percent high or low, as meters do, could turn this answer."),
            Caution("one-lot", "Slate", "All of Slate's sensors came from one lot; what is said of the next one is said of this lot."),
        ),
    }  # fmt: skip
    return Findings(**{**given, **more})


def scenario(name: str) -> tuple[Findings, Trial]:
    """The findings and the trial of one of `SCENARIOS`."""
    builders = {"three": _three, "one": _one, "sealed": _sealed, "too-few": _too_few}
    if name in builders:
        return builders[name]()
    trial = make_trial(unit=Unit.MMOL_L if name == "mmol" else Unit.MG_DL)
    four = ChanceNext("Fern", 0.78, (0.72, 0.83), None)
    cases: dict[str, HeadToHead] = {
        "closer": head("Fern", "Slate", est(-5.6, 2.1), Answer("closer", "Fern", "yes"), chance_next_closer=four),
        "closer-open": head("Fern", "Slate", est(3.4, 2.6), Answer("closer", "Slate", "open")),
        "equal": head("Fern", "Slate", est(0.3, 1.6), Answer("equal", None, "no")),
        "equal-but-closer": head("Fern", "Slate", est(-1.4, 1.2), Answer("equal", "Fern", "no")),
        "not-settled": head(
            "Fern", "Slate", est(-1.9, 3.1), Answer("not settled", None, None), to_settle=ToSettle("sticks", 110),
            meter_span_percent=(None, None), all_pairs=est(0.7, 2.9, 126),
            uncalibrated=AnsweredDifference(est(-1.2, 3.9, 60), Answer("not settled", None, None)),
        ),
        "mmol": head("Fern", "Slate", est(-5.6, 2.1), Answer("closer", "Fern", "yes")),
    }  # fmt: skip
    findings = base(trial, (cases[name],))
    if name == "closer-open":
        opened = primary(trial, standing="explored", opened=(Opened("2026-03-11T09:00:00+00:00", 9),))
        findings = structs.replace(findings, primary=opened)
    return findings, trial


def _three() -> tuple[Findings, Trial]:
    trial = make_trial(sensors=3, days=16)
    answers = (
        Answer("closer", "Fern", "open"),
        Answer("not settled", None, None),
        Answer("not settled", None, None),
    )
    names = [sensor.name for sensor in trial.sensors]
    heads = tuple(
        head(a, b, est(value, 3.0, level=0.983), answer)
        for (a, b), value, answer in zip(
            itertools.combinations(names, 2), (-4.1, -1.0, 2.2), answers, strict=True
        )
    )
    asked = primary(trial, pair=None, standing="undeclared", declared=None, fingerprint=None)
    return base(trial, heads, primary=asked), trial


def _one() -> tuple[Findings, Trial]:
    trial = make_trial(sensors=1, days=9)
    return base(trial, ()), trial


def _sealed() -> tuple[Findings, Trial]:
    trial = make_trial(days=6)
    found = base(trial, ())
    closed = dict.fromkeys(
        ("accuracy", "phases", "days", "wear_by_wear", "levels", "zones", "against_reconstruction", "strays",
         "lag_minutes", "pressure_lows", "calibrations", "alarms", "ranges")
    )  # fmt: skip
    sensors = tuple(structs.replace(sensor, **closed) for sensor in found.sensors)
    asked = primary(trial, sealed_until=SealedUntil("2026-03-22T08:00:00+00:00", None), looks=Looks(1, 0))
    line = SafetyLine("2026-03-04T13:10:00+00:00", "Slate", 104.0, 61.0, "in-range-at-low")
    return structs.replace(found, sealed=True, sensors=sensors, primary=asked, safety=(line,)), trial


def _too_few() -> tuple[Findings, Trial]:
    trial = make_trial(days=3, a_day=3)
    nothing = head(
        "Fern", "Slate", MISSING, Answer("not settled", None, None), pairs=7, days=3, k=None,
        meter_span_percent=(None, None), agreement_difference=MISSING, mean_square_difference=MISSING,
        with_prompted=MISSING, variances=Variances(MISSING, MISSING, MISSING), next_ratio=MISSING,
        right_and_present={"Fern": Present(MISSING, MISSING), "Slate": Present(MISSING, MISSING)},
        between_sensors=BetweenSensors(MISSING, tuple((0,) * 5 for _ in range(5))), to_settle=ToSettle("days", 12),
    )  # fmt: skip
    sensors = tuple(sensor_findings(trial, place, 10.0, missing=True) for place in range(2))
    meter = MeterFindings(9, {"plan": 9}, 0, None, (), ())
    found = base(trial, (nothing,), sensors=sensors, meter=meter, cautions=())
    asked = primary(trial, standing="undeclared", declared=None, fingerprint=None)
    return structs.replace(found, primary=asked), trial

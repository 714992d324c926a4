"""One invented trial with its reconstruction: what was said of blood between the sticks, and what was true."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evenhand.clock import MINUTE
from evenhand.compare.accuracy import gauge
from evenhand.compare.against import Held, against, against_without, held
from evenhand.compare.alarms import Setting, acted_on, rehearsed, treated
from evenhand.compare.alarms_between import between
from evenhand.compare.hours import night
from evenhand.compare.layout import lay_out
from evenhand.compare.local import local
from evenhand.compare.parted import partings
from evenhand.compare.shapes import Layout
from evenhand.compare.splits import whole
from evenhand.compare.strayed import Strayed, strayed
from evenhand.findings.parts import AgainstReconstruction
from evenhand.reconstruct.data import Pricks
from evenhand.reconstruct.fit import fit
from evenhand.reconstruct.model import solve
from evenhand.reconstruct.path import BloodPath
from evenhand.reconstruct.priors import METER
from evenhand.reconstruct.problem import problem_of
from evenhand.reconstruct.reconstruct import Reconstruction, Refused, prepared, reconstruct
from evenhand.reconstruct.scale import CENTRE, even, mg_dl
from evenhand.reconstruct.sticks import blood_at
from evenhand.rehearse.invent import invent
from evenhand.rehearse.truth import Invented
from evenhand.rehearse.world import World
from evenhand.stats.estimate import Est

TOLERANCE, LEVEL = 20.0, 70.0
LONG = 60 * MINUTE
"""A true stray of at least this long should be found."""
Floats = NDArray[np.float64]
Value = float | int | str | None
Row = dict[str, Value]


@dataclass(frozen=True, slots=True)
class Part:
    """One sensor in the measuring: its place, its readings, true blood at them."""

    place: int
    own: Held
    blood: Floats


def measure(world: World, seed: int, *, alone: bool = True, bound: bool = False) -> Row:
    """Everything the tables need of one trial, flat, for a line of JSON. `alone`: the fits without each sensor too;
    `bound`: the same smoother at the truth's own parameters too."""
    made = invent(world, seed)
    began = time.process_time()
    found = reconstruct(made.trial)
    row: Row = {"seed": seed, "seconds": time.process_time() - began}
    if isinstance(found, Refused):
        return row | {"refused": found.code}
    layout = lay_out(made.trial)
    row |= _line(made, found.path) | _said(world, found) | _pressure(made, found)
    parts = [_part(made, layout, found.path, place) for place in range(len(made.trial.sensors))]
    for part in parts:
        row |= _errors(layout, part, found)
        row |= _strays(layout, part, found.path)
        row |= _alarms(made, layout, part, found.path)
    if len(parts) > 1:
        row |= _difference(parts, found.path) | _parted(parts, found.path)
        if alone:
            row |= _without(made, parts, found)
    if bound:
        row |= _bound(made, found)
    return row


def _part(made: Invented, layout: Layout, path: BloodPath, place: int) -> Part:
    trial = made.trial
    own = held(layout, place, path, lambda at: night(trial.question, local(trial.zones, at)))
    return Part(place, own, made.truth.blood_at(own.at))


def _line(made: Invented, path: BloodPath) -> Row:
    """Distance of the line to true blood, of each sensor, and how much of the truth the bands hold."""
    inside = path.at <= made.truth.at[-1]
    blood = made.truth.blood_at(path.at.astype(np.int64))
    row: Row = {"distance": float(np.abs(path.mg_dl - blood)[inside].mean())}
    for share in (0.5, 0.9):
        low, high = path.band(share)
        row[f"band_{round(100 * share)}"] = float(((blood >= low) & (blood <= high))[inside].mean())
    below = (path.draws < float(even(LEVEL))).mean(axis=0)[inside]
    row |= {"low_told": float(below.mean()), "low_true": float((blood < LEVEL)[inside].mean())}
    return row


def _said(world: World, found: Reconstruction) -> Row:
    return {
        "trusted": int(found.trusted), "why": " ".join(found.why_not), "cautions": " ".join(found.cautions),
        "lag_value": found.lag.value, "lag_low": found.lag.low, "lag_high": found.lag.high, "lag_true": world.lag,
        "meter": found.meter.value, "sticks": found.sticks, "dropped": len(found.dropped),
        "held_50": found.held_out.share[0], "held_90": found.held_out.share[1], "steps": found.fit.steps,
        "masked": len(found.pressure),
    }  # fmt: skip


def _pressure(made: Invented, found: Reconstruction) -> Row:
    """Pressure lows proposed and how many overlap a true one; true ones and how many of them were proposed."""
    row: Row = {"pressure_told": 0, "pressure_right": 0, "pressure_true": 0, "pressure_found": 0}
    start = made.truth.grid.start
    for sensor, truth in zip(made.trial.sensors, made.truth.sensors, strict=True):
        told = [(low.start, low.end) for low in found.pressure if low.sensor == sensor.id]
        true = [
            (start + MINUTE * first, start + MINUTE * after)
            for wear in truth.wears
            for first, after in wear.pressure
        ]
        for name, these, others in (("told", told, true), ("true", true, told)):
            row[f"pressure_{name}"] = int(row[f"pressure_{name}"] or 0) + len(these)
            hit = sum(any(a <= d and b >= c for c, d in others) for a, b in these)
            key = "pressure_right" if name == "told" else "pressure_found"
            row[key] = int(row[key] or 0) + hit
    return row


def _estimate(name: str, est: Est, true: float | None) -> Row:
    return {
        f"{name}_value": est.value,
        f"{name}_low": est.low,
        f"{name}_high": est.high,
        f"{name}_true": true,
    }


def _true(part: Part, chosen: NDArray[np.bool_]) -> dict[str, float | None]:
    """The truth of the four numbers over the chosen readings."""
    if not chosen.any():
        return dict.fromkeys(("bias", "mad", "mard", "outside_percent"))
    error = (part.own.mg_dl - part.blood)[chosen]
    blood = part.blood[chosen]
    out = np.abs(error) > np.where(blood < 100.0, TOLERANCE, TOLERANCE / 100 * blood)
    return {
        "bias": float(error.mean()), "mad": float(np.abs(error).mean()),
        "mard": float((np.abs(error) / blood).mean() * 100), "outside_percent": float(out.mean() * 100),
    }  # fmt: skip


def _named(name: str, told: AgainstReconstruction, true: dict[str, float | None]) -> Row:
    row: Row = {}
    for what, value in true.items():
        row |= _estimate(f"{name}_{what}", getattr(told, what), value)
    return row


def _errors(layout: Layout, part: Part, found: Reconstruction) -> Row:
    masks = part.own.parts()
    told = against(part.own, found.path, TOLERANCE, list(masks.values()))
    row: Row = {}
    for name, one in zip(masks, told, strict=True):
        row |= _named(f"s{part.place}_{name}", one, _true(part, masks[name]))
    of = gauge(layout, part.place)
    sticks = of.accuracy(whole(layout, (part.place,), "all", layout.pairs.judging))
    row[f"s{part.place}_sticks_mad"] = sticks.mad.value
    row[f"s{part.place}_sticks_low"], row[f"s{part.place}_sticks_high"] = sticks.mad.low, sticks.mad.high
    row[f"s{part.place}_sticks_outside"] = (
        None if sticks.within["20/20"].value is None else 100 - sticks.within["20/20"].value
    )
    return row


def _strays(layout: Layout, part: Part, path: BloodPath) -> Row:
    """Told strays and how many of them truly were; true ones of at least an hour and how many of them were found."""
    told, line = strayed(layout, part.own, path, TOLERANCE)
    blood, own = part.blood, part.own
    out = np.abs(own.mg_dl - blood) > np.where(blood < 100.0, TOLERANCE, TOLERANCE / 100 * blood)
    truly = [_share(own, out, one) for one in told]
    true = _true_strays(own, out)
    found = [any(one.start <= last and (one.end or last) >= first for one in told) for first, last in true]
    state = {"held": 0.0, "unproven": 0.0, "strayed": 0.0}
    wrong = 0.0
    for one in line:
        inside = (own.at >= one.start) & (own.at < one.end)
        state[one.state] += float(inside.sum())
        wrong += float((inside & out).sum()) if one.state == "held" else 0.0
    name = f"s{part.place}"
    return {
        f"{name}_strays": len(told), f"{name}_strays_right": sum(share > 0.5 for share in truly),
        f"{name}_strays_chance": float(sum(one.chance for one in told)), f"{name}_strays_true": len(true),
        f"{name}_strays_found": sum(found), f"{name}_held": state["held"], f"{name}_held_out": wrong,
        f"{name}_unproven": state["unproven"], f"{name}_strayed": state["strayed"], f"{name}_readings": len(own),
    }  # fmt: skip


def _share(own: Held, out: NDArray[np.bool_], one: Strayed) -> float:
    inside = (own.at >= one.start) & (own.at < (one.end or own.at[-1] + 1))
    return float(out[inside].mean()) if inside.any() else 0.0


def _true_strays(own: Held, out: NDArray[np.bool_]) -> list[tuple[int, int]]:
    edge = np.diff(np.concatenate(([False], out, [False])).astype(np.int8))
    first, last = np.flatnonzero(edge == 1), np.flatnonzero(edge == -1) - 1
    spans = zip(own.at[first].tolist(), own.at[last].tolist(), strict=True)
    return [(a, b) for a, b in spans if b - a >= LONG]


def _alarms(made: Invented, layout: Layout, part: Part, path: BloodPath) -> Row:
    """Rehearsed low alarms: chance told and what was true; lows announced and minutes of warning, told and true."""
    trial, own = made.trial, part.own
    sounded = rehearsed(layout.used[part.place], Setting())
    at_night = night(trial.question, local(trial.zones, sounded.at))
    told = between(sounded, own, path, LEVEL, acted_on(sounded, treated(trial)), (at_night, 1.0))
    truth = _truth_path(made, path)
    truly = between(sounded, own, truth, LEVEL, np.zeros(len(sounded), np.bool_), (at_night, 1.0))
    name = f"s{part.place}_alarm"
    row: Row = {
        f"{name}s": len(sounded), f"{name}_told": float(told.chance.sum()),
        f"{name}_true": float(truly.chance.sum()),
        f"{name}_sure": int((told.chance > 0.9).sum()),
        f"{name}_sure_true": float(truly.chance[told.chance > 0.9].sum()),
        f"{name}_false_sure": int((told.chance < 0.1).sum()),
        f"{name}_false_sure_true": float(truly.chance[told.chance < 0.1].sum()),
    }  # fmt: skip
    for what in ("detection", "warning", "lows", "false_per_night", "true_rate"):
        row |= _estimate(f"s{part.place}_{what}", getattr(told, what), getattr(truly, what).value)
    return row


def _truth_path(made: Invented, path: BloodPath) -> BloodPath:
    """True blood as a path of one draw."""
    blood = even(made.truth.blood_at(path.at.astype(np.int64)))
    return BloodPath(path.at, blood, np.zeros(blood.size), blood[None, :])


def _difference(parts: list[Part], path: BloodPath) -> Row:
    """The difference of the first two sensors' MADs at the first one's readings with one of the second's near."""
    first, second = parts[0], parts[1]
    place = np.clip(np.searchsorted(second.own.at, first.own.at), 0, len(second.own) - 1)
    near = np.abs(second.own.at[place] - first.own.at) <= 450
    at, a, b = first.own.at[near].astype(np.float64), first.own.mg_dl[near], second.own.mg_dl[place[near]]
    told = path.mean_of(at, lambda blood: np.abs(a - blood) - np.abs(b - blood))
    blood = first.blood[near]
    true = float((np.abs(a - blood) - np.abs(b - blood)).mean())
    return _estimate("difference", Est(told.value, told.low, told.high), true)


def _parted(parts: list[Part], path: BloodPath) -> Row:
    """Partings at which a sensor was named as right, and how many of them it truly was."""
    told = partings(tuple(part.own for part in parts), path, TOLERANCE)
    named = [one for one in told if one.right is not None]
    right = 0
    for one in named:
        sizes = []
        for part in parts:
            inside = (part.own.at >= one.start) & (part.own.at <= one.end)
            error = np.abs(part.own.mg_dl - part.blood)[inside]
            sizes.append(float(error.mean()) if error.size else np.inf)
        right += int(np.argmin(sizes) == one.right)
    return {
        "parted": len(told),
        "parted_named": len(named),
        "parted_right": right,
        "parted_chance": float(sum(one.chance for one in named)),
    }


def _without(made: Invented, parts: list[Part], found: Reconstruction) -> Row:
    """Each sensor against the reconstruction built without it."""
    row: Row = {}
    began = time.process_time()
    for part in parts:
        other = reconstruct(made.trial, without=made.trial.sensors[part.place].id, start=found.start)
        if isinstance(other, Refused):
            continue
        inside = (part.own.at >= other.path.at[0]) & (part.own.at <= other.path.at[-1])
        told = against_without(_cut(part.own, inside), other.path, TOLERANCE)
        row |= _named(f"s{part.place}_without", told, _true(part, inside))
    return row | {"seconds_without": time.process_time() - began}


def _cut(own: Held, kept: NDArray[np.bool_]) -> Held:
    return Held(own.at[kept], own.mg_dl[kept], own.wear[kept], own.night[kept], own.age[kept], own.left[kept])


def _bound(made: Invented, found: Reconstruction) -> Row:
    """Distance of the same smoother to blood where its parameters are the truth's best: those that fit best when true
    blood stands in the place of the sticks (the meter's scatter stays that of the fit)."""
    begun = prepared(made.trial)
    assert not isinstance(begun, Refused)
    kept, _, pricks = begun
    at = np.arange(kept[0].at[0], min(kept[0].at[-1], made.truth.at[-1]), 10 * MINUTE)
    blood = even(made.truth.blood_at(at.astype(np.int64)))
    exact = Pricks(at, blood, np.full(at.size, 400.0), np.zeros(at.size, np.int64), ((),) * at.size)
    best = fit(problem_of(kept, exact), found.fit.solved.u, lambda _share: None).solved.u.copy()
    best[METER] = found.fit.solved.u[METER]
    problem = replace(problem_of(kept, pricks)).using(found.fit.solved.problem.told.used)
    solved = solve(problem, best)
    mean, _ = blood_at(solved, problem.grid.minutes(found.path.at))
    inside = found.path.at <= made.truth.at[-1]
    true = made.truth.blood_at(found.path.at.astype(np.int64))
    return {"bound": float(np.abs(mg_dl(mean + CENTRE) - true)[inside].mean())}

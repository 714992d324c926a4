"""The evidence of a clock that looks off: the agreement as the clock is moved, and one day as written and as corrected."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from evenhand.charts.frame import Across, Frame
from evenhand.charts.look import Size
from evenhand.charts.scale import ticks
from evenhand.charts.strip import ground, line
from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.intake.ask import Profile, Suggested
from evenhand.intake.instants import where
from evenhand.intake.proposal import Proposal
from evenhand.intake.shifts import apply, parse
from evenhand.records.readings import Readings
from evenhand.records.trial import Trial
from evenhand.say.dates import day
from evenhand.say.numbers import minus
from evenhand.units import from_mg_dl

Floats = NDArray[np.float64]
_SIDES: dict[bool, tuple[Across, int]] = {True: ("left", 1), False: ("right", -1)}
PROFILE, DAYS = 12.0, 8.0
"""Heights of the profile and of each of the two days, in small texts."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """The proposal drawn; the readings of its sensor as written and as corrected, the others', and the day shown (from, to); the
    day is None where there is nothing to compare with."""

    suggested: Suggested
    written: list[Readings]
    corrected: list[Readings]
    others: dict[str, list[Readings]]
    day: tuple[int, int] | None

    @property
    def said(self) -> str:
        """The numbers, for those who do not see the picture."""
        told = self.suggested.evidence
        return f"{told[:1].upper()}{told[1:]}; accepted with {self.suggested.set}"


def gather(
    proposal: Proposal, new: dict[str, list[Readings]], held: dict[str, list[Readings]], trial: Trial
) -> Evidence | None:
    """The evidence of the first proposal; None where there is none to draw."""
    if not proposal.proposals:
        return None
    suggested = proposal.proposals[0]
    sensor = suggested.sensor or (next(iter(new)) if len(new) == 1 else None)
    written = new.get(sensor, []) if sensor is not None else []
    corrected = [_corrected(part, suggested, trial) for part in written]
    others = {
        one: parts
        for one in held | new
        if one != sensor
        for parts in [[*held.get(one, []), *new.get(one, [])]]
    }
    return Evidence(suggested, written, corrected, others, _day(written, corrected, others))


def _corrected(part: Readings, suggested: Suggested, trial: Trial) -> Readings:
    """The readings as they would stand once the proposal is accepted."""
    key, _, value = suggested.set.partition("=")
    wall = part.instant + part.offset
    if key == "shift":
        moved = apply(wall, np.ones(wall.size, np.bool_), parse(value)) - wall
    elif key == "zone":
        fixed = where(value, trial.zones).fixed
        moved = part.offset.astype(np.int64) - (fixed or 0)
    else:
        moved = np.zeros(wall.size, np.int64)
    return replace(part, instant=part.instant + moved)


def _day(
    written: list[Readings], corrected: list[Readings], others: dict[str, list[Readings]]
) -> tuple[int, int] | None:
    """The middle one of the days on which the correction moves readings beside which another sensor has some."""
    moved = [new.instant[new.instant != old.instant] for old, new in zip(written, corrected, strict=True)]
    if not moved or not sum(part.size for part in moved):
        return None
    beside = np.concatenate(
        [np.empty(0, np.int64), *(one.instant for parts in others.values() for one in parts)]
    )
    days = np.intersect1d(np.concatenate(moved) // DAY, beside // DAY)
    if not days.size:
        return None
    start = int(days[days.size // 2]) * DAY
    return start, start + DAY


def height(evidence: Evidence | None, size: Size) -> float:
    """The room the evidence needs, px."""
    if evidence is None:
        return 0.0
    profile = PROFILE + 0.6 if evidence.suggested.profile is not None else 0.0
    return size.small * (profile + (2 * (DAYS + 1.4) if evidence.day is not None else 0.0))


def draw(frame: Frame, y: float, evidence: Evidence | None, trial: Trial) -> None:
    """The profile, then the two days, from `y` px on."""
    if evidence is None:
        return
    px = frame.size.small
    if evidence.suggested.profile is not None:
        _profile(frame, y, evidence.suggested.profile)
        y += (PROFILE + 0.6) * px
    if evidence.day is None:
        return
    shown = day(trial.zones.stamp(sum(evidence.day) // 2).iso, year=False)
    for title, parts in (
        (f"{shown}, as written", evidence.written),
        (f"{shown}, with {minus(evidence.suggested.set)}", evidence.corrected),
    ):
        frame.text(frame.edge, y, title, px=px, weight="Semibold")
        _one_day(frame, y + 1.6 * px, evidence, parts, trial)
        y += (DAYS + 1.4) * px


def _profile(frame: Frame, y: float, profile: Profile) -> None:
    """Agreement over the minutes the clock is moved by; as written and as proposed named at the line."""
    px, palette = frame.size.small, frame.palette
    what = "more is closer" if profile.unit == "correlation" else "less is closer"
    frame.text(
        frame.edge,
        y,
        f"How the two go together as this clock is moved: {profile.unit} ({what})",
        px=px,
        weight="Semibold",
    )
    left = 2.9 * px
    axes = frame.axes(frame.edge + left, y + 1.9 * px, frame.right - frame.edge - left, (PROFILE - 3.6) * px)
    moved = -np.array(profile.shifts, np.float64) / MINUTE
    heights = np.array(profile.heights, np.float64)
    there = np.isfinite(heights)
    low = min(0.0, float(heights[there].min()) * 1.15) if there.any() else 0.0
    high = float(heights[there].max()) * 1.12 if there.any() else 1.0
    if profile.unit == "correlation":
        high = 1.12
    axes.set(xlim=(moved.min(), moved.max()), ylim=(low, high))
    axes.set_gid("profile-ground")
    axes.plot([moved.min(), moved.max()], [0, 0], color=palette.rule, linewidth=frame.size.scale, zorder=1)
    axes.plot(moved, heights, color=palette.ink, linewidth=1.4 * frame.size.scale, zorder=3)[0].set_gid(
        "profile"
    )
    _marks(frame, axes, high, moved=moved, heights=heights, best=-profile.best / MINUTE)
    unit, size = ("d", 1440) if moved.max() - moved.min() > 4 * 1440 else ("h", 60)
    pixel = (moved.max() - moved.min()) / (frame.right - frame.edge - left)
    for whole in ticks(float(np.abs(moved).max()) / size, 6):
        for at in {whole, -whole}:
            if moved.min() <= at * size <= moved.max():
                told = minus(f"{at:+g} {unit}") if at else "0"
                frame.write(
                    axes,
                    at * size,
                    low - 0.3 * px * (high - low) / ((PROFILE - 3.6) * px),
                    told,
                    colour=palette.quiet,
                    va="top",
                )
    for value in (0.0, 0.5, 1.0) if profile.unit == "correlation" else ticks(high, 3):
        frame.write(axes, moved.min() - 5 * pixel, value, f"{value:g}", colour=palette.quiet, ha="right")


def _marks(frame: Frame, axes: Axes, high: float, *, moved: Floats, heights: Floats, best: float) -> None:
    """Upright strokes with words at no move and at the proposed one."""
    px, palette = frame.size.small, frame.palette
    pixel = float(moved.max() - moved.min()) / (frame.right - frame.edge - 2.9 * px)
    for at, told, colour in (
        (0.0, "as written", palette.quiet),
        (best, f"moved by {minus(f'{best:+.0f}')} min", palette.ink),
    ):
        if not moved.min() <= at <= moved.max():
            continue
        near = float(heights[int(np.argmin(np.abs(moved - at)))])
        axes.plot([at, at], [axes.get_ylim()[0], high], color=colour, linewidth=frame.size.scale, zorder=2)[
            0
        ].set_gid("mark")
        if at == best:
            side, sign = _SIDES[best > 0]
        else:
            side, sign = _SIDES[best <= 0]
        shown = f"{near:.2f}" if abs(near) < 2 else f"{near:.0f}"
        frame.write(axes, at + sign * 6 * pixel, high, f"{told}: {shown}", colour=colour, ha=side, va="top")


def _one_day(frame: Frame, y: float, evidence: Evidence, parts: list[Readings], trial: Trial) -> None:
    """A day of this sensor's readings over the others', with the hours at the foot."""
    assert evidence.day is not None
    px, (start, end) = frame.size.small, evidence.day
    left = 2.9 * px
    width = frame.right - frame.edge - left
    tall = (DAYS - 2.2) * px
    axes = frame.axes(frame.edge + left, y, width, tall)
    every = [*evidence.written, *(one for held in evidence.others.values() for one in held)]
    seen = [one.mg_dl[(one.instant >= start - DAY) & (one.instant < end + DAY)] for one in every]
    top = from_mg_dl(max([250.0, *(float(one.max()) for one in seen if one.size)]) * 1.06, trial.header.unit)
    axes.set(xlim=(start, end), ylim=(0, top))
    axes.set_gid("day")
    pixel = (end - start) / width
    ground(frame, axes, (start, end), trial, pixel=pixel, dates=False)
    places = {sensor.id: sensor.place for sensor in trial.sensors}
    for one, held in evidence.others.items():
        for part in held:
            line(frame, axes, part, trial, sensor=places[one], span=(start, end, pixel), pale=True)
    own = places[evidence.suggested.sensor or next(one for one in places if one not in evidence.others)]
    for part in parts:
        line(frame, axes, part, trial, sensor=own, span=(start, end, pixel), pale=False)
    for hour in range(0, 25, 6):
        at = start + hour * HOUR
        told = f"{trial.zones.stamp(at).wall:%H:%M}"
        across: Across = "left" if hour == 0 else "right" if hour == 24 else "center"
        frame.write(axes, at, -0.25 * px / tall * top, told, colour=frame.palette.quiet, va="top", ha=across)

"""What a file would add, drawn before it is taken in: its readings over those held, and the evidence of a clock that looks off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evenhand.charts import clock_evidence, keys, rows
from evenhand.charts.frame import Frame
from evenhand.charts.look import LIGHT, Palette, Size
from evenhand.charts.picture import Picture
from evenhand.charts.strip import PALE, ground, line
from evenhand.intake.proposal import Proposal
from evenhand.records.diary import Stick
from evenhand.records.readings import Readings
from evenhand.records.trial import Trial
from evenhand.say.numbers import counted, listed
from evenhand.units import from_mg_dl

PROPOSAL = Size("proposal", 1080, None, 16, 14, 24, titled=True)
"""A picture that stands alone, its title in the frame."""

EACH = 9.5
"""Height of a row of days in small texts."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """What is drawn: readings by sensor and sticks, new and held."""

    new: dict[str, list[Readings]]
    held: dict[str, list[Readings]]
    new_sticks: tuple[Stick, ...]
    held_sticks: tuple[Stick, ...]

    @property
    def instants(self) -> NDArray[np.int64]:
        """The instants of everything new, ascending; of everything held where nothing is new."""
        new = [part.instant for parts in self.new.values() for part in parts]
        new.append(np.array([stick.at.instant for stick in self.new_sticks], np.int64))
        found = np.concatenate(new)
        if not found.size:
            found = np.concatenate(
                [np.empty(0, np.int64), *(part.instant for parts in self.held.values() for part in parts)]
            )
        return np.sort(found)


def drawn(proposal: Proposal, trial: Trial) -> Drawn:
    """What a proposal brings, beside what the trial holds."""
    change = proposal.change
    new: dict[str, list[Readings]] = {}
    for batch in change.batches if change else ():
        new.setdefault(batch.sensor, []).append(batch.readings)
    held = {sensor: [part] for sensor, part in trial.readings.items() if len(part)}
    sticks = tuple(record for record in change.records if isinstance(record, Stick)) if change else ()
    return Drawn(new, held, sticks, trial.sticks)


def proposed(proposal: Proposal, trial: Trial, *, palette: Palette = LIGHT, size: Size = PROPOSAL) -> Picture:
    """The picture of `intake --picture`: the days the file covers, a week a row; under them, for a clock that looks off,
    how the agreement changes as it is moved, and a day before and after. Says of a file with nothing to draw that it has nothing."""
    shown = drawn(proposal, trial)
    title = _title(proposal, shown, trial)
    cut = _rows(shown, trial)
    evidence = clock_evidence.gather(proposal, shown.new, shown.held, trial)
    items = [
        item
        for item in keys.items(_all(shown, trial), palette)
        if item.place is not None or item.stick is not None
    ]
    lines = keys.arranged(items, size)
    head = len(lines) * 1.6 * size.small + 0.8 * size.small
    body = head + EACH * size.small * max(len(cut), 1) + clock_evidence.height(evidence, size)
    frame = Frame(size, palette, title, _caveat(proposal), body)
    keys.draw(frame, lines)
    for place, row in enumerate(cut):
        _row(
            frame,
            (frame.top + head + place * EACH * size.small, cut),
            row,
            shown,
            trial,
            top=_top(shown, trial),
        )
    clock_evidence.draw(frame, frame.top + head + EACH * size.small * max(len(cut), 1), evidence, trial)
    return Picture("proposal", frame.figure, title, _words(proposal, title, evidence), size)


def _all(shown: Drawn, trial: Trial) -> Trial:
    there = {sensor for parts in (shown.new, shown.held) for sensor in parts}
    sensors = tuple(sensor for sensor in trial.sensors if sensor.id in there)
    return replace(trial, sensors=sensors, sticks=(*shown.held_sticks, *shown.new_sticks))


def _title(proposal: Proposal, shown: Drawn, trial: Trial) -> str:
    if proposal.proposals:
        return proposal.proposals[0].text
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    told = [
        f"{counted(sum(map(len, parts)), 'reading')} of {names[sensor]}"
        for sensor, parts in shown.new.items()
    ]
    told += [counted(len(shown.new_sticks), "stick")] if shown.new_sticks else []
    return (
        f"{proposal.name} brings {listed(told)}." if told else f"{proposal.name} brings nothing that is new."
    )


def _caveat(proposal: Proposal) -> str:
    return (
        f"What was read of {proposal.name} before it is taken in: {proposal.kept} of {proposal.rows} rows new, times as written, "
        f"read in {proposal.zone}. Paler: held already. A picture of readings, no judgement of a sensor."
    )


def _rows(shown: Drawn, trial: Trial) -> list[rows.Row]:
    instants = shown.instants
    if not instants.size:
        return []
    at = (int(instants[0]), int(instants[-1]))
    holder = next(iter(trial.sensors))
    ends = np.array(at, np.int64)
    two = Readings(
        ends, np.zeros(2, np.int32), np.ones(2), np.zeros(2, np.bool_), np.zeros(2, np.int8), np.zeros(2, np.int32), ("1", "1")
    )  # fmt: skip
    only = replace(trial, readings={holder.id: two}, sticks=())
    return [row for row in rows.weeks(only) if _any(instants, row)]


def _any(instants: NDArray[np.int64], row: rows.Row) -> bool:
    low, high = np.searchsorted(instants, (row.start, row.end))
    return bool(high > low)


def _top(shown: Drawn, trial: Trial) -> float:
    """The top of the scale in the wearer's unit."""
    tops = [
        float(part.mg_dl.max())
        for parts in (*shown.new.values(), *shown.held.values())
        for part in parts
        if len(part)
    ]
    tops += [stick.glucose.mg_dl for stick in (*shown.held_sticks, *shown.new_sticks)]
    return from_mg_dl(max([250.0, *tops]) * 1.06, trial.header.unit)


def _row(
    frame: Frame,
    at: tuple[float, Sequence[rows.Row]],
    row: rows.Row,
    shown: Drawn,
    trial: Trial,
    *,
    top: float,
) -> None:
    """One row of days: held lines pale under the new ones, sticks over them."""
    size, (y, cut) = frame.size, at
    left = 2.9 * size.small
    width = frame.right - frame.edge - left
    longest = max(one.end - one.start for one in cut)
    axes = frame.axes(frame.edge + left, y + 0.4 * size.small, width, (EACH - 2.4) * size.small)
    axes.set(xlim=(row.start, row.start + longest), ylim=(0, top))
    axes.set_gid("row")
    pixel = longest / width
    ground(frame, axes, (row.start, row.end), trial, pixel=pixel, dates=True)
    for sensor in trial.sensors:
        for parts, pale in ((shown.held, True), (shown.new, False)):
            for part in parts.get(sensor.id, ()):
                line(
                    frame,
                    axes,
                    part,
                    trial,
                    sensor=sensor.place,
                    span=(row.start, row.end, pixel),
                    pale=pale,
                )
    for sticks, pale in ((shown.held_sticks, True), (shown.new_sticks, False)):
        for stick in sticks:
            if row.start <= stick.at.instant < row.end:
                look = keys.stick_look(keys.kind(stick), frame.palette, size)
                value = from_mg_dl(stick.glucose.mg_dl, trial.header.unit)
                axes.plot(
                    [stick.at.instant], [value], linestyle="none", zorder=5, alpha=PALE if pale else 1, **look
                )[0].set_gid("held-stick" if pale else "new-stick")


def _words(proposal: Proposal, title: str, evidence: clock_evidence.Evidence | None) -> str:
    parts = [
        f"{part.owner}: {part.kept} new, {part.doubled} held already"
        + (f", {part.first.iso} to {part.last.iso}" if part.first and part.last else "")
        for part in proposal.parts
    ]
    told = [title.rstrip("."), *parts]
    if evidence is not None:
        told.append(evidence.said)
    return ". ".join(told) + f". {_caveat(proposal)}"

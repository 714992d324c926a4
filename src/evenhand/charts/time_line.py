"""Each wear as a time line: where it held, strayed, or is unproven; and where the sensors parted and who was right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from matplotlib.axes import Axes

from evenhand.charts import rows
from evenhand.charts.frame import Frame
from evenhand.charts.look import LIGHT, MARKS, PAGE, Palette, Size
from evenhand.charts.night import instant
from evenhand.charts.picture import Picture
from evenhand.findings.findings import Findings, Parted
from evenhand.findings.parts import Stretch
from evenhand.records.trial import Trial
from evenhand.say import between
from evenhand.say.dates import day
from evenhand.say.proof import body
from evenhand.units import rounded

KEY = "thin: held; thick: strayed; dotted: unproven; gap: no readings"


@dataclass(frozen=True, slots=True)
class _Scene:
    """What every line is drawn with: frame, axes (x instants, y px from the top), the trial's first and last instant."""

    frame: Frame
    axes: Axes
    start: int
    end: int


def time_line(findings: Findings, trial: Trial, *, size: Size = PAGE, palette: Palette = LIGHT) -> Picture:
    """All wears of all sensors over the trial's days, a line a sensor; under them the partings."""
    px = size.small
    title = line_title(findings)
    whole = rows.extent(trial) or (0, 1)
    told = body(findings)
    sensors = [sensor for sensor in findings.sensors if sensor.against_reconstruction]
    height = (3.4 * len(sensors) + 8.6) * px
    caveat = f"{told[0].upper()}{told[1:]}. Out of tolerance with a probability above 50 % throughout and 90 % at its height: strayed; at most 10 %: held."
    frame = Frame(size, palette, title, caveat, height)
    frame.text(frame.edge, frame.top, KEY, px=px, colour=palette.quiet).set_gid("key")
    top = frame.top + 2.0 * px
    axes = frame.axes(frame.edge, top, frame.right - frame.edge, frame.bottom - top)
    axes.set(xlim=(whole[0], whole[1]), ylim=(frame.bottom - top, 0))
    scene = _Scene(frame, axes, *whole)
    places = {sensor.name: sensor.place for sensor in trial.sensors}
    room = (frame.bottom - top - 6.2 * px) / max(len(sensors), 1)
    for row, sensor in enumerate(sensors):
        assert sensor.against_reconstruction is not None
        y = row * room + 0.8 * px
        colour = palette.sensors[places[sensor.name]]
        frame.write(axes, whole[0], y, between.strays_line(sensor).rstrip("."), colour=colour, ha="left")
        for stretch in sensor.against_reconstruction.time_line:
            _stretch(scene, stretch, y + 1.5 * px, colour)
    _partings(scene, findings, places, frame.bottom - top - 5.0 * px)
    _days(scene, trial, frame.bottom - top - 1.4 * px)
    return Picture("time-line", frame.figure, title, line_words(findings), size)


def _stretch(scene: _Scene, stretch: Stretch, y: float, colour: str) -> None:
    """One stretch: its state by thickness and dots, never by hue alone."""
    px, scale = scene.frame.size.small, scene.frame.size.scale
    wide, style = {
        "held": (1.6 * scale, "-"),
        "strayed": (0.75 * px, "-"),
        "unproven": (1.6 * scale, (0, (1, 2))),
    }[stretch.state]
    ends = [instant(stretch.start), instant(stretch.end)]
    drawn = scene.axes.plot(
        ends, [y, y], color=colour, linewidth=wide, linestyle=style, solid_capstyle="butt"
    )[0]
    drawn.set_gid(stretch.state)


def _partings(scene: _Scene, findings: Findings, places: dict[str, int], y: float) -> None:
    """Where the sensors parted: the mark of the one that was right, a small hollow ring where none can be named."""
    frame, px = scene.frame, scene.frame.size.small
    told = between.trusted(findings)
    parted = told.parted if told else ()
    frame.write(scene.axes, scene.start, y, _parted_words(parted), colour=frame.palette.quiet, ha="left")
    for one in parted:
        at = (instant(one.start) + instant(one.end)) / 2
        named = one.right is not None
        colour = frame.palette.quiet if one.right is None else frame.palette.sensors[places[one.right]]
        marker = "o" if one.right is None else MARKS[places[one.right]]
        mark = scene.axes.plot(
            [at], [y + 1.5 * px], linestyle="none", marker=marker, markersize=0.5 * px, markeredgecolor=colour,
            markerfacecolor=colour if named else "none", clip_on=False,
        )[0]  # fmt: skip
        mark.set_gid("parted")


def _parted_words(parted: tuple[Parted, ...]) -> str:
    if not parted:
        return "The sensors never parted by more than the tolerance"
    return "Parted; the mark of the sensor nearer to blood, ring: not known"


def _days(scene: _Scene, trial: Trial, y: float) -> None:
    """Midnights as ticks, dates where there is room."""
    frame, px = scene.frame, scene.frame.size.small
    pixel = (scene.end - scene.start) / (frame.right - frame.edge)
    last = -1e18
    for at in rows.midnights(trial, scene.start, scene.end):
        scene.axes.plot(
            [at, at], [y - 0.9 * px, y - 0.5 * px], color=frame.palette.quiet, linewidth=frame.size.scale
        )
        text = day(trial.zones.stamp(at).iso, year=False)
        words = f"{text.split()[0]} {text.split()[1][:3]}"
        if at - last > 4.6 * px * pixel and scene.end - at > 3.4 * px * pixel:
            frame.write(scene.axes, at, y, words, colour=frame.palette.quiet, ha="left")
            last = at


def line_title(findings: Findings) -> str:
    """Which sensor held least, by the share of its time; else that they held alike."""
    shares = [(round(share), name) for name, share in _held(findings)]
    if not shares:
        return "Nothing can be said of the time between the sticks"
    least, name = min(shares)
    others = [one for one in shares if one[1] != name]
    if others and min(others)[0] == least:
        return f"The sensors held for {least} % of their time alike"
    beside = "".join(f", {other} for {share} %" for share, other in sorted(others, reverse=True))
    return f"{name} is shown to have held its tolerance for {least} % of its time{beside}"


def _held(findings: Findings) -> Iterator[tuple[str, float]]:
    for sensor in findings.sensors:
        if sensor.against_reconstruction and sensor.against_reconstruction.time_line:
            yield sensor.name, between.shares(sensor)["held"]


def line_words(findings: Findings) -> str:
    """The picture in words."""
    told = [
        f"{sensor.name}: held {rounded(share['held'])} %, strayed {rounded(share['strayed'], 1)} %, unproven {rounded(share['unproven'])} % of its time."
        for sensor in findings.sensors
        if sensor.against_reconstruction
        for share in (between.shares(sensor),)
    ]
    reconstruction = between.trusted(findings)
    parted = [between.parted_line(reconstruction)] if reconstruction and reconstruction.parted else []
    return " ".join((f"{line_title(findings)}.", *told, *parted, f"{body(findings)}."))

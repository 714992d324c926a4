"""The weeks of a plan: one row a week, a lane for each sensor and one for the drawn sticks."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from evenhand.charts import fonts
from evenhand.charts.frame import Frame
from evenhand.charts.look import LIGHT, LINES, MARKS, PAGE, Palette, Size
from evenhand.charts.picture import Picture
from evenhand.clock import DAY
from evenhand.records.plan import Drawn, PlannedWear
from evenhand.records.trial import Trial
from evenhand.say import weeks as said

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001


def weeks(trial: Trial, drawn: Drawn, *, size: Size = PAGE, palette: Palette = LIGHT) -> Picture:
    """Which sensor is worn and reads when, and when a stick was drawn, in the wearer's own days.

    A line is a wear: thin while it is inserted or warms up, thick while it reads. Hollow diamonds are sticks, doubled
    where they are pricked twice. Places are wall time where the wearer is: a row is always seven days of 24 h.
    """
    px = size.small
    first, last = _mondays(drawn)
    count = (last - first).days // 7 + 1
    lanes = len(trial.sensors) + 1
    key = fonts.wrapped(said.KEY, px, size.width - 3 * px)
    head, each = (3.2 + 1.35 * len(key)) * px, (1.9 * lanes + 2.2) * px
    title = said.title(trial, drawn)
    frame = Frame(size, palette, title, said.caveat(trial, drawn), head + count * each)
    _head(frame, trial, key)
    each = min((frame.bottom - frame.top - head) / count, 2.2 * each)
    left = max(fonts.width(f"{day}", px) for day in _labels(first, count)) + px
    for number in range(count):
        monday = first + timedelta(weeks=number)
        top = frame.top + head + number * each
        axes = frame.axes(frame.edge + left, top, frame.right - frame.edge - left, each - 0.6 * px)
        axes.set(xlim=(0, 7), ylim=(lanes, -0.6))
        _week(frame, axes, trial, drawn, monday)
        frame.text(frame.edge, top + 0.6 * px, _labels(first, count)[number], px=px, colour=palette.quiet)
    return Picture("weeks", frame.figure, title, said.alternative(trial, drawn), size)


def _wall(trial: Trial, instant: int) -> float:
    """Days of wall time since 1970-01-01 where the wearer is."""
    return (trial.zones.stamp(instant).wall - _EPOCH).total_seconds() / DAY


def _mondays(drawn: Drawn) -> tuple[date, date]:
    days = [wear.inserted.day for wear in drawn.wears] + [wear.removed.day for wear in drawn.wears]
    return tuple(day - timedelta(days=day.weekday()) for day in (min(days), max(days)))  # type: ignore[return-value]


def _labels(first: date, count: int) -> list[str]:
    found = [first + timedelta(weeks=number) for number in range(count)]
    return [f"{day.day} {day:%b}" for day in found]


def _head(frame: Frame, trial: Trial, key: list[str]) -> None:
    """Names with hue and mark, what thin and thick mean, and the days of the week."""
    px, palette = frame.size.small, frame.palette
    axes = frame.axes(frame.edge, frame.top, frame.right - frame.edge, 3 * px)
    axes.set(xlim=(0, frame.right - frame.edge), ylim=(3 * px, 0))
    x = 0.0
    for sensor in trial.sensors:
        colour = palette.sensors[sensor.place]
        axes.plot(
            [x, x + 2.4 * px],
            [0.7 * px] * 2,
            color=colour,
            linestyle=LINES[sensor.place],
            linewidth=2.4 * frame.size.scale,
        )
        axes.plot([x + 1.2 * px], [0.7 * px], MARKS[sensor.place], color=colour, markersize=0.55 * px)
        frame.write(axes, x + 3 * px, 0.7 * px, sensor.name, colour=colour, weight="Semibold", ha="left")
        x += fonts.width(sensor.name, px, "Semibold") + 4.6 * px
    axes.plot(
        [x + 0.5 * px],
        [0.7 * px],
        "D",
        mfc="none",
        mec=palette.ink,
        markersize=0.5 * px,
        mew=frame.size.scale,
    )
    frame.write(axes, x + 1.3 * px, 0.7 * px, "stick", ha="left")
    for row, text in enumerate(key):
        frame.text(frame.edge, frame.top + (1.7 + 1.35 * row) * px, text, px=px, colour=palette.quiet)


def _week(frame: Frame, axes: Axes, trial: Trial, drawn: Drawn, monday: date) -> None:
    px, palette, lanes = frame.size.small, frame.palette, len(trial.sensors)
    mark = min(0.42 * px, frame.size.width / 110)
    zero = (datetime(monday.year, monday.month, monday.day) - _EPOCH).total_seconds() / DAY  # noqa: DTZ001
    for day in range(7):
        if day % 2 == 0:
            box = Rectangle((day, -0.6), 1, lanes + 1.5, facecolor=palette.rule, alpha=0.28, linewidth=0)
            axes.add_patch(box)
        when = monday + timedelta(days=day)
        frame.write(
            axes,
            day + 0.03,
            -0.38,
            f"{WEEKDAYS[day]} {when.day}",
            px=0.86 * px,
            colour=palette.quiet,
            ha="left",
        )
    for sensor in trial.sensors:
        for wear in drawn.wears:
            if wear.sensor == sensor.id:
                _wear(frame, axes, trial, wear, (zero, float(sensor.place) + 0.6))
    for minute in drawn.minutes:
        x = _wall(trial, minute) - zero
        if 0 <= x < 7:
            twice = minute in drawn.repeats
            for shift in (-0.09, 0.09) if twice else (0.0,):
                axes.plot(
                    [x],
                    [lanes + 0.42 + shift],
                    "D",
                    mfc="none",
                    mec=palette.ink,
                    markersize=mark,
                    mew=0.8 * frame.size.scale,
                    gid="stick",
                )


def _wear(frame: Frame, axes: Axes, trial: Trial, wear: PlannedWear, at: tuple[float, float]) -> None:
    zero, y = at
    place = next(sensor.place for sensor in trial.sensors if sensor.id == wear.sensor)
    colour, scale, px = frame.palette.sensors[place], frame.size.scale, frame.size.small
    inserted, reads, removed = (
        _wall(trial, stamp.instant) - zero for stamp in (wear.inserted, wear.reads, wear.removed)
    )
    if removed < 0 or inserted > 7:
        return
    # A wear inserted early runs beside the one before it: it stands a little higher until it reads.
    lift = y - 0.22
    axes.plot(
        [max(inserted, 0), min(reads, 7)],
        [lift, lift],
        color=colour,
        linewidth=0.9 * scale,
        solid_capstyle="butt",
        gid=f"dark-{place}",
    )
    if removed > reads and removed > 0 and reads < 7:
        style = "solid" if place == 0 else LINES[place]
        axes.plot(
            [max(reads, 0), min(removed, 7)],
            [y, y],
            color=colour,
            linewidth=3.4 * scale,
            linestyle=style,
            dash_capstyle="butt",
            solid_capstyle="butt",
            gid=f"reads-{place}",
        )
    if 0 <= inserted < 7:
        axes.plot([inserted], [lift], MARKS[place], color=colour, markersize=0.62 * px, clip_on=False)
        late = inserted > 5.6
        frame.write(
            axes, inserted - 0.06 if late else inserted + 0.06, lift - 0.24, f"{wear.number}, {wear.side}", px=0.86 * px, colour=colour,
            ha="right" if late else "left",
        )  # fmt: skip
    if 0 <= removed < 7:
        axes.plot([removed, removed], [y - 0.14, y + 0.14], color=colour, linewidth=1.6 * scale)

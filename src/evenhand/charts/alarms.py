"""Low alarms by the probability that blood was low, along the trial; and lags as points with intervals."""

from __future__ import annotations

from collections.abc import Iterator

from evenhand.charts import rows
from evenhand.charts.frame import Frame
from evenhand.charts.look import LIGHT, MARKS, PAGE, Palette, Size
from evenhand.charts.night import instant
from evenhand.charts.picture import Picture
from evenhand.findings.findings import Findings
from evenhand.findings.parts import AlarmJudged
from evenhand.records.trial import Trial
from evenhand.say import between
from evenhand.say.dates import day
from evenhand.say.numbers import counted
from evenhand.say.proof import body
from evenhand.stats.estimate import Est
from evenhand.units import rounded


def judged(findings: Findings) -> Iterator[tuple[str, tuple[AlarmJudged, ...]]]:
    """Each sensor with its rehearsed alarms that have a probability."""
    for sensor in findings.sensors:
        counts = sensor.alarms.rehearsed if sensor.alarms else None
        yield sensor.name, tuple(one for one in (counts.each if counts else ()) if one.chance is not None)


def alarms_title(findings: Findings) -> str:
    """How many alarms of each sensor were probably false."""
    parts = []
    for name, each in judged(findings):
        if each:
            false = sum((one.chance or 0.0) < 0.5 for one in each)
            parts.append(f"{false} of {len(each)} of {name}")
    return f"Low alarms that were probably false: {', '.join(parts)}" if parts else "No low alarm to judge"


def alarms(findings: Findings, trial: Trial, *, size: Size = PAGE, palette: Palette = LIGHT) -> Picture:
    """Every rehearsed low alarm at its time, as high as blood was probably low; filled where a stick was taken near."""
    px, title, told = size.small, alarms_title(findings), body(findings)
    caveat = f"{told[0].upper()}{told[1:]}. Alarms as the readings kept would have given them. Filled: a stick within 15 min; it may say more."
    frame = Frame(size, palette, title, caveat, 17 * px)
    left, top = 5.6 * px, frame.top + 0.8 * px
    axes = frame.axes(frame.edge + left, top, frame.right - frame.edge - left, frame.bottom - top - 2.4 * px)
    whole = rows.extent(trial) or (0, 1)
    axes.set(xlim=(whole[0], whole[1]), ylim=(-0.06, 1.06))
    pixel = (whole[1] - whole[0]) / (frame.right - frame.edge - left)
    for share, words in ((0.0, "false"), (0.5, ""), (1.0, "true")):
        axes.plot(whole, [share, share], color=palette.rule, linewidth=frame.size.scale, zorder=1)
        label = f"{words} {round(100 * share)} %".strip()
        frame.write(axes, whole[0] - 0.5 * px * pixel, share, label, colour=palette.quiet, ha="right")
    places = {sensor.name: sensor.place for sensor in trial.sensors}
    for name, each in judged(findings):
        colour = palette.sensors[places[name]]
        for one in each:
            mark = axes.plot(
                [instant(one.at)], [one.chance or 0.0], linestyle="none", marker=MARKS[places[name]], markersize=0.62 * px,
                markeredgecolor=colour, markerfacecolor=colour if one.stick else palette.ground, clip_on=False, zorder=3,
            )[0]  # fmt: skip
            mark.set_gid(f"alarm-{name}")
    last = -1e18
    for at in rows.midnights(trial, *whole):
        if at - last > 4.6 * px * pixel and whole[1] - at > 3.4 * px * pixel:
            text = day(trial.zones.stamp(at).iso, year=False)
            frame.write(
                axes, at, -0.19, f"{text.split()[0]} {text.split()[1][:3]}", colour=palette.quiet, ha="left"
            )
            last = at
    return Picture("alarms", frame.figure, title, alarms_words(findings), size)


def alarms_words(findings: Findings) -> str:
    """The picture in words."""
    told = [
        between.alarm_line(sensor.name, sensor.alarms.rehearsed)
        for sensor in findings.sensors
        if sensor.alarms and sensor.alarms.rehearsed and sensor.alarms.rehearsed.sounded
    ]
    return " ".join((f"{alarms_title(findings)}.", *told, f"{body(findings)}."))


def lag_rows(findings: Findings) -> list[tuple[str, str | None, Est]]:
    """What is drawn of lags: words, whose they are (None: no one sensor's), the estimate; only what has a value."""
    found: list[tuple[str, str | None, Est]] = []
    told = between.trusted(findings)
    if told is not None:
        found.append(("all sensors behind blood, by the estimate between sticks", None, told.lag_minutes))
    for sensor in findings.sensors:
        if sensor.lag_minutes is not None:
            found.append(
                (f"{sensor.name} behind blood, by moving sticks", sensor.name, sensor.lag_minutes.to_blood)
            )
    for place, sensor in enumerate(findings.sensors):
        for other in findings.sensors[place + 1 :]:
            if sensor.lag_minutes and other.name in sensor.lag_minutes.to_sensor:
                est = sensor.lag_minutes.to_sensor[other.name]
                found.append((f"{sensor.name} behind {other.name}, by their traces", sensor.name, est))
    return [row for row in found if row[2].value is not None]


def lag_title(findings: Findings) -> str:
    """By how much the sensors trail blood."""
    told = between.trusted(findings)
    value = told.lag_minutes.value if told else None
    if value is None:
        given = lag_rows(findings)
        return (
            "By how many minutes the sensors trail" if given else "How far the sensors trail cannot be said"
        )
    return f"The sensors trail blood by about {counted(round(value), 'minute')}"


def lags(findings: Findings, trial: Trial, *, size: Size = PAGE, palette: Palette = LIGHT) -> Picture:
    """Lags in minutes with their 95 % intervals, zero marked."""
    px, title, told = size.small, lag_title(findings), body(findings)
    given = lag_rows(findings)
    frame = Frame(
        size,
        palette,
        title,
        f"{told[0].upper()}{told[1:]}. Lines: 95 % intervals.",
        (3.0 * max(len(given), 1) + 2.6) * px,
    )
    ends = [end for _, _, est in given for end in (est.value, est.low, est.high) if end is not None]
    low, high = min([0.0, *ends]) - 1.0, max([10.0, *ends]) + 1.0
    height = frame.bottom - frame.top - 2.2 * px
    axes = frame.axes(frame.edge, frame.top, frame.right - frame.edge, height)
    axes.set(xlim=(low, high), ylim=(height, 0))
    axes.plot([0, 0], [0, height], color=palette.quiet, linewidth=0.8 * size.scale)
    for tick in range(int(5 * -(-low // 5)), int(high) + 1, 5):
        words = f"{rounded(float(tick))} min" if tick == 0 else rounded(float(tick))
        frame.write(axes, tick, height + 1.1 * px, words.replace("-", "\N{MINUS SIGN}"), colour=palette.quiet)
    places = {sensor.name: sensor.place for sensor in trial.sensors}
    for row, (words, name, est) in enumerate(given):
        y = (row + 0.3) * height / max(len(given), 1)
        colour = palette.ink if name is None else palette.sensors[places[name]]
        frame.write(axes, low, y, words, colour=colour, ha="left")
        if est.low is not None and est.high is not None:
            axes.plot([est.low, est.high], [y + 1.3 * px] * 2, color=colour, linewidth=1.6 * size.scale)[
                0
            ].set_gid("interval")
        marker = "D" if name is None else MARKS[places[name]]
        axes.plot([est.value or 0.0], [y + 1.3 * px], marker, color=colour, markersize=0.6 * px)[0].set_gid(
            "lag"
        )
    said = " ".join(f"{words}: {_minutes(est)}." for words, _, est in given)
    return Picture("lags", frame.figure, title, f"{title}. {said} {body(findings)}.", size)


def _minutes(est: Est) -> str:
    value = rounded(est.value or 0.0, 1)
    ends = (
        ""
        if est.low is None or est.high is None
        else f" (95 %: {rounded(est.low, 1)} to {rounded(est.high, 1)})"
    )
    return f"{value} min{ends}".replace("-", "\N{MINUS SIGN}")

"""What is said of the time between the sticks: errors, strays, partings, alarms, lag. Only from a trusted estimate."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from evenhand.findings.findings import Findings, Reconstruction
from evenhand.findings.parts import AlarmCounts, SensorFindings, Stray
from evenhand.say import numbers
from evenhand.say.dates import moment
from evenhand.say.numbers import counted, listed
from evenhand.say.reasons import reason
from evenhand.stats.estimate import Est
from evenhand.units import Unit, rounded, shown_difference

HEADING = "Between the sticks"
WAY = {
    "alone": "came back alone",
    "calibration": "ended after a calibration",
    "wear": "lasted to the end of the wear",
}


def trusted(findings: Findings) -> Reconstruction | None:
    """The reconstruction, where there is one that is trusted."""
    told = findings.reconstruction
    return told if told is not None and told.trusted else None


def title(findings: Findings) -> str:
    """The finding: the longest stray, else that none was found; or why nothing is told."""
    told = findings.reconstruction
    if told is None:
        return "Blood glucose between the sticks was not asked for"
    if not told.trusted:
        return f"Between the sticks nothing is told: {reason(told.why)}"
    worst = longest(findings)
    if worst is None:
        return "No sensor is shown to have left its tolerance between the sticks"
    name, stray = worst
    return f"{name} strayed longest: {lasting(stray)} from {moment(stray.start)}, {WAY[stray.ending]}"


def longest(findings: Findings) -> tuple[str, Stray] | None:
    """The longest stray told from the reconstruction, and whose it is; the farther off of two as long."""
    found = [
        (_seconds(stray, findings), abs(stray.size), sensor.name, stray)
        for sensor in findings.sensors
        for stray in sensor.strays or ()
        if stray.source == "reconstruction"
    ]
    if not found:
        return None
    _, _, name, stray = max(found, key=lambda one: one[:3])
    return name, stray


def _seconds(stray: Stray, findings: Findings) -> float:
    end = stray.end or (findings.span[1] if findings.span else stray.start)
    return (datetime.fromisoformat(end) - datetime.fromisoformat(stray.start)).total_seconds()


def lasting(stray: Stray) -> str:
    """How long a stray lasted: '5 h 40 min', 'to the end of the wear' where it has no end."""
    if stray.end is None:
        return "until its wear ended"
    seconds = (datetime.fromisoformat(stray.end) - datetime.fromisoformat(stray.start)).total_seconds()
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def side(mg_dl: float, unit: Unit) -> str:
    """'48 mg/dL too high'.

    >>> side(-30.0, Unit.MG_DL)
    '30.0 mg/dL too low'
    """
    return f"{shown_difference(abs(mg_dl), unit)} {unit} too {'high' if mg_dl > 0 else 'low'}"


def chance(share: float) -> str:
    """A probability as it is said; never certain.

    >>> chance(0.975), chance(1.0), chance(0.003)
    ('98 %', 'over 99 %', 'under 1 %')
    """
    percent = 100 * share
    if percent > 99:
        return "over 99 %"
    return "under 1 %" if percent < 1 else f"{rounded(percent)} %"


def told_stray(name: str, stray: Stray, unit: Unit) -> str:
    """One stray in a sentence."""
    sure = "" if stray.chance is None else f", with a probability of {chance(stray.chance)}"
    lasted = "from then" if stray.end is None else f"for {lasting(stray)}"
    return f"From {moment(stray.start)} {name} read {side(stray.size, unit)} {lasted}, and {WAY[stray.ending]}{sure}."


def lines(findings: Findings, unit: Unit) -> tuple[str, ...]:
    """The sentences between the sticks, most telling first; none where the reconstruction is not trusted."""
    told = trusted(findings)
    if told is None:
        return ()
    found = [_errors(findings, unit)]
    worst = longest(findings)
    found += [told_stray(*worst, unit)] if worst else []
    found += [strays_line(sensor) for sensor in findings.sensors if sensor.strays]
    found += [parted_line(told)] if told.parted else []
    found += [
        alarm_line(sensor.name, sensor.alarms.rehearsed)
        for sensor in findings.sensors
        if sensor.alarms and sensor.alarms.rehearsed and sensor.alarms.rehearsed.sounded
    ]
    return (*found, _lag(told, unit))


def _errors(findings: Findings, unit: Unit) -> str:
    parts = [
        f"{sensor.name} was off by {numbers.error(sensor.against_reconstruction.all.mad, unit)}"
        for sensor in findings.sensors
        if sensor.against_reconstruction
    ]
    return f"Against the best estimate of blood glucose between sticks (reconstruction), on average {listed(parts)}."


def strays_line(sensor: SensorFindings) -> str:
    """How often a sensor strayed, and how much of its time is known to have held."""
    strays = sensor.strays or ()
    share = shares(sensor)
    told = f"{sensor.name} strayed {counted(len(strays), 'time')}"
    return f"{told}; {rounded(share['held'])} % of its time held, {rounded(share['unproven'])} % is unproven."


def shares(sensor: SensorFindings) -> dict[str, float]:
    """Percent of a sensor's told time in each state."""
    total: Counter[str] = Counter(held=0, strayed=0, unproven=0)
    line = sensor.against_reconstruction.time_line if sensor.against_reconstruction else ()
    for part in line:
        start, end = datetime.fromisoformat(part.start), datetime.fromisoformat(part.end)
        total[part.state] += int((end - start).total_seconds())
    whole = max(sum(total.values()), 1)
    return {state: 100 * seconds / whole for state, seconds in total.items()}


def parted_line(told: Reconstruction) -> str:
    """How often the sensors parted, and who was nearer to blood."""
    right = Counter(one.right for one in told.parted if one.right is not None)
    often = f"The sensors parted by more than the tolerance {counted(len(told.parted), 'time')}"
    if not right:
        return f"{often}; for none of them can it be said which was nearer."
    each = listed(f"{name} {count}" for name, count in right.most_common())
    return f"{often}; nearer to blood was {each}, and for the rest it cannot be said."


def alarm_line(name: str, counts: AlarmCounts) -> str:
    """The rehearsed low alarms of a sensor: how many were true, how many false a night, and when they came."""
    sounded = f"{name} would have given {counted(counts.sounded, 'low alarm')}"
    rate = numbers.share(counts.true_rate_between)
    nightly = numbers.estimate(counts.false_per_night, lambda value: rounded(value, 2))
    warned = counts.minutes_of_warning
    return f"{sounded}: true {rate}; false a night {nightly}; {_warning(warned)}."


def _warning(est: Est) -> str:
    """When the alarms of true lows came.

    >>> _warning(Est(-5.8, -9.4, -1.5))
    'at true lows they came 6 min after blood had crossed the level (95 %: 9 to 2)'
    """
    if est.value is None or est.low is None or est.high is None:
        return "when they came at true lows cannot be said"
    if est.value < 0:
        after = f"{rounded(-est.value)} min after blood had crossed the level"
        clear = est.high <= 0
        ends = (
            f"{rounded(-est.low)} to {rounded(-est.high)}"
            if clear
            else f"{rounded(-est.low)} after to {rounded(est.high)} before"
        )
        return f"at true lows they came {after} (95 %: {ends})"
    clear = est.low >= 0
    ends = (
        f"{rounded(est.low)} to {rounded(est.high)}"
        if clear
        else f"{rounded(-est.low)} after to {rounded(est.high)} before"
    )
    return f"at true lows they came {rounded(est.value)} min before blood crossed the level (95 %: {ends})"


def _lag(told: Reconstruction, unit: Unit) -> str:
    lag = numbers.estimate(told.lag_minutes, lambda value: rounded(value, 1), "min")
    per = told.mad_per_minute_of_lag
    more = (
        ""
        if per is None
        else f"; one minute more of lag would change each average error by about {shown_difference(abs(per), unit)} {unit}"
    )
    return f"By this estimate the sensors trail blood by {lag}{more}."

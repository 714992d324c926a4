"""Every sentence about a plan."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from evenhand.clock import Stamp
from evenhand.plan.ahead import Next, Phase
from evenhand.plan.cheapest import MOST_WEARS, STICKS, Cheapest, Option
from evenhand.plan.checks import Note
from evenhand.plan.cost import Cost
from evenhand.records.plan import Chances, Drawn, PlannedWear, Tells
from evenhand.records.trial import Trial
from evenhand.say.blocks import Block
from evenhand.say.dates import hours, moment
from evenhand.say.numbers import counted, listed, margin
from evenhand.say.safety import CAUTIONS
from evenhand.units import Unit

SAFETY = (
    "Below 70 mg/dL (3.9 mmol/L) is a low, below 54 (3.0) a serious one: treat first, record later. Nobody goes low or high to fill a plan.",
    "Keep at least one sensor's alarm for serious lows on, and strips aside for symptoms: those come on top of the plan.",
    "No planned stick while driving or on a day you are ill. A sensor that drives a pump is not swapped without your care team.",
    CAUTIONS[-1],
)
NO_MODEL = {
    "one": "About the model: no. One wear cannot tell the kinds apart.",
    "two": "About the model: no. Two wears of two identical kinds point the same way half the time.",
    "more": "About the model: no. With three wears or more the chance that the next one is closer is told, as a range and never above 85 %.",
}
"""What a plan can tell of the next sensor out of the box."""
WHERE = "Invented trials: two sensors of one kind, wears, hours and sticks as planned, a usual meter. Your body and your sensors may differ from those invented."


def wears(trial: Trial, drawn: Drawn) -> Block:
    """Every planned wear, in order of insertion."""
    names = {sensor.id: sensor.name for sensor in trial.sensors}
    rows = tuple(
        (f"{names.get(wear.sensor, wear.sensor)} {wear.number}", _wear(wear)) for wear in drawn.wears
    )
    head = f"Wears, drawn with seed {drawn.seed}" + (f" (drawing {drawn.number})" if drawn.number > 1 else "")
    return Block("numbers", head, rows=rows)


def _wear(wear: PlannedWear) -> str:
    early = ""
    if wear.inserted.instant < wear.started.instant:
        early = f", started {moment(wear.started.iso)}"
    lot = f"; lot {wear.lot}" if wear.lot else ""
    until = f"; expires {wear.expires.isoformat()}" if wear.expires else ""
    worn = "worn" if wear.happened else "in"
    return f"{wear.side}: {worn} {moment(wear.inserted.iso)}{early}, reads from {wear.reads.wall:%H:%M}, off {moment(wear.removed.iso)}{lot}{until}"


def sticks(trial: Trial, drawn: Drawn, cost: Cost, lain: Sequence[Phase]) -> Block:
    """How many sticks, when, and how they lie in the phases."""
    days = {trial.zones.stamp(minute).day for minute in drawn.minutes}
    a_day = len(drawn.minutes) / max(1, len(days))
    line = (
        f"{counted(cost.pricks, 'stick')} at drawn minutes, about {a_day:.1f} a day, {cost.repeats} of them pricked twice: "
        f"{counted(cost.strips, 'strip')}. Nights stay with habit: only sticks you would take anyway. Lows and highs come by themselves or not at all."
    )
    rows = tuple(
        (sensor.name, ", ".join(_phase(one) for one in lain if one.sensor == sensor.name))
        for sensor in trial.sensors
    )
    return Block("numbers", "Sticks", (line,), rows)


_PHASES = {"first_24h": "first 24 h", "middle": "middle", "last_24h": "last 24 h"}


def _phase(one: Phase) -> str:
    return f"{_PHASES[one.name]} {one.sticks}{' (thin)' if one.thin else ''}"


def thin(lain: Iterable[Phase]) -> str | None:
    """Which phases the schedule leaves thin; from times alone."""
    found = [
        f"{_PHASES[one.name]} of {one.sensor} ({counted(one.sticks, 'stick')})" for one in lain if one.thin
    ]
    return f"Thin in this schedule: {listed(found)}." if found else None


def cost(found: Cost, money: float | None) -> str:
    """What the plan takes, in one sentence."""
    opened = listed(f"{many} {name}" for name, many in found.sensors.items())
    spares = f" ({counted(found.spares, 'spare')} among them)" if found.spares else ""
    if found.money is None:
        priced = f" What it costs is not known: no price for {listed(found.unpriced)}."
    else:
        priced = f" In all {found.money:.2f}" + (
            f" of the {money:.2f} there is." if money is not None else "."
        )
    return f"It takes {opened}{spares} and {counted(found.strips, 'strip')}.{priced}"


def tells(trial: Trial, found: Tells) -> Block:
    """What the plan can tell."""
    unit = trial.header.unit
    rows = tuple((_if(one, unit), _answers(one)) for one in found.rows)
    span = max(row.error for row in found.rows)
    line = (
        f"Chances of each answer about these wears, margin {margin(found.margin, unit)}, from {found.trials} invented trials a line "
        f"with about {found.pairs:.0f} common pairs each (every chance give or take {200 * span:.0f} points):"
    )
    return Block("numbers", "What this plan can tell", (line,), rows)


def _if(row: Chances, unit: Unit) -> str:
    if row.difference is None:
        return "two of one kind"
    return f"one closer by {margin(row.difference, unit)}" if row.difference else "equally close"


def _answers(row: Chances) -> str:
    named = f"closer {100 * row.closer:.0f} %"
    if row.difference == 0:
        named = f"one named by chance {100 * row.closer:.0f} %"
    elif row.beyond >= 0.005:
        named += f" (by more than the margin {100 * row.beyond:.0f} %)"
    wrong = f", the wrong one {100 * row.wrong:.1f} %" if row.difference and row.wrong >= 0.001 else ""
    return f"{named}{wrong}, equal {100 * row.equal:.0f} %, not settled {100 * row.unsettled:.0f} %"


def fewest(trial: Trial, drawn: Drawn) -> int:
    """The fewest wears that a sensor of the trial gets."""
    return min(sum(wear.sensor == sensor.id for wear in drawn.wears) for sensor in trial.sensors)


def about_model(fewest: int) -> str:
    """What the plan can tell of the kinds, by the fewest wears of a sensor."""
    return NO_MODEL["one" if fewest < 2 else "two" if fewest == 2 else "more"]


def minded(trial: Trial, found: Iterable[Note]) -> tuple[str, ...]:
    """What has to be minded, one sentence each."""
    return tuple(_note(trial, one) for one in found)


def _at(trial: Trial, instant: int) -> str:
    return moment(trial.zones.stamp(instant).iso)


def _note(trial: Trial, note: Note) -> str:
    start, end = (_at(trial, at) for at in note.span) if note.span else ("", "")
    name, number = note.sensor, note.number
    texts = {
        "nothing-reads-at-first": f"Nothing reads from {start} to {end}, the first warm-up, unless a sensor you wear already runs on: keep it on, or go by fingersticks.",
        "nothing-reads": f"Nothing reads from {start} to {end}: no alarm guards you then. Set an alarm clock and prick.",
        "both-in-warm-up": f"Two sensors warm up at once from {start} to {end}: set an alarm clock and prick.",
        "drives-pump": f"{name} drives a pump: do not change, swap or remove it for this plan without your care team.",
        "drives-wearer": f"You act on {name}: through its warm-ups, and on its first day, a fingerstick decides.",
        "too-short-to-count": f"{name} from {start} is worn {hours(number)} only. A wear needs sticks on three days, or nothing is settled: choose other days, or end with the wear before.",
        "early-costs": f"Inserting {name} early costs {hours(number)} of its rated life in all.",
        "life-unused": f"{hours(number)} of the rated life of {name} stay unused at its changes, so that they fall into your waking hours.",
        "warm-up-unknown": f"The warm-up of {name} is not known and counts as none: say it with --set {name}.warm_up=1h.",
        "counts-from-unknown": f"Whether the life of {name} counts from insertion or start is not known; insertion was assumed.",
        "exports-not-proved": f"That readings of {name} can be exported is not proved yet: try it before the first insertion.",
        "does-not-export": f"{name} lets no readings out: this trial cannot judge it.",
        "boxes-lacking": f"{counted(int(number), 'sensor')} of {name} more {'is' if number == 1 else 'are'} needed than you hold, spares included.",
        "boxes-expired": f"A sensor of {name} in the drawer expires before its turn.",
        "no-spare": f"No spare of {name} is planned; a sensor that fails early leaves its days empty.",
        "strips-limit": f"Your strips allow {number:.1f} sticks a day, spread evenly.",
        "over-money": f"It costs {number:.2f} more than the money you named.",
        "worn-unplanned": f"{name} was worn from {start}; the plan has no such wear.",
        "started-otherwise": f"{name} was started {start}, planned was {end}.",
        "ended-early": f"{name} came off {start}, planned was {end}.",
        "overdue": f"{name} was to start {start} and is not logged.",
    }
    return texts[note.code]


def upcoming(trial: Trial, found: Next, now: int) -> tuple[str, ...]:
    """What comes next."""
    if found.ill:
        return ("The diary says you are ill: no planned stick now. The plan goes on when you are well.",)
    lines = []
    if found.minute is None:
        lines.append("No planned stick lies ahead.")
    else:
        twice = ", pricked twice within five minutes (the second with --repeat)" if found.twice else ""
        when = "now: it was drawn for" if found.minute <= now else "is"
        lines.append(f"The next planned stick {when} {_at(trial, found.minute)}{twice}.")
    if found.change is not None:
        names = {sensor.id: sensor.name for sensor in trial.sensors}
        wear = found.change
        lines.append(
            f"Next change: {names.get(wear.sensor, '')} {wear.number}, {wear.side}, {_when(wear.inserted)}."
        )
    return tuple(lines)


def _when(stamp: Stamp) -> str:
    return moment(stamp.iso)


def cheapest(trial: Trial, found: Cheapest) -> tuple[str, ...]:
    """The cheapest plan that reaches a wished chance, or that none does."""
    unit = trial.header.unit
    asked = (
        f"an answer 'equal' where they are equally close, {100 * found.wished:.0f} % of the time"
        if found.difference == 0
        else f"naming the closer one {100 * found.wished:.0f} % of the time where it is closer by {margin(found.difference, unit)}"
    )
    if found.found is None:
        best = found.best
        return (
            f"No plan that was weighed reaches {asked}, up to {MOST_WEARS} wears of each and {max(STICKS)} sticks a day within the money named.",
            f"The best of them: {_option(best)}, about {100 * best.chance:.0f} % as worked out.",
        )
    option = found.found
    tried = f"{100 * option.chance:.0f} % in its own invented trials (give or take {200 * (option.error or 0):.0f} points)"
    wears = next(iter(option.trial.plan.wanted.sensors)).wears
    keys = " ".join(f"--set {sensor.name}.wears={wears}" for sensor in option.trial.sensors)
    return (
        f"The cheapest that reaches {asked}: {_option(option)}; {tried}.",
        f"To take it: evenhand plan --set days=any --set sticks={option.trial.plan.wanted.sticks} {keys}",
    )


def _option(option: Option) -> str:
    money = (
        f", {option.money:.2f} in all"
        if option.money is not None
        else " (prices not known; fewest sensors, then fewest strips)"
    )
    wears = next(iter(option.trial.plan.wanted.sensors)).wears or 0
    return (
        f"{counted(wears, 'wear')} of each over {counted(option.days, 'day')} with {option.trial.plan.wanted.sticks} sticks a day: "
        f"{counted(option.sensors, 'sensor')}, {counted(option.strips, 'strip')}{money}"
    )

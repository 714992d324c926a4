"""What became of every sensor opened: its line in the fate table, survival to rated life, gaps, cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.compare.ranges import expected_readings
from evenhand.compare.shapes import Layout, Worn
from evenhand.compare.wears import never_started
from evenhand.compare.worn_readings import Cover, WornReadings, cover, worn_readings
from evenhand.findings.findings import WearFindings
from evenhand.findings.parts import Cost, Gaps, Upkeep
from evenhand.records.diary import EventKind
from evenhand.records.sensors import CountsFrom, Ending, Sensor, Wear
from evenhand.records.trial import Trial
from evenhand.stats.estimate import Est
from evenhand.stats.survival import kaplan_meier, survival_at

FAILURES = (Ending.FAILED, Ending.NEVER_STARTED)

NEAR_LIFE = 12 * HOUR
"""A wear taken off as ended this shortly before its rated life counts as worn to it (this project's choice)."""

LEFT_BEHIND = 30 * MINUTE
"""An open 'away' note explains a gap that begins at most this long after it (this project's choice)."""

FALLBACK_STEP = 5 * MINUTE
"""The step assumed where a sensor has too few readings to tell (this project's choice)."""


@dataclass(frozen=True, slots=True)
class SensorUpkeep:
    """Everything about keeping one sensor going. `expected_readings` is None for an unknown step."""

    upkeep: Upkeep
    gaps: Gaps
    expected_readings: int | None


@dataclass(frozen=True, slots=True)
class _Opened:
    """One sensor taken out of its box: as worn (None: never started), as recorded (None: inferred)."""

    number: int
    worn: Worn | None
    wear: Wear | None
    covered: Cover

    @property
    def ending(self) -> Ending | None:
        return self.wear.ending if self.wear else None

    @property
    def failed(self) -> bool:
        return self.ending in FAILURES

    @property
    def seconds(self) -> int:
        """Age zero to the end, warm-up included."""
        if self.ending is Ending.NEVER_STARTED:
            return 0
        if self.worn is not None:
            return max(self.worn.end - self.worn.start, 0)
        if self.wear is not None and self.wear.removed is not None:
            return self.wear.removed.instant - self.wear.start.instant
        return 0


def fate_table(trial: Trial, layout: Layout) -> tuple[WearFindings, ...]:
    """Every sensor opened, one line each, by sensor and then by start; none is dropped.

    A wear that was inferred from readings has neither insertion, removal nor ending; its start is its first reading.
    `hours` run from age zero to the end, warm-up included; `hours_with_readings` are past warm-up.
    """
    rows: list[WearFindings] = []
    for place, sensor in enumerate(trial.sensors):
        opened = _opened(trial, layout, place)
        numbers = {one.wear.id: one.number for one in opened if one.wear}
        rows.extend(_fate(trial, sensor, one, numbers) for one in opened)
    return tuple(rows)


def upkeep(trial: Trial, layout: Layout, sensor: int) -> SensorUpkeep:
    """Counts, survival to rated life (in percent), gaps in hours by cause, cost of a usable day of one sensor.

    `failed` counts sensors that failed or never started. Survival: Kaplan-Meier, failure the event, never started a
    failure at 0; end, accident, choice and still worn are censored; life counted as the sensor counts it (from the start
    where that is not known); 'life-unknown' where it has none. Cost: `all_paid` is the price of every sensor opened,
    `replaced_free` leaves out one price for each that failed or that another wear replaced; over usable days, hours
    with readings past warm-up / 24; None without a price or a usable day.
    """
    record = trial.sensors[sensor]
    opened = _opened(trial, layout, sensor)
    seen = worn_readings(trial, layout, sensor)
    days = sum(one.covered.seconds for one in opened) / DAY
    return SensorUpkeep(
        Upkeep(
            opened=len(opened),
            failed=sum(one.failed for one in opened),
            accidents=sum(one.ending is Ending.ACCIDENT for one in opened),
            survival_to_life=_survival(record, opened),
            cost_per_usable_day=_cost(record, opened, days),
        ),
        _gaps(trial, record, opened),
        expected_readings(layout, sensor, seen.step),
    )


def _opened(trial: Trial, layout: Layout, sensor: int) -> tuple[_Opened, ...]:
    """All that was opened of one sensor, by start: recorded wears, worn or not, and inferred ones."""
    seen = worn_readings(trial, layout, sensor)
    worn = [(index, one) for index, one in enumerate(layout.worn) if one.sensor == sensor]
    known = {one.wear.id for _, one in worn if one.wear}
    rows: list[tuple[int, int, _Opened]] = []
    for index, one in worn:
        covered = _covered(seen, index, one)
        rows.append((one.start, one.number, _Opened(one.number, one, one.wear, covered)))
    for number, wear in enumerate(trial.wears_of(trial.sensors[sensor].id), start=1):
        if wear.id not in known:
            rows.append((wear.start.instant, number, _Opened(number, None, wear, Cover(0, ()))))
    return tuple(row for *_, row in sorted(rows, key=lambda row: row[:2]))


def _covered(seen: WornReadings, index: int, worn: Worn) -> Cover:
    if never_started(worn):
        return Cover(0, ())
    return cover(seen.at[seen.wear == index], worn.usable, worn.end, seen.step or FALLBACK_STEP)


def _fate(trial: Trial, sensor: Sensor, one: _Opened, numbers: dict[str, int]) -> WearFindings:
    wear = one.wear
    started = wear.start.iso if wear else trial.zones.stamp(one.worn.start).iso if one.worn else None
    if one.ending is Ending.NEVER_STARTED:
        started = None
    removed = wear.removed.iso if wear and wear.removed else None
    return WearFindings(
        sensor=sensor.name,
        number=one.number,
        inserted=wear.inserted.iso if wear and wear.inserted else None,
        started=started,
        removed=removed,
        ending=wear.ending.value if wear and wear.ending else None,
        replaces=numbers.get(wear.replaces) if wear and wear.replaces else None,
        lot=wear.lot if wear else None,
        hours=one.seconds / HOUR,
        hours_with_readings=one.covered.seconds / HOUR,
        drives=((wear.start.iso, removed),) if wear and wear.drives and started else (),
    )


def _survival(sensor: Sensor, opened: Sequence[_Opened]) -> Est:
    if sensor.life is None:
        return Est.missing("life-unknown", n=len(opened), method="kaplan-meier")
    times = [_followed(sensor, one, sensor.life) for one in opened]
    est = survival_at(kaplan_meier(times, [one.failed for one in opened]), sensor.life)
    if est.value is None or est.low is None or est.high is None:
        return est
    return replace(est, value=100 * est.value, low=100 * est.low, high=100 * est.high)


def _followed(sensor: Sensor, one: _Opened, life: int) -> int:
    """Seconds of life that one sensor was followed for."""
    if one.ending is Ending.NEVER_STARTED:
        return 0
    seconds = one.seconds
    if one.wear and sensor.counts_from is CountsFrom.INSERTION:
        seconds += one.wear.start.instant - one.wear.first.instant
    near = one.ending is Ending.END and seconds >= life - NEAR_LIFE
    return max(seconds, life) if near else seconds


def _cost(sensor: Sensor, opened: Sequence[_Opened], days: float) -> Cost | None:
    if sensor.price is None or days <= 0:
        return None
    replaced = {one.wear.replaces for one in opened if one.wear}
    free = sum(one.failed or (one.wear is not None and one.wear.id in replaced) for one in opened)
    return Cost(sensor.price * len(opened) / days, sensor.price * (len(opened) - free) / days)


def _gaps(trial: Trial, sensor: Sensor, opened: Sequence[_Opened]) -> Gaps:
    """Hours without readings by cause: an 'away' note of this sensor or of none; the gap that a failed sensor ended
    in; the rest unknown."""
    phone = own = unknown = 0
    for one in opened:
        away = _away(trial, sensor.id, one.covered.gaps)
        for start, end in one.covered.gaps:
            spoken_for = sum(max(0, min(end, stop) - max(start, begin)) for begin, stop in away)
            phone += spoken_for
            rest = end - start - spoken_for
            if one.ending is Ending.FAILED and one.worn is not None and end == one.worn.end:
                own += rest
            else:
                unknown += rest
    return Gaps(sensor=own / HOUR, phone=phone / HOUR, unknown=unknown / HOUR)


def _away(trial: Trial, sensor: str, gaps: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Stretches in which a phone or receiver was away, joined where they overlap. An open note lasts to the end
    of the gap it falls in, or that begins soon after."""
    stretches = []
    for event in trial.events:
        if event.kind is not EventKind.AWAY or event.sensor not in (None, sensor):
            continue
        start = event.start.instant
        if event.end is not None:
            stretches.append((start, event.end.instant))
            continue
        after = [gap for gap in gaps if gap[1] > start and gap[0] <= start + LEFT_BEHIND]
        if after:
            stretches.append((start, after[0][1]))
    joined: list[tuple[int, int]] = []
    for begin, stop in sorted(stretches):
        if joined and begin <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], stop))
        else:
            joined.append((begin, stop))
    return joined

"""Every opened sensor's fate, survival to rated life, gaps by cause, and cost of a usable day."""

import msgspec
import pytest
from tests.compare import small

from evenhand.clock import DAY, HOUR, MINUTE
from evenhand.compare.upkeep import fate_table, upkeep
from evenhand.findings.findings import WearFindings
from evenhand.records.sensors import CountsFrom, Ending, Wear


def kept(wears, *, at=None, events=(), warm_up=0, **sensor):
    """One sensor's upkeep; readings every 5 minutes over all wears unless told."""
    made = small.trial(
        [small.fern(**sensor)],
        wears,
        {"fern": small.readings(small.every(300, 0, 40 * DAY) if at is None else at, 120.0)},
        events,
    )
    return upkeep(made, small.layout(made, warm_up=warm_up), 0)


def ten(start, end, ending=Ending.END, **more):
    """A wear, in days."""
    return small.wear("fern", int(start * DAY), int(end * DAY), ending, **more)


def test_counts():
    """Opened, failed (never started among them) and accidents; none is dropped."""
    found = kept(
        [
            ten(0, 10),
            ten(10, 13, Ending.FAILED),
            ten(26, 26, Ending.NEVER_STARTED),
            ten(13, 20, Ending.ACCIDENT),
            ten(20, 25, Ending.CHOICE),
        ]
    ).upkeep
    assert (found.opened, found.failed, found.accidents) == (5, 2, 1)


def test_survival_by_hand():
    """Of five: one never starts (4/5), one fails on day 3 of four left (3/4), the others are censored or last: 60 %."""
    est = kept(
        [
            ten(0, 10),
            ten(10, 13, Ending.FAILED),
            ten(26, 26, Ending.NEVER_STARTED),
            ten(13, 20, Ending.ACCIDENT),
            ten(20, 25, Ending.CHOICE),
        ]
    ).upkeep.survival_to_life
    assert est.value == pytest.approx(60)
    assert 0 < est.low < 60 < est.high < 100
    assert (est.n, est.method) == (5, "kaplan-meier")


def test_survival_of_all():
    """Two of two worn to the end: 100 %, with the exact lower bound of two of two."""
    est = kept([ten(0, 10), ten(10, 20)]).upkeep.survival_to_life
    assert (est.value, est.high) == (100, 100)
    assert est.low == pytest.approx(100 * 0.025**0.5)


def test_survival_of_none():
    """Both failed: 0 %, with an upper bound below 100."""
    est = kept([ten(0, 3, Ending.FAILED), ten(3, 5, Ending.FAILED)]).upkeep.survival_to_life
    assert (est.value, est.low) == (0, 0)
    assert est.high == pytest.approx(100 * (1 - 0.025**0.5))


def test_survival_needs_a_life_and_someone_followed():
    """Life unknown: said. All taken off early by choice: nobody was followed that far. No sensor: no data."""
    assert kept([ten(0, 10)], life=None).upkeep.survival_to_life.why == "life-unknown"
    assert kept([ten(0, 4, Ending.CHOICE)]).upkeep.survival_to_life.why == "not-followed"
    assert kept([]).upkeep.survival_to_life.why == "no-data"


def test_taken_off_shortly_before_the_end_counts_as_worn_to_it():
    """Ended as planned 6 h early is worn to life; two days early is not followed to it."""
    assert kept([ten(0, 9.75)]).upkeep.survival_to_life.value == 100
    assert kept([ten(0, 8)]).upkeep.survival_to_life.why == "not-followed"


def test_failure_in_grace_is_no_failure_of_life():
    """A sensor that fails after its rated life lasted that long."""
    assert kept([ten(0, 10.2, Ending.FAILED)]).upkeep.survival_to_life.value == 100


def test_life_counted_from_insertion():
    """Inserted a day before its start and worn 9 days: 10 days of life where life counts from insertion."""
    early = Wear(
        "fern-1", "fern", inserted=small.stamp(small.T0), started=small.stamp(small.T0 + DAY),
        removed=small.stamp(small.T0 + 10 * DAY), ending=Ending.END,
    )  # fmt: skip
    assert kept([early], counts_from=CountsFrom.INSERTION).upkeep.survival_to_life.value == 100
    assert kept([early], counts_from=CountsFrom.START).upkeep.survival_to_life.why == "not-followed"


def test_gap_of_unknown_cause():
    """Two hours without readings: covered up to one step after the last reading."""
    at = [t for t in small.every(300, 0, DAY) if not 6 * HOUR < t < 8 * HOUR]
    found = kept([ten(0, 1)], at=at)
    assert found.gaps.unknown == pytest.approx(2 - 5 / 60)
    assert (found.gaps.phone, found.gaps.sensor) == (0, 0)


@pytest.mark.parametrize("whose", [None, "fern"])
def test_gap_with_the_phone_away(whose):
    """An 'away' note of no sensor or of this one explains the part of the gap it covers; the rest stays unknown."""
    at = [t for t in small.every(300, 0, DAY) if not 6 * HOUR < t < 8 * HOUR]
    found = kept([ten(0, 1)], at=at, events=[small.away(6 * HOUR, 7 * HOUR, whose)])
    assert found.gaps.phone == pytest.approx(1 - 5 / 60)
    assert found.gaps.unknown == pytest.approx(1)


def test_another_sensors_phone_explains_nothing():
    """An 'away' note of the other sensor's receiver is none of this one's."""
    at = [t for t in small.every(300, 0, DAY) if not 6 * HOUR < t < 8 * HOUR]
    assert kept([ten(0, 1)], at=at, events=[small.away(6 * HOUR, 8 * HOUR, "slate")]).gaps.phone == 0


def test_two_notes_of_one_absence_count_once():
    """Notes that overlap do not explain an hour twice."""
    at = [t for t in small.every(300, 0, DAY) if not 6 * HOUR < t < 8 * HOUR]
    notes = [small.away(6 * HOUR, 7 * HOUR), small.away(6 * HOUR + 1800, 8 * HOUR)]
    found = kept([ten(0, 1)], at=at, events=notes)
    assert found.gaps.phone == pytest.approx(2 - 5 / 60)
    assert found.gaps.unknown == 0


def test_an_open_note_lasts_to_the_end_of_its_gap():
    """'away' without an end, noted on leaving, explains the gap that began within half an hour, not a later one."""
    at = [t for t in small.every(300, 0, DAY) if not (6 * HOUR < t < 8 * HOUR or 20 * HOUR < t < 22 * HOUR)]
    found = kept([ten(0, 1)], at=at, events=[small.away(6 * HOUR - 10 * MINUTE)])
    assert found.gaps.phone == pytest.approx(2 - 5 / 60)
    assert found.gaps.unknown == pytest.approx(2 - 5 / 60)
    assert kept([ten(0, 1)], at=at, events=[small.away(HOUR)]).gaps.phone == 0


def test_a_failed_sensors_last_gap_is_its_own():
    """Silent for the last three hours, then taken off as failed: the sensor's gap; ended otherwise: unknown."""
    at = small.every(300, 0, 21 * HOUR)
    assert kept([ten(0, 1, Ending.FAILED)], at=at).gaps.sensor == pytest.approx(3)
    found = kept([ten(0, 1, Ending.END)], at=at).gaps
    assert (found.sensor, found.unknown) == (0, pytest.approx(3))


def test_usable_and_gaps_fill_the_wear():
    """Hours with readings and gaps together are the hours past warm-up."""
    at = [t for t in small.every(300, 0, 3 * DAY) if t % 7 and not 10 * HOUR < t < 30 * HOUR]
    made = small.trial([small.fern()], [ten(0, 3)], {"fern": small.readings(at, 100.0)})
    laid = small.layout(made, warm_up=HOUR)
    gaps = upkeep(made, laid, 0).gaps
    (row,) = fate_table(made, laid)
    assert row.hours == 72
    assert row.hours_with_readings + gaps.sensor + gaps.phone + gaps.unknown == pytest.approx(71)


def test_cost_of_a_usable_day():
    """Four opened at 50: two whole, one failed on day 5, one replaced by it; paid for all, and once free."""
    wears = [ten(0, 10), ten(10, 15, Ending.FAILED), ten(15, 25, replaces="fern-864000")]
    cost = kept(wears, price=50.0).upkeep.cost_per_usable_day
    assert cost.all_paid == pytest.approx(150 / 25)
    assert cost.replaced_free == pytest.approx(100 / 25)


def test_a_replaced_accident_is_once_free():
    """A sensor torn off and replaced by the maker counts as free in the second number too."""
    wears = [ten(0, 5, Ending.ACCIDENT), ten(5, 15, replaces="fern-0")]
    cost = kept(wears, price=60.0).upkeep.cost_per_usable_day
    assert (cost.all_paid, cost.replaced_free) == (pytest.approx(8), pytest.approx(4))


def test_cost_without_price_or_days():
    """Unknown price, or never a reading: no cost."""
    assert kept([ten(0, 10)]).upkeep.cost_per_usable_day is None
    assert kept([ten(0, 1)], at=[], price=50.0).upkeep.cost_per_usable_day is None


def test_warm_up_is_not_usable():
    """A day with two hours of warm-up has 22 usable hours, and expects 264 readings."""
    found = kept([ten(0, 1)], warm_up=2 * HOUR, price=22.0)
    assert found.upkeep.cost_per_usable_day.all_paid == pytest.approx(24)
    assert found.expected_readings == 264


def test_expected_readings_unknown():
    """No stated interval and no readings: not known."""
    assert kept([ten(0, 1)], at=[], interval=None).expected_readings is None
    assert kept([ten(0, 1)], interval=None).expected_readings == 288


def test_fate_table():
    """One line each, by sensor and start: what was recorded, the number of what it replaced, what it drove."""
    made = small.trial(
        [small.fern(), small.slate()],
        [
            small.wear("slate", 0, 2 * DAY, Ending.END, drives=True, lot="L7"),
            ten(0, 1, Ending.FAILED),
            ten(1, 1, Ending.NEVER_STARTED),
            small.wear("fern", DAY + HOUR, None, replaces="fern-0"),
        ],
        {"fern": small.readings(small.every(300, 0, 2 * DAY), 100.0)},
    )
    rows = fate_table(made, small.layout(made))
    assert [(row.sensor, row.number, row.ending) for row in rows] == [
        ("Fern", 1, "failed"),
        ("Fern", 2, "never-started"),
        ("Fern", 3, None),
        ("Slate", 1, "end"),
    ]
    assert rows[0].hours == rows[0].hours_with_readings == 24
    assert (rows[1].hours, rows[1].hours_with_readings, rows[1].started) == (0, 0, None)
    assert (rows[2].replaces, rows[2].removed) == (1, None)
    assert rows[2].started == "2026-03-03T01:00:00+00:00"
    assert rows[3].drives == (("2026-03-02T00:00:00+00:00", "2026-03-04T00:00:00+00:00"),)
    assert (rows[3].lot, rows[3].hours_with_readings) == ("L7", 0)
    for row in rows:
        assert msgspec.json.decode(msgspec.json.encode(row), type=WearFindings) == row


def test_inferred_wears():
    """Without a recorded wear, a run of readings is a line with a start and no more; it counts as opened."""
    made = small.trial(
        [small.fern(price=10.0)], (), {"fern": small.readings(small.every(300, 0, 2 * DAY), 100.0)}
    )
    laid = small.layout(made, inferred=[(0, 0, 2 * DAY)])
    (row,) = fate_table(made, laid)
    assert (row.started, row.inserted, row.removed, row.ending) == (
        "2026-03-02T00:00:00+00:00",
        None,
        None,
        None,
    )
    assert (row.hours, row.hours_with_readings) == (48, 48)
    found = upkeep(made, laid, 0).upkeep
    assert (found.opened, found.failed, found.survival_to_life.why) == (1, 0, "not-followed")
    assert found.cost_per_usable_day.all_paid == pytest.approx(5)

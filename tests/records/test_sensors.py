"""Sensors and wears: what each accepts, and what contradicts itself."""

from __future__ import annotations

import pytest

from evenhand.clock import Stamp
from evenhand.errors import BadRecord
from evenhand.records.sensors import CountsFrom, Sensor, Wear
from evenhand.units import Glucose, Unit


def at(instant: int) -> Stamp:
    return Stamp.at(instant, "Europe/Lisbon")


def test_a_sensor_needs_only_a_name() -> None:
    """Everything but the name may be unknown."""
    sensor = Sensor("s1", "Fern", 0)
    assert sensor.warm_up is None
    assert sensor.price is None


@pytest.mark.parametrize("name", ["", "   ", "meter", "Meter", " METER "])
def test_a_sensor_cannot_be_called_nothing_or_meter(name: str) -> None:
    """'meter' stands for the fingerstick meter on the command line."""
    with pytest.raises(BadRecord):
        Sensor("s1", name, 0)


@pytest.mark.parametrize(
    "field",
    [{"interval": 0}, {"interval": -300}, {"life": 0}, {"warm_up": -1}, {"grace": -1}, {"price": -0.01}],
)
def test_impossible_durations_and_prices_are_refused(field: dict[str, float]) -> None:
    """A refusal names the sensor and what is wrong with it."""
    with pytest.raises(BadRecord, match="Fern"):
        Sensor("s1", "Fern", 0, **field)  # type: ignore[arg-type]


def test_zero_warm_up_grace_and_price_are_allowed() -> None:
    """No warm-up, no grace and a gift are all possible."""
    sensor = Sensor("s1", "Fern", 0, warm_up=0, grace=0, price=0.0, counts_from=CountsFrom.START)
    assert sensor.warm_up == 0


def test_measuring_limits_must_be_in_order_across_units() -> None:
    """The low limit lies below the high one, compared in one unit."""
    low, high = Glucose(2.2, Unit.MMOL_L, "2.2"), Glucose(400, Unit.MG_DL, "400")
    assert Sensor("s1", "Fern", 0, low=low, high=high).low is low
    with pytest.raises(BadRecord, match="low limit"):
        Sensor("s1", "Fern", 0, low=high, high=low)


def test_inserted_alone_means_started_at_insertion() -> None:
    """Age counts from the start, and from the insertion where no start is recorded."""
    assert Wear("w", "s", inserted=at(1000)).start.instant == 1000
    assert Wear("w", "s", inserted=at(1000), started=at(4600)).start.instant == 4600
    assert Wear("w", "s", inserted=at(1000), started=at(4600)).first.instant == 1000
    assert Wear("w", "s", started=at(4600)).first.instant == 4600


def test_a_wear_needs_a_beginning() -> None:
    """A removal alone is no wear."""
    with pytest.raises(BadRecord, match="neither"):
        Wear("w", "s", removed=at(1000))


@pytest.mark.parametrize(
    ("inserted", "started", "removed"), [(2000, 1000, None), (1000, 3000, 2000), (2000, None, 1000)]
)
def test_times_of_a_wear_out_of_order_are_refused(
    inserted: int, started: int | None, removed: int | None
) -> None:
    """Insertion, start, removal come in this order."""
    with pytest.raises(BadRecord, match="out of order"):
        Wear("w", "s", at(inserted), at(started) if started else None, at(removed) if removed else None)


def test_a_wear_does_not_replace_itself() -> None:
    """`replaces` names another wear."""
    with pytest.raises(BadRecord, match="replace itself"):
        Wear("w", "s", inserted=at(0), replaces="w")

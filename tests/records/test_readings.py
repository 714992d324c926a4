"""Blocks of readings."""

from __future__ import annotations

import numpy as np
import pytest

from evenhand.errors import BadRecord
from evenhand.records.readings import Readings
from evenhand.units import Unit


def block(values: list[float], mmol: list[bool]) -> Readings:
    n = len(values)
    return Readings(
        np.arange(n, dtype=np.int64) * 300, np.zeros(n, np.int32), np.array(values), np.array(mmol),
        np.zeros(n, np.int8), np.arange(1, n + 1, dtype=np.int32), tuple(map(str, values)),
    )  # fmt: skip


def test_values_stay_as_recorded_beside_mg_dl() -> None:
    """Both units in one block: each converts by its own, unrounded."""
    readings = block([6.1, 110.0], [True, False])
    assert readings.mg_dl.tolist() == [6.1 * 18.0156, 110.0]
    assert readings.text == ("6.1", "110.0")
    assert (readings.unit(0), readings.unit(1)) == (Unit.MMOL_L, Unit.MG_DL)


def test_no_readings_is_a_block_of_its_own() -> None:
    """An empty block has every column, of length nought."""
    assert len(Readings.none()) == 0
    assert Readings.none().mg_dl.shape == (0,)


def test_ragged_blocks_and_missing_numbers_are_refused() -> None:
    """A row without a value is no reading."""
    with pytest.raises(BadRecord, match="no number"):
        block([np.nan], [False])
    good = block([100.0, 101.0], [False, False])
    with pytest.raises(BadRecord, match="length"):
        Readings(good.instant, good.offset, good.value[:1], good.mmol, good.flag, good.line, good.text)

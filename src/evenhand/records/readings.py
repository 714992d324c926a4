"""Sensor readings, as arrays."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Self

import numpy as np
from numpy.typing import NDArray

from evenhand.errors import BadRecord
from evenhand.units import FACTOR, Unit

IN_RANGE, BEYOND_LOW, BEYOND_HIGH = 0, 1, 2
"""Flags: a plain reading; 'at most the low limit'; 'at least the high limit'."""


@dataclass(frozen=True, slots=True)
class Readings:
    """The readings of one sensor in time order.

    All arrays have shape (n,): `instant` int64 seconds since the epoch; `offset` int32 seconds east of UTC;
    `value` float64 in the unit recorded (the limit itself where `flag` says beyond); `mmol` bool, True where
    recorded in mmol/L; `flag` int8 (IN_RANGE, BEYOND_LOW, BEYOND_HIGH); `line` int32, the row of the source file;
    `text` the value as recorded. No NaN anywhere: a row without a value is not a reading.
    """

    instant: NDArray[np.int64]
    offset: NDArray[np.int32]
    value: NDArray[np.float64]
    mmol: NDArray[np.bool_]
    flag: NDArray[np.int8]
    line: NDArray[np.int32]
    text: tuple[str, ...] = field(repr=False)

    def __post_init__(self) -> None:
        n = self.instant.size
        if (
            any(part.shape != (n,) for part in (self.offset, self.value, self.mmol, self.flag, self.line))
            or len(self.text) != n
        ):
            raise BadRecord(
                "The columns of a block of readings differ in length.", "This is a defect; report it."
            )
        if not np.isfinite(self.value).all():
            raise BadRecord("A reading has no number.", "This is a defect; report it.")

    @classmethod
    def none(cls) -> Self:
        """No readings."""
        return cls(
            np.empty(0, np.int64), np.empty(0, np.int32), np.empty(0), np.empty(0, np.bool_),
            np.empty(0, np.int8), np.empty(0, np.int32), (),
        )  # fmt: skip

    def __len__(self) -> int:
        return int(self.instant.size)

    @property
    def mg_dl(self) -> NDArray[np.float64]:
        """The values in mg/dL, unrounded, shape (n,)."""
        return np.where(self.mmol, self.value * FACTOR, self.value)

    def unit(self, index: int) -> Unit:
        """The unit the reading at `index` was recorded in."""
        return Unit.MMOL_L if self.mmol[index] else Unit.MG_DL


@dataclass(frozen=True, slots=True)
class Batch:
    """The readings of one sensor that came with one file; what the store keeps and `undo` takes back."""

    id: str
    file: str
    sheet: str | None
    sensor: str
    readings: Readings

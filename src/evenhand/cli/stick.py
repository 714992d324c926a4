"""`evenhand stick`: value and done. Imports nothing slow; saves first, then speaks."""

from __future__ import annotations

from contextlib import suppress
from typing import Annotated

from cyclopts import Parameter

from evenhand.cli import saying
from evenhand.cli.arguments import File, split
from evenhand.cli.failing import tell
from evenhand.cli.misuse import not_yet
from evenhand.cli.streams import line
from evenhand.cli.world import now
from evenhand.desk.sticks import StickSaid, log_stick, read_trial, understood_value
from evenhand.errors import BadValue, EvenhandError
from evenhand.records.diary import MarkKind
from evenhand.units import USUAL_LIMITS, Glucose, Unit, parse_glucose

_NOTHING = StickSaid()
_Value = Annotated[str | None, Parameter(name="VALUE", help="The meter's value: 6.1, 110, '110 mg/dL', low.")]


def stick(
    file: File = None, value: _Value = None, /, *, said: Annotated[StickSaid, Parameter(name="*")] = _NOTHING
) -> int:
    """Log a fingerstick: value and done."""
    warning = None
    try:
        path, (number,) = split(file, value)
        if number is None:
            raise not_yet("'stick' without a value (the morning round)")
        trial = read_trial(path)
        glucose = understood_value(number, trial)
        warning = None if MarkKind.CONTROL in said.mark else _safety(glucose)
        logged = log_stick(path, trial, glucose, said, now())
    except EvenhandError as error:
        warning = warning or _safety_without_unit(value or file, said)
        if warning is None:
            raise
        code = tell(error, as_json=False)
        line(warning)
        return code
    line(saying.stick(logged))
    if warning is not None:
        line(warning)
    return 0


def _safety(glucose: Glucose) -> str | None:
    """The only line that may follow a low stick; the last thing on the screen even where saving failed."""
    if not glucose.is_low:
        return None
    from evenhand.say.low import after_stick

    return after_stick(glucose)


def _safety_without_unit(number: str | None, said: StickSaid) -> str | None:
    """The same for a value that met no trial file, so that its unit is not known: where it is low in every
    unit in which a meter can show it."""
    if number is None or MarkKind.CONTROL in said.mark:
        return None
    read = []
    for unit in Unit:
        with suppress(BadValue):
            glucose = parse_glucose(number, unit)
            if glucose.unit is not Unit.MMOL_L or glucose.value <= USUAL_LIMITS[Unit.MMOL_L][1]:
                read.append(glucose)
    return _safety(max(read, key=lambda one: one.mg_dl)) if read else None

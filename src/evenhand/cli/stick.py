"""`evenhand stick`: value and done. Imports nothing slow; saves first, then speaks."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

from evenhand.cli import saying
from evenhand.cli.arguments import File, split
from evenhand.cli.failing import tell
from evenhand.cli.misuse import not_yet
from evenhand.cli.streams import line
from evenhand.cli.world import now
from evenhand.desk.sticks import StickSaid, log_stick, understood_value
from evenhand.errors import EvenhandError
from evenhand.records.diary import MarkKind
from evenhand.store import file as store
from evenhand.units import Glucose

_NOTHING = StickSaid()
_Value = Annotated[str | None, Parameter(name="VALUE", help="The meter's value: 6.1, 110, '110 mg/dL', low.")]


def stick(
    file: File = None, value: _Value = None, /, *, said: Annotated[StickSaid, Parameter(name="*")] = _NOTHING
) -> int:
    """Log a fingerstick: value and done."""
    path, (number,) = split(file, value)
    if number is None:
        raise not_yet("'stick' without a value (the morning round)")
    trial = store.read(path, readings=False)
    glucose = understood_value(number, trial)
    warning = None if MarkKind.CONTROL in said.mark else _safety(glucose)
    try:
        logged = log_stick(path, trial, glucose, said, now())
    except EvenhandError as error:
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
    from evenhand.say.safety import after_stick

    return after_stick(glucose)

"""The one line that follows a low stick; apart from `safety`, so that a stick waits for no import of findings."""

from __future__ import annotations

from evenhand.units import Glucose

LOW_STICK = "Treat first. This can wait."
VERY_LOW_STICK = "Serious low. Treat now; get help if you need it."


def after_stick(stick: Glucose) -> str | None:
    """The only line that follows a stick below 70 mg/dL (3.9 mmol/L); None where none is due.

    >>> from evenhand.units import Unit
    >>> after_stick(Glucose(3.8, Unit.MMOL_L, "3.8")), after_stick(Glucose(53.0, Unit.MG_DL, "53"))
    ('Treat first. This can wait.', 'Serious low. Treat now; get help if you need it.')
    """
    if stick.is_very_low:
        return VERY_LOW_STICK
    return LOW_STICK if stick.is_low else None

"""The margin in words: the wearer's own only where it was declared."""

from __future__ import annotations

from evenhand.findings.findings import Primary
from evenhand.say.numbers import margin
from evenhand.units import Unit

DEFAULT = 3.0
"""mg/dL: the margin that stands where none was declared."""


def named(primary: Primary, unit: Unit) -> str:
    """The margin as an answer names it.

    'the 3 mg/dL that would make you switch'; undeclared, 'the default margin of 3 mg/dL'
    """
    width = margin(primary.margin, unit)
    return f"the {width} that would make you switch" if declared(primary) else f"{owner(primary)} of {width}"


def owner(primary: Primary) -> str:
    """Whose margin it is: 'your margin', 'the default margin', 'the undeclared margin'."""
    if declared(primary):
        return "your margin"
    return "the default margin" if primary.margin == DEFAULT else "the undeclared margin"


def purpose(primary: Primary) -> str:
    """What 'equal' is measured by: 'for your purpose', or the margin that is not the wearer's."""
    return "for your purpose" if declared(primary) else f"by {owner(primary)}"


def declared(primary: Primary) -> bool:
    """Whether the margin is the wearer's word."""
    return primary.declared is not None

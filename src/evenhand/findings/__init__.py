"""The contract as types: everything a judgement says, and nothing about how it was computed or is shown."""

CONTRACT = 1
"""Raised when the meaning of a field changes."""

METHOD = 2
"""Raised when any number of any judgement can change."""

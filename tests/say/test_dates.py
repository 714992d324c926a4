"""Dates as a reader says them."""

from __future__ import annotations

from evenhand.say import dates


def test_spans_say_nothing_twice():
    """One day, one month, one year, or two years."""
    assert dates.span("2026-03-02", "2026-03-02") == "2 March 2026"
    assert dates.span("2026-03-02", "2026-03-21") == "2 to 21 March 2026"
    assert dates.span("2025-12-30", "2026-01-02") == "30 December 2025 to 2 January 2026"


def test_a_moment_is_the_wearers_wall_clock():
    """The offset is part of the text and is not applied a second time."""
    assert dates.moment("2026-03-02T23:42:00+09:00", year=True) == "2 March 2026, 23:42"
    assert dates.hours(23.4) == "23 h"
    assert dates.hours(23.6) == "1 day"

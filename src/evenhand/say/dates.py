"""Dates and times as a reader says them; the instants are ISO 8601 with an offset, as in the findings."""

from __future__ import annotations

from datetime import date, datetime

from evenhand.clock import MONTHS


def day(iso: str, *, year: bool = True) -> str:
    """'2 March 2026', in the wearer's own zone.

    >>> day("2026-03-02T23:30:00+01:00"), day("2026-03-02", year=False)
    ('2 March 2026', '2 March')
    """
    found = date.fromisoformat(iso[:10])
    text = f"{found.day} {MONTHS[found.month - 1]}"
    return f"{text} {found.year}" if year else text


def moment(iso: str, *, year: bool = False) -> str:
    """'2 March, 07:42'.

    >>> moment("2026-03-02T07:42:31+00:00")
    '2 March, 07:42'
    """
    return f"{day(iso, year=year)}, {datetime.fromisoformat(iso):%H:%M}"


def span(first: str, last: str) -> str:
    """'2 to 21 March 2026', with no more said twice than needed.

    >>> span("2026-03-02T08:00:00+00:00", "2026-03-21T08:00:00+00:00")
    '2 to 21 March 2026'
    >>> span("2026-02-27", "2026-03-21"), span("2026-02-27", "2026-02-27")
    ('27 February to 21 March 2026', '27 February 2026')
    """
    start, end = date.fromisoformat(first[:10]), date.fromisoformat(last[:10])
    if start == end:
        return day(last)
    if start.year != end.year:
        return f"{day(first)} to {day(last)}"
    if start.month != end.month:
        return f"{day(first, year=False)} to {day(last)}"
    return f"{start.day} to {day(last)}"


def hours(count: float) -> str:
    """A stretch of hours: '5 h', '9.5 days'.

    >>> hours(5.2), hours(228.0), hours(240.0), hours(24.0)
    ('5 h', '9.5 days', '10 days', '1 day')
    """
    if round(count) < 24:
        return f"{count:.0f} h"
    days = f"{count / 24:.1f}".removesuffix(".0")
    return f"{days} day" if days == "1" else f"{days} days"

"""A claim sheet for a sensor that failed or came off: written where it is wanted, with the serial number on it."""

from __future__ import annotations

from pathlib import Path

from evenhand.desk.now import Now
from evenhand.desk.replacing import replace_file
from evenhand.errors import UnknownName
from evenhand.handouts.claim import claim_page
from evenhand.say.dates import day
from evenhand.store import file as store


def write_claim(path: Path, wear: str, out: Path, now: Now) -> Path:
    """Write the claim sheet of the wear with that id to `out`, an older page is replaced; where it lies.

    Raises `UnknownName` where there is no such wear, `CannotWrite` where the page cannot be written."""
    trial = store.read(path)
    found = next((one for one in trial.wears if one.id == wear), None)
    if found is None:
        raise UnknownName("There is no such wear in this trial.", "Log it first.")
    made = trial.zones.stamp(now.instant())
    page = claim_page(trial, found, day(made.iso))
    replace_file(out, page.encode("utf-8"), now)
    return out

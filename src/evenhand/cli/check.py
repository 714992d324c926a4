"""`evenhand check`: is the trial file whole?"""

from __future__ import annotations

from evenhand.cli.arguments import File, split
from evenhand.cli.streams import words
from evenhand.desk.history import check as examine


def check(file: File = None, /) -> int:
    """Check the trial file and name its newest good copy."""
    path, _ = split(file)
    health = examine(path)
    if health.sound:
        words(
            f"{path} is whole: {health.changes} changes, {health.records} records, {health.readings} readings."
        )
        return 0
    words(f"{path} is not whole:")
    for problem in health.problems:
        words(problem, "  ")
    if health.good_copy is None:
        words("No good copy was found beside it.")
    else:
        words("The newest good copy is this one; keep the damaged file too, under another name:")
        words(str(health.good_copy), "  ")
    return 1

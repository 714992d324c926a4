"""A folder of its own for what a command makes."""

from __future__ import annotations

from pathlib import Path

from evenhand.errors import CannotWrite

MOST_TRIED = 1000


def fresh_folder(wanted: Path) -> Path:
    """Make and return `wanted`, or, where something is there already, the first free one of 'wanted-2',
    'wanted-3' and so on. An empty folder is taken as it is. `CannotWrite` where none can be made."""
    for number in range(1, MOST_TRIED):
        folder = wanted if number == 1 else wanted.with_name(f"{wanted.name}-{number}")
        try:
            if folder.is_dir() and not any(folder.iterdir()):
                return folder
            folder.mkdir(parents=True)
        except FileExistsError:
            continue
        except OSError as problem:
            why = problem.strerror or type(problem).__name__
            raise CannotWrite(
                f"The folder '{folder}' could not be made ({why}).", "Name another place."
            ) from None
        return folder
    raise CannotWrite(f"'{wanted}' and {MOST_TRIED} more of that name are taken.", "Name another place.")

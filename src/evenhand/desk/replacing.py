"""Writing an output file whole or not at all."""

from __future__ import annotations

import contextlib
from pathlib import Path

from evenhand.desk.now import Now
from evenhand.errors import CannotWrite


def replace_file(path: Path, data: bytes, now: Now) -> None:
    """Put `data` at `path`: written beside it first, then moved over it in one step. `CannotWrite` where that
    fails; then what stood there before is untouched."""
    if path.is_dir():
        raise CannotWrite(f"'{path}' is a folder.", "Name a file with --out.")
    beside = path.with_name(f".{path.name}.{now.fresh_id()[:8]}")
    try:
        beside.write_bytes(data)
        beside.replace(path)
    except OSError as problem:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        why = problem.strerror or type(problem).__name__
        raise CannotWrite(
            f"'{path}' could not be written ({why[:1].lower()}{why[1:]}).", "Name another place with --out."
        ) from None

"""Failures as a person reads them, or as a program does."""

from __future__ import annotations

import sys

from evenhand.cli.streams import data
from evenhand.errors import EvenhandError


def tell(error: EvenhandError, *, as_json: bool) -> int:
    """Tell every problem of a failure: in words on standard error, or as the contract's JSON on standard
    output. Returns the exit code."""
    if as_json:
        data(errors_json(error))
    else:
        for single in error.each():
            print(str(single), file=sys.stderr)
    return error.exit_code


def errors_json(error: EvenhandError) -> str:
    """The contract's errors object."""
    import json

    told = [
        {
            "code": single.code,
            "file": single.place.file,
            "sheet": single.place.sheet,
            "line": single.place.line,
            "column": single.place.column,
            "found": single.found,
            "cure": single.cure,
        }
        for single in error.each()
    ]
    return json.dumps({"errors": told}, ensure_ascii=False, indent=2) + "\n"

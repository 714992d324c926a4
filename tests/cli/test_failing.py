"""Failures in words and as data."""

import json

import pytest

from evenhand import errors
from evenhand.cli.failing import errors_json, tell
from evenhand.errors import BadFile, BadValue, EvenhandError, Place, Problems

TWO = Problems(
    (BadFile("No table.", "Export it.", Place("a.csv", "S", 3, "C")), BadValue("'x'.", "Write a number."))
)


def test_every_problem_has_its_line(capsys):
    """In words, on standard error, with where; nothing on standard output."""
    assert tell(TWO, as_json=False) == 1
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.splitlines() == [
        "a.csv, sheet S, line 3, column C: No table. Export it.",
        "'x'. Write a number.",
    ]


def test_every_problem_has_its_object(capsys):
    """As JSON, on standard output, with the seven keys of the contract."""
    assert tell(TWO, as_json=True) == 1
    captured = capsys.readouterr()
    assert captured.err == ""
    assert json.loads(captured.out) == {
        "errors": [
            {"code": "bad-file", "file": "a.csv", "sheet": "S", "line": 3, "column": "C", "found": "No table.", "cure": "Export it."},
            {"code": "bad-value", "file": None, "sheet": None, "line": None, "column": None, "found": "'x'.", "cure": "Write a number."},
        ]
    }  # fmt: skip


@pytest.mark.parametrize(
    "kind", [one for one in vars(errors).values() if isinstance(one, type) and issubclass(one, EvenhandError) and one is not Problems]
)  # fmt: skip
def test_every_failure_can_be_told(kind, capsys):
    """Whatever class of failure: found and cure are said, the code is in the JSON, the exit code is 1 or 2."""
    error = kind("Found this.", "Do that.")
    assert tell(error, as_json=False) == (2 if kind is errors.WrongUse else 1)
    assert capsys.readouterr().err == "Found this. Do that.\n"
    assert json.loads(errors_json(error))["errors"][0]["code"] == kind.code

"""A number that changes raises METHOD: one small trial, frozen with its judgement."""

from __future__ import annotations

import json
import math

import pytest
from tests.judge.frozen import frozen_findings, frozen_trial
from tests.judge.making import sound

from evenhand.findings import METHOD, edge
from evenhand.judge.judge import judge

CHANGED = (
    "Numbers of a judgement changed. If that is meant: raise METHOD in evenhand/findings/__init__.py, freeze anew with "
    "'python -m tests.judge.frozen', and say so in the changelog."
)


@pytest.fixture(scope="module")
def today():
    """The frozen trial judged today, as JSON objects."""
    return sound(judge(frozen_trial()))


FITTED = 0.02
"""What is fitted by climbing may end a little elsewhere on another machine."""


def numbers(findings):
    """The judgement without its version, its cautions by code and subject."""
    cautions = [[caution["code"], caution["subject"]] for caution in findings["cautions"]]
    return {**findings, "evenhand": None, "cautions": cautions}


def differences(old, new, where="", apart=1e-9):
    """Paths at which two JSON values differ; numbers by more than rounding."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in sorted(set(old) | set(new)):
            if key not in old or key not in new:
                yield f"{where}.{key}"
            else:
                near = FITTED if key in ("reconstruction", "against_reconstruction") else apart
                yield from differences(old[key], new[key], f"{where}.{key}", near)
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for place, (one, other) in enumerate(zip(old, new, strict=True)):
            yield from differences(one, other, f"{where}[{place}]", apart)
    elif isinstance(old, float) and isinstance(new, int | float) and not isinstance(new, bool):
        if not math.isclose(old, new, rel_tol=apart, abs_tol=apart):
            yield f"{where}: {old} is now {new}"
    elif old != new:
        yield f"{where}: {old!r} is now {new!r}"


def test_the_frozen_judgement_is_of_this_method():
    """The frozen file was frozen under the METHOD of today."""
    assert frozen_findings()["method"] == METHOD, "METHOD was raised: " + CHANGED


def test_no_number_changed(today):
    """Every number, answer and code of the frozen judgement is what it was; wording and version may change."""
    found = list(differences(numbers(frozen_findings()), numbers(today)))
    assert not found, CHANGED + "\n" + "\n".join(found[:20])


def test_the_frozen_trial_holds_what_it_should(today):
    """It exercises an answer with every part: three kinds of stick, a calibration, marks, repeats, limits, a gap."""
    (pair,) = today["head_to_head"]
    assert pair["difference"]["low"] is not None
    assert pair["uncalibrated"] is not None
    assert pair["with_marked"] is not None
    assert today["meter"]["repeats"] > 3
    assert all(each["censored"] for each in today["sensors"])
    assert today["sensors"][1]["calibrations"]
    assert today["sensors"][0]["gaps"]["unknown"] > 5
    assert edge.from_json(json.dumps(frozen_findings()).encode()).trial == "By hand"


@pytest.mark.parametrize(
    ("old", "new", "count"),
    [
        ({"a": 1.0}, {"a": 1.0 + 1e-13}, 0),
        ({"a": 1.0}, {"a": 1.001}, 1),
        ({"a": None}, {"a": 1.0}, 1),
        ({"a": [1, 2]}, {"a": [1]}, 1),
        ({"a": 1}, {"b": 1}, 2),
        ({"a": "x"}, {"a": "x"}, 0),
    ],
)
def test_differences_are_seen(old, new, count):
    """The comparison sees changed, missing and added values, and forgives rounding."""
    assert len(list(differences(old, new))) == count

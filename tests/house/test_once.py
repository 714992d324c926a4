"""What several rooms must say alike though none may import the other, and codes that must mean something."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import evenhand
from evenhand.charts.balance import METER_REACH
from evenhand.compare import accuracy, events, safety, wears
from evenhand.compare.hours import WAKING
from evenhand.compare.layout import COARSE_LIMIT, PAIRING_LIMIT
from evenhand.compare.span import STEPS
from evenhand.findings.cautions import CAUTIONS, REASONS, SAFETY_CODES
from evenhand.judge.seal import TELLING
from evenhand.records.diary import MarkKind, Reason
from evenhand.rehearse.world import World
from evenhand.say import how, mind, ranges, reasons
from evenhand.say.accuracy import limits
from evenhand.say.meter import off
from evenhand.stats.next_wear import CAP
from evenhand.units import HIGH, LOW, USUAL_LIMITS, VERY_HIGH, VERY_LOW, Unit, shown

SOURCE = Path(evenhand.__file__).parent


@pytest.mark.parametrize("unit", Unit)
def test_the_lines_on_pages_are_the_consensus_limits(unit):
    """What `say` writes in words is what `units` holds."""
    written = (
        f"{limit[unit]:.0f}" if unit is Unit.MG_DL else f"{limit[unit]:.1f}"
        for limit in (VERY_LOW, LOW, HIGH, VERY_HIGH)
    )
    assert tuple(written) == ranges._LIMITS[unit]
    assert limits(unit) == ranges._LIMITS[unit][1:3]


def test_waking_hours_are_the_same_everywhere():
    """Measured, invented and told: 07:00 to 23:00 where nothing is declared."""
    assert World().waking == WAKING
    told = "{} to {}".format(*(f"{minute // 60:02d}:{minute % 60:02d}" for minute in WAKING))
    assert how._waking(None) == told


def test_the_meter_is_moved_as_far_as_it_is_said():
    """The span is looked for, drawn and told up to the same percentage."""
    assert (STEPS[0], STEPS[-1]) == (-METER_REACH, METER_REACH)
    assert off(METER_REACH) == "15 % high"


def test_no_chance_is_told_above_the_cap():
    """`say` cuts where the statistics cut already, so that it never alters a number."""
    from evenhand.findings.findings import ChanceNext
    from evenhand.say.answer import chance_words

    assert chance_words(ChanceNext("Fern", CAP, (CAP, CAP), None)) == f"about {100 * CAP:.0f} %"


@pytest.mark.parametrize("code", sorted(REASONS))
def test_every_reason_has_words_on_pages(code):
    """Never the code itself, and no empty words."""
    words = reasons.reason(code)
    assert words
    assert words == reasons._WORDS[code]
    assert "-" not in code or words != code.replace("-", " ")


def test_lists_of_cautions_name_cautions():
    """What is folded, and what is kept back under seal, are codes of the catalogue."""
    assert set(CAUTIONS) >= mind._FOLDED
    assert set(CAUTIONS) >= TELLING


def test_every_number_of_who_is_ahead_stays_under_seal():
    """A caution whose sentence tells a difference or names a closer one is among those kept back."""
    for code, sentence in CAUTIONS.items():
        if "{difference}" in sentence or "{with_prompted}" in sentence or "points the other way" in sentence:
            assert code in TELLING, code


def test_the_tolerances_are_one():
    """Dangerously off is the widest tolerance; both switch at the same stick."""
    assert max(accuracy.TOLERANCES) == safety.FAR_OFF
    assert f"{safety.FAR_OFF:.0f} mg/dL" in SAFETY_CODES["far-off"]
    assert f"below {accuracy.SWITCH:.0f} mg/dL" in SAFETY_CODES["far-off"]


def test_rechecks_and_repeats_keep_their_minutes():
    """In the words of a caution as in the rule; the pairing limits in the method's words."""
    from evenhand.judge.about_sticks import LEFT_OUT

    assert f"{events.RECHECK_WITHIN // 60} min" in LEFT_OUT[events.RECHECK]
    assert (PAIRING_LIMIT, COARSE_LIMIT) == (5 * 60, 7.5 * 60)
    assert f"{wears.RUN_GAP // 3600} h" in CAUTIONS["inferred-wears"]


def test_codes_of_left_out_sticks_are_those_of_records():
    """A code is the word of the mark or the reason it stands for."""
    marks = {
        events.CONTROL: MarkKind.CONTROL,
        events.STRIP_ERROR: MarkKind.STRIP_ERROR,
        events.UNWASHED: MarkKind.UNWASHED,
    }
    whys = {
        events.CALIBRATION: Reason.CALIBRATION,
        events.PROMPTED: Reason.PROMPTED,
        events.UNKNOWN: Reason.UNKNOWN,
    }
    assert all(code == str(kind) for code, kind in (marks | whys).items())


def test_usual_limits_agree_across_units():
    """The same two levels in both units, as they are printed."""
    for side in (0, 1):
        assert shown(USUAL_LIMITS[Unit.MG_DL][side], Unit.MMOL_L) == f"{USUAL_LIMITS[Unit.MMOL_L][side]}"


@pytest.mark.parametrize("room", ["say", "charts", "handouts"])
def test_rooms_that_show_compute_no_statistic(room):
    """They import of `stats` only the shape of an estimate, and of numpy only what draws a line."""
    allowed = {"evenhand.stats.estimate"}
    for path in (SOURCE / room).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(
                ("evenhand.stats", "evenhand.compare", "evenhand.judge", "statistics", "scipy")
            ):
                assert node.module in allowed, f"{path.name} imports {node.module}"
            if isinstance(node, ast.Import):
                assert not {alias.name.split(".")[0] for alias in node.names} & {"statistics", "scipy"}


def test_nothing_outside_the_store_holds_sql():
    """No room but `store` has a statement in a string."""
    words = ("SELECT ", "INSERT INTO", "PRAGMA ", "DELETE FROM", "CREATE TABLE")
    for path in SOURCE.rglob("*.py"):
        if path.parent.name != "store":
            text = path.read_text(encoding="utf-8")
            assert not [word for word in words if word in text], path.name

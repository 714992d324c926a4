"""The benchmark of the reconstruction: one trial measured whole, resuming, the stamp, and the page made from results."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
from benchmarks.honesty import between_page, between_run, between_table
from benchmarks.honesty.between import measure
from benchmarks.honesty.between_worlds import between_cases
from benchmarks.honesty.run import path_of, rows

from evenhand.rehearse.scenarios import plain
from evenhand.rehearse.world import Model

SMALL = plain(6, 1, 7)


@pytest.fixture(scope="module")
def row():
    """One trial of six days, with the fits without each sensor and the bound."""
    return measure(SMALL, 3, bound=True)


def test_a_row_holds_estimates_with_their_truth(row) -> None:
    """For both sensors and every part: value, limits in order, and a truth that is a number; JSON both ways."""
    for sensor in ("s0", "s1"):
        for part in ("all", "night", "first_24h", "without"):
            for what in ("bias", "mad", "mard", "outside_percent"):
                value, low, high, true = (
                    row[f"{sensor}_{part}_{what}_{end}"] for end in ("value", "low", "high", "true")
                )
                assert low <= value <= high
                assert math.isfinite(true)
    assert json.loads(json.dumps(row)) == row
    assert 0.0 < row["bound"] < 15.0
    assert 0.0 < row["distance"] < 15.0
    assert 0.5 < row["band_90"] <= 1.0


def test_counts_are_counts(row) -> None:
    """Strays right are at most those told, found at most true, sure alarms at most alarms."""
    for sensor in ("s0", "s1"):
        assert row[f"{sensor}_strays_right"] <= row[f"{sensor}_strays"]
        assert row[f"{sensor}_strays_found"] <= row[f"{sensor}_strays_true"]
        assert row[f"{sensor}_alarm_sure"] <= row[f"{sensor}_alarms"]
        assert row[f"{sensor}_alarm_true"] <= row[f"{sensor}_alarms"]
        states = sum(row[f"{sensor}_{state}"] for state in ("held", "unproven", "strayed"))
        assert 0.95 * row[f"{sensor}_readings"] <= states <= row[f"{sensor}_readings"]
    assert row["pressure_right"] <= row["pressure_told"]
    assert row["parted_right"] <= row["parted_named"] <= row["parted"]


def test_a_refusal_is_a_row_too() -> None:
    """Too thin a trial leaves its code, and nothing else breaks."""
    assert measure(plain(8, 1, 1.5), 3)["refused"] == "few-sticks"


def test_one_sensor_has_no_difference() -> None:
    """With one sensor there is no pair to compare and no fit without it."""
    found = measure(replace(SMALL, sensors=(Model("Fern"),)), 3)
    assert "difference_value" not in found
    assert "s0_without_mad_value" not in found
    assert found["s0_all_mad_value"] is not None


def test_every_world_has_its_part_and_enough_trials() -> None:
    """500 in the plain worlds, 100 in each other and faulty one; no name twice."""
    cases = between_cases()
    assert {case.part for case in cases.values()} == {"plain", "other", "faulty"}
    for case in cases.values():
        assert case.trials >= (500 if case.part == "plain" else 100)
        assert case.checked <= case.trials
    assert sum(case.part == "faulty" for case in cases.values()) >= 12


def test_the_stamp_is_of_what_is_imported() -> None:
    """It names the fit and the measuring, not pages or rooms that have no part in it."""
    found = between_run._imported("benchmarks.honesty.between")
    assert {"evenhand.reconstruct.model", "evenhand.compare.against", "evenhand.rehearse.invent"} <= set(
        found
    )
    assert not any(name.startswith(("evenhand.say", "evenhand.charts", "evenhand.store")) for name in found)
    assert between_run.stamp() == between_run.stamp()
    assert len(between_run.stamp()) == 12


def test_what_is_there_is_not_run_again(tmp_path: Path) -> None:
    """Seeds that have a whole line are not missing; a line cut off by a stop is."""
    case = between_cases()[plain().name]
    first = between_run.FIRST_SEED
    path_of(case.world.name, tmp_path).write_text(
        json.dumps({"seed": first}) + "\n" + json.dumps({"seed": first + 1})[:-3], encoding="utf-8"
    )
    left = between_run.missing(case, 0.01, tmp_path)
    assert left == [first + 1, first + 2, first + 3, first + 4]
    assert len(between_run.missing(case, 1.0, tmp_path)) == case.trials - 1


def made_rows(folder: Path, name: str, many: int, off: float) -> None:
    """Rows as the measuring writes them, with errors of our own: every second interval holds the truth."""
    lines = []
    for number in range(many):
        row = {
            "seed": number,
            "trusted": 1,
            "seconds": 3.0,
            "distance": 5.0,
            "bound": 4.8,
            "band_90": 0.9,
            "band_50": 0.5,
        }
        row |= {
            "lag_value": 9.0 + off,
            "lag_low": 5.0,
            "lag_high": 13.0,
            "lag_true": 9.0,
            "why": "",
            "cautions": "",
        }
        for sensor in ("s0", "s1"):
            for part in ("all", "night", "first_24h", "middle", "last_24h", "without"):
                for what in ("bias", "mad", "mard", "outside_percent"):
                    half = 1.0 if number % 2 else 3.0
                    row |= {
                        f"{sensor}_{part}_{what}_{end}": value
                        for end, value in (
                            ("value", 10.0 + 2.0),
                            ("low", 12.0 - half),
                            ("high", 12.0 + half),
                            ("true", 10.0),
                        )
                    }
            row |= {
                f"{sensor}_sticks_mad": 13.0,
                f"{sensor}_strays": 4,
                f"{sensor}_strays_right": 3,
                f"{sensor}_strays_chance": 3.6,
            }
            row |= {
                f"{sensor}_strays_true": 2,
                f"{sensor}_strays_found": 1,
                f"{sensor}_held": 90.0,
                f"{sensor}_held_out": 1.0,
            }
            row |= {
                f"{sensor}_alarms": 10,
                f"{sensor}_alarm_told": 7.0,
                f"{sensor}_alarm_true": 6.0,
                f"{sensor}_alarm_sure": 5,
            }
            row |= {
                f"{sensor}_alarm_sure_true": 5.0,
                f"{sensor}_alarm_false_sure": 1,
                f"{sensor}_alarm_false_sure_true": 0.0,
            }
        row |= {
            "difference_value": 1.0,
            "difference_low": 0.0,
            "difference_high": 2.0,
            "difference_true": 1.5,
        }
        row |= {
            "parted": 5,
            "parted_named": 4,
            "parted_right": 3,
            "parted_chance": 3.8,
            "pressure_told": 4,
            "pressure_right": 2,
            "pressure_true": 3,
            "pressure_found": 2,
            "dropped": 0,
            "sticks": 140,
        }
        lines.append(json.dumps(row))
    path_of(name, folder).write_text("\n".join(lines) + "\n", encoding="utf-8")


def test_the_table_counts_what_is_there(tmp_path: Path) -> None:
    """Coverage, mean error and RMSE as anyone would count them from these rows, with the Monte Carlo error of a share."""
    made_rows(tmp_path, plain().name, 120, 0.5)
    found = rows(plain().name, tmp_path)
    off, hits = between_table.errors(found, "all_mad")
    assert off == [2.0] * 240
    assert sum(hits) == 120
    lines = between_table.main_table(("plain",), tmp_path)
    assert len(lines) == 3
    assert "| 120 |" in lines[2]
    assert "+2.00 / 2.00 / 50.0 ± 4.6 !!" in lines[2]
    assert all(line.count("|") == lines[0].count("|") for line in lines)


def test_too_few_trials_are_not_judged(tmp_path: Path) -> None:
    """Under twenty intervals no coverage is printed."""
    made_rows(tmp_path, plain().name, 5, 0.0)
    assert "50.0" not in between_table.main_table(("plain",), tmp_path)[2]


def test_trust_is_counted_with_refusals(tmp_path: Path) -> None:
    """A world that is refused or not trusted is told as such, with the most common reason."""
    name = plain(20, 2, 4).name
    lines = [json.dumps({"seed": n, "refused": "few-sticks"}) for n in range(30)]
    path_of(name, tmp_path).write_text("\n".join(lines) + "\n", encoding="utf-8")
    (line,) = between_table.trust_table(("plain",), tmp_path)[2:]
    assert "few-sticks 30" in line
    assert between_table.main_table(("plain",), tmp_path)[2:] == []


def test_the_page_is_written_from_results(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every section stands; what was not run is said so."""
    made_rows(tmp_path / "abc", plain().name, 40, 0.0) if (tmp_path / "abc").mkdir() is None else None
    (tmp_path / "docs").mkdir()
    monkeypatch.setattr(between_page, "ROOT", tmp_path)
    between_page.write(tmp_path / "abc")
    text = (tmp_path / "docs" / "honesty-between.md").read_text(encoding="utf-8")
    for heading in (
        "## Plain worlds",
        "## Faulty worlds",
        "## Strays",
        "## Alarms",
        "## With it and without it",
    ):
        assert heading in text
    assert "code abc" in text
    assert plain().name in text

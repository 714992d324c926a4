"""What is said between the sticks: sentences from a judgement, and none where it is not trusted."""

from __future__ import annotations

import re

import pytest
from msgspec import structs
from tests.judge.invented import judged

from evenhand.findings.findings import Parted
from evenhand.findings.parts import Stray
from evenhand.say import between
from evenhand.say.blocks import judgement
from evenhand.stats.estimate import Est
from evenhand.units import Unit


def withheld(why: str = "held-out-days"):
    """The judgement with its reconstruction not trusted."""
    told = structs.replace(judged().reconstruction, trusted=False, why=why, ranges=None, line=None, parted=())
    return structs.replace(judged(), reconstruction=told)


def stray(
    start: str = "2026-03-02T21:10:00+00:00", end: str | None = "2026-03-03T02:50:00+00:00", **more
) -> Stray:
    given = {"size": 48.0, "largest": 70.0, "ending": "alone", "chance": 0.975, "source": "reconstruction"}
    return Stray(wear=1, start=start, end=end, **{**given, **more})


def strays(*found: Stray):
    """The judgement with these strays of the first sensor and none of the second."""
    first, second = judged().sensors
    return structs.replace(
        judged(), sensors=(structs.replace(first, strays=found), structs.replace(second, strays=()))
    )


def test_every_sentence_is_whole() -> None:
    """Both sensors, strays, partings, alarms, lag; no brace, no code, no word that pages do not use."""
    told = between.lines(judged(), Unit.MG_DL)
    assert len(told) >= 5
    assert "Fern" in told[0]
    assert "Slate" in told[0]
    assert "(reconstruction)" in told[0]
    for line in told:
        assert line[0].isupper()
        assert line.endswith(".")
        assert "{" not in line
        assert not re.search(r"\b(accurate|better|reliable|bootstrap|cluster|even scale|None)\b", line)


def test_mmol_is_spoken_in_mmol() -> None:
    """In the wearer's unit every glucose is, and no other."""
    told = " ".join(between.lines(judged(), Unit.MMOL_L))
    assert "mmol/L" in told
    assert "mg/dL" not in told


@pytest.mark.parametrize("why", ["held-out-days", "few-sticks", "one-sensor", "not-converged"])
def test_nothing_is_told_where_it_is_not_trusted(why: str) -> None:
    """No sentence, no block; the title says the reason in words."""
    findings = withheld(why)
    assert between.lines(findings, Unit.MG_DL) == ()
    assert between.trusted(findings) is None
    assert why not in between.title(findings)
    assert between.title(findings).startswith("Between the sticks nothing is told: ")
    assert between.HEADING not in {block.heading for block in judgement(findings, Unit.MG_DL)}


def test_not_asked_for_is_said() -> None:
    """By sticks alone there is nothing to title."""
    assert "not asked for" in between.title(structs.replace(judged(), reconstruction=None))


def test_the_block_stands_in_the_judgement() -> None:
    """On the terminal the sentences stand between the numbers and what is not proven, no line too wide."""
    blocks = judgement(judged(), Unit.MG_DL)
    headings = [block.heading for block in blocks]
    place = headings.index(between.HEADING)
    assert headings.index("Slate") < place < len(headings) - 2
    assert all(len(line) <= 80 for line in blocks[place].text(80).splitlines())


def test_the_longest_stray_is_the_one_told() -> None:
    """By time, not by size; and with its way, its length, its ending and its probability."""
    short = stray("2026-03-04T01:00:00+00:00", "2026-03-04T02:00:00+00:00", size=-90.0)
    findings = strays(short, stray())
    assert between.longest(findings) == ("Fern", stray())
    assert between.title(findings) == "Fern strayed longest: 5 h 40 min from 2 March, 21:10, came back alone"
    said = between.told_stray("Fern", stray(), Unit.MG_DL)
    assert said == (
        "From 2 March, 21:10 Fern read 48.0 mg/dL too high for 5 h 40 min, and came back alone, with a probability of 98 %."
    )


def test_endings_are_said() -> None:
    """After a calibration, and with the wear: no length then, because it did not end."""
    said = between.told_stray("Slate", stray(end=None, ending="wear", size=-30.0), Unit.MG_DL)
    assert "30.0 mg/dL too low from then, and lasted to the end of the wear" in said
    assert "after a calibration" in between.told_stray("Slate", stray(ending="calibration"), Unit.MG_DL)
    assert between.lasting(stray(end=None, ending="wear")) == "until its wear ended"
    assert between.lasting(stray(end="2026-03-02T21:45:00+00:00")) == "35 min"


def test_no_stray_is_a_finding_too() -> None:
    """Where none strayed the title says so, and sticks' strays do not count."""
    findings = strays(stray(source="sticks", chance=None))
    assert between.longest(findings) is None
    assert between.title(findings) == "No sensor is shown to have left its tolerance between the sticks"


def test_shares_of_time_add_up() -> None:
    """Held, strayed and unproven are the whole of what is told."""
    for sensor in judged().sensors:
        assert sum(between.shares(sensor).values()) == pytest.approx(100.0)
    bare = structs.replace(judged().sensors[0], against_reconstruction=None)
    assert sum(between.shares(bare).values()) == 0.0


def test_partings_are_counted_by_who_was_nearer() -> None:
    """Named ones by name, the rest as not to be said; none named is said as well."""
    told = judged().reconstruction
    one = Parted("2026-03-02T21:10:00+00:00", "2026-03-02T22:10:00+00:00", "Fern", 0.95)
    open_ = structs.replace(one, right=None, chance=0.6)
    said = between.parted_line(structs.replace(told, parted=(one, one, open_)))
    assert said == (
        "The sensors parted by more than the tolerance 3 times; nearer to blood was Fern 2, and for the rest it cannot be said."
    )
    assert "for none of them" in between.parted_line(structs.replace(told, parted=(open_,)))


@pytest.mark.parametrize(
    ("est", "words"),
    [
        (Est(-5.8, -9.4, -1.5), "6 min after blood had crossed the level (95 %: 9 to 2)"),
        (Est(-2.0, -9.0, 4.0), "2 min after blood had crossed the level (95 %: 9 after to 4 before)"),
        (Est(12.0, 3.0, 20.0), "12 min before blood crossed the level (95 %: 3 to 20)"),
        (Est(2.0, -3.0, 8.0), "2 min before blood crossed the level (95 %: 3 after to 8 before)"),
        (Est.missing("no-lows"), "cannot be said"),
    ],
)
def test_warning_is_said_with_its_side(est: Est, words: str) -> None:
    """Before or after the crossing, and an interval across it names both sides."""
    assert words in between._warning(est)


def test_probabilities_are_never_certain() -> None:
    """No 0 % and no 100 %."""
    assert [between.chance(share) for share in (0.0, 0.5, 0.989, 0.991, 1.0)] == [
        "under 1 %", "50 %", "99 %", "over 99 %", "over 99 %",
    ]  # fmt: skip

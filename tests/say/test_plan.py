"""Sentences about a plan."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.plan.making import at, trial

from evenhand.plan import checks
from evenhand.plan.ahead import Next, Phase, phases, upcoming
from evenhand.plan.cheapest import Cheapest, Option
from evenhand.plan.checks import Note, notes
from evenhand.plan.cost import Cost, cost_of
from evenhand.plan.draw import draw
from evenhand.records.plan import Chances, SensorPlan, Tells
from evenhand.say import plan as said
from evenhand.units import Unit


@pytest.fixture(name="made", scope="module")
def _made():
    made = trial(days=20)
    return made, draw(made, 0)


def test_every_wear_is_a_row_with_arm_and_times(made):
    """And the seed stands over them."""
    block = said.wears(*made)
    assert f"seed {made[1].seed}" in block.heading
    assert len(block.rows) == len(made[1].wears)
    assert all(row[1].startswith(("left", "right")) for row in block.rows)
    assert all(len(line) <= 80 for line in block.text().splitlines())


def test_an_early_wear_says_when_it_is_started():
    """Insertion and start are two moments then."""
    early = trial(sensors=(SensorPlan("s-0", early=12 * 3600),))
    told = dict(said.wears(early, draw(early, 0)).rows)
    assert ", started " in told["Fern 1"]
    assert ", started " not in told["Slate 1"]


def test_sticks_say_how_many_and_never_ask_for_lows_or_highs(made):
    """Nights by habit; lows and highs by themselves."""
    plan, drawn = made
    text = said.sticks(plan, drawn, cost_of(plan, drawn), phases(plan, drawn)).text()
    flat = " ".join(text.split())
    assert f"{len(drawn.minutes)} sticks at drawn minutes" in flat
    assert "Lows and highs come by themselves or not at all" in flat
    assert "Nights stay with habit" in flat


def test_thin_phases_are_named_and_none_is_silent():
    """From times alone."""
    assert (
        said.thin([Phase("Fern", "first_24h", 3), Phase("Fern", "middle", 90)])
        == "Thin in this schedule: first 24 h of Fern (3 sticks)."
    )
    assert said.thin([Phase("Fern", "middle", 90)]) is None


def test_cost_says_what_is_not_known():
    """A sum, a sum of what there is, or which price is missing."""
    known = Cost({"Fern": 3, "Slate": 2}, 1, 130, 10, 320.5, ())
    assert (
        said.cost(known, None)
        == "It takes 3 Fern and 2 Slate (1 spare among them) and 140 strips. In all 320.50."
    )
    assert said.cost(known, 400.0).endswith("In all 320.50 of the 400.00 there is.")
    missing = replace(known, money=None, unpriced=("Slate", "strips"))
    assert said.cost(missing, None).endswith("What it costs is not known: no price for Slate and strips.")


TELLS = Tells(
    3.0, 800, 98.4,
    (Chances(0.0, 0.03, 0.0, 0.26, 0.0, 0.02), Chances(3.0, 0.45, 0.01, 0.01, 0.002, 0.02), Chances(None, 0.41, 0.1, 0.11, 0.0, 0.03)),
)  # fmt: skip


def test_chances_name_what_they_are_of_and_how_sure(made):
    """'By chance' where they are equally close; the wrong one where it happens; how many trials, and give or take."""
    text = " ".join(said.tells(made[0], TELLS).text().split())
    for words in (
        "about these wears", "800 invented trials", "about 98 common pairs", "give or take 6 points", "equally close one named by chance 3 %",
        "one closer by 3 mg/dL closer 45 %", "the wrong one 0.2 %", "two of one kind closer 41 %", "not settled 71 %",
    ):  # fmt: skip
        assert words in text
    mmol = replace(made[0], header=replace(made[0].header, unit=Unit.MMOL_L))
    assert "one closer by 0.17 mmol/L" in " ".join(said.tells(mmol, TELLS).text().split())


@pytest.mark.parametrize(
    ("fewest", "why"),
    [
        (1, "One wear cannot"),
        (2, "Two wears of two identical kinds"),
        (3, "never above 85 %"),
        (7, "never above 85 %"),
    ],
)
def test_about_the_model_is_always_no_with_the_reason(fewest, why):
    """A plan never promises to tell the kinds apart."""
    text = said.about_model(fewest)
    assert text.startswith("About the model: no.")
    assert why in text


def test_the_fewest_wears_are_counted(made):
    """Of the sensor that has fewest."""
    assert said.fewest(*made) == 2


def test_every_note_there_can_be_has_its_sentence(made):
    """No code without words: taken from the source of the checks."""
    import inspect
    import re

    codes = set(re.findall(r'Note\(\s*"([a-z-]+)"', inspect.getsource(checks)))
    codes |= {"drives-pump", "drives-wearer", "exports-not-proved", "does-not-export"}
    assert len(codes) > 15
    for code in codes:
        (text,) = said.minded(
            made[0], [Note(code, "Fern", (at("2026-03-02T09:00"), at("2026-03-03T10:00")), 5.0)]
        )
        assert text.endswith((".", "h"))
        assert "None" not in text


def test_notes_of_a_plan_are_sentences(made):
    """With the moment in the wearer's own time."""
    plan, drawn = made
    told = said.minded(plan, notes(plan, drawn))
    assert told[0].startswith("Nothing reads from 2 March, 09:00 to 2 March, 10:00")


def test_what_comes_next_is_two_lines(made):
    """Stick and change; a minute that is just past counts as now."""
    plan, drawn = made
    before = drawn.minutes[0] - 3600
    first, second = said.upcoming(plan, upcoming(plan, drawn, before), before)
    assert first.startswith("The next planned stick is ")
    assert second.startswith("Next change: ")
    late = drawn.minutes[0] + 60
    assert "now: it was drawn for" in said.upcoming(plan, upcoming(plan, drawn, late), late)[0]


def test_ill_is_the_only_line(made):
    """Nothing else is asked."""
    (line,) = said.upcoming(made[0], Next(5, True, None, True), 0)
    assert "no planned stick now" in line


def test_after_the_end_nothing_lies_ahead(made):
    """One line."""
    assert said.upcoming(made[0], Next(None, False, None, False), 0) == ("No planned stick lies ahead.",)


def option(made, **told):
    plan, drawn = made
    wanted = replace(plan.plan.wanted, sensors=(SensorPlan("s-0", wears=2), SensorPlan("s-1", wears=2)))
    plan = replace(plan, plan=replace(plan.plan, wanted=wanted))
    return Option(
        plan,
        drawn,
        **{"money": 320.0, "sensors": 4, "strips": 150, "days": 20, "chance": 0.83, "error": 0.02} | told,
    )


def test_the_cheapest_is_told_with_what_takes_it(made):
    """Cost, chance with its error, and the settings."""
    found = Cheapest(option(made), option(made), 5.0, 0.8)
    first, second = said.cheapest(made[0], found)
    assert "naming the closer one 80 % of the time where it is closer by 5 mg/dL" in first
    assert (
        "2 wears of each over 20 days with 7 sticks a day: 4 sensors, 150 strips, 320.00 in all; 83 %"
        in first
    )
    assert (
        second
        == "To take it: evenhand plan --set days=any --set sticks=7 --set Fern.wears=2 --set Slate.wears=2"
    )


def test_that_none_reaches_it_is_told_with_the_best(made):
    """For 'equal' it says so; a price not known leaves the ranking said."""
    found = Cheapest(None, option(made, money=None, chance=0.4, error=None), 0.0, 0.8)
    first, second = said.cheapest(made[0], found)
    assert "No plan that was weighed reaches an answer 'equal'" in first
    assert "prices not known" in second
    assert "about 40 % as worked out" in second


def test_safety_stands_with_every_plan():
    """The usual cautions, briefly."""
    text = " ".join(said.SAFETY)
    for words in (
        "treat first",
        "Nobody goes low or high to fill a plan",
        "alarm for serious lows on",
        "while driving",
        "ill",
        "care team",
    ):
        assert words in text

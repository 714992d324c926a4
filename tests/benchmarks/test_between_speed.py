"""The page of the reconstruction's speed, from times of our own."""

from __future__ import annotations

from pathlib import Path

from benchmarks.between_speed import fitting, judging, page

FOUND = {
    "without the checks": (3.5, 200.0),
    "judge": (6.0, 210.0),
    "by sticks only": (1.0, 90.0),
    "one-minute sensors": (7.0, 300.0),
    "notebook": (70.0, 400.0),
}


def test_the_page_says_what_was_kept() -> None:
    """The limit is kept, the goal is not reached, and the ratio to the notebook stands."""
    text = page(FOUND, {20: (6.0, 210.0), 40: (11.5, 300.0), 90: (25.0, 500.0)}, 20)
    assert "At most 6 s for the first line: kept; the goal of 3 s: not reached." in text
    assert "The fit takes 0.050 of the notebook's time" in text
    assert "to the power of 0.99" in text
    assert "| 90 | 25.0 | 500 |" in text


def test_without_the_notebook_no_ratio_is_told() -> None:
    """What was not run is not on the page."""
    some = {name: one for name, one in FOUND.items() if name != "notebook"}
    text = page(some, {20: (6.0, 210.0)}, 20)
    assert "notebook" not in text
    assert "power" not in text
    slow = page({**some, "without the checks": (6.5, 200.0)}, {20: (6.0, 210.0)}, 20)
    assert "not kept" in slow


def test_commands_name_the_file() -> None:
    """Each side is a fresh process on that trial."""
    path = Path("some.trial")
    for command in (judging(path), judging(path, "--sticks-only"), fitting(path)):
        assert command[1] == "-c"
        assert "some.trial" in command[2]
    assert "--sticks-only" in judging(path, "--sticks-only")[2]

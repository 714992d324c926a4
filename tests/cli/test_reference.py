"""The reference of the command line."""

from evenhand.cli.main import COMMANDS
from evenhand.cli.reference import help_of, main, reference

CONTRACT = {
    "new": "--sensor --unit --zone --meter --set",
    "wear": "--sensor --inserted --started --removed --site --side --lot --serial --expires --ending --replaces --drives --was --claim",
    "plan": "--set --next --again --calendar --card --picture --chance --difference --json",
    "declare": "--set --yes --why --check --json",
    "intake": "--of --set --yes --picture --json",
    "stick": "--at --reason --shown --into --repeat --mark --lot --meter",
    "note": "--of --from --to --clocks",
    "judge": "--json --open --sticks-only",
    "report": "--out --open",
    "export": "--format",
    "undo": "--list",
    "check": "",
    "backup": "",
    "demo": "",
    "rehearse": "--days --wears --sticks --seed --out",
}


def flags(text):
    """The options that a help text describes."""
    return {
        line.strip().split()[0].rstrip(":") for line in text.splitlines() if line.strip().startswith("--")
    }


def test_every_command_has_exactly_the_flags_of_the_contract():
    """None is missing and none is there that was not agreed."""
    assert {name for name, *_ in COMMANDS} == set(CONTRACT)
    for name, agreed in CONTRACT.items():
        assert flags(help_of(name)) == set(agreed.split()), name


def test_no_positive_flag_has_a_negative_twin():
    """Nothing like --no-repeat."""
    assert "--no-" not in reference()


def test_the_reference_holds_every_command_and_the_safety_line(tmp_path):
    """Written to a file, it is what is returned."""
    assert main([str(tmp_path / "commands.md")]) == 0
    text = (tmp_path / "commands.md").read_text(encoding="utf-8")
    assert text == reference()
    assert all(f"\n## {name}\n" in text for name, *_ in COMMANDS)
    assert "sets no insulin dose" in text

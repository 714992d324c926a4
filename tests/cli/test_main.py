"""The command as a whole: exit codes, errors, what help imports, and the world outside."""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from tests.cli.running import ROOT, alone

from evenhand import __version__
from evenhand.cli.main import COMMANDS, main
from evenhand.store import file as store


def test_every_command_has_help_that_fits(desk):
    """`--help` names every command; each command's own help goes well and keeps to 80 columns."""
    listed = desk.done("--help").out
    for name, _, about in COMMANDS:
        assert f"{name}: {about}" in " ".join(listed.split())
        said = desk.done(name, "--help")
        assert said.out.startswith(f"Usage: evenhand {name}")
        assert max(map(len, said.out.splitlines())) <= 80


def test_the_version_is_told(desk):
    """The version of the package, alone."""
    assert desk.done("--version").out == f"{__version__}\n"


@pytest.mark.parametrize("name", ["declare", "plan", "pack", "pool", "serve"])
def test_what_comes_later_says_so(desk, name):
    """Commands of a later release are wrong use, and the message says why; as JSON where asked."""
    said = desk(name, "x.trial")
    assert (said.code, said.out) == (2, "")
    assert f"'{name}'" in said.err
    assert "later release" in said.err
    said = desk(name, "x.trial", "--json")
    assert (said.code, said.err) == (2, "")
    assert json.loads(said.out)["errors"][0]["code"] == "wrong-use"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("stik", "6.1"), "There is no command 'stik'. See 'evenhand --help'."),
        (
            ("stick", "6.1", "--colour", "red"),
            "There is no option '--colour' here. See 'evenhand stick --help'.",
        ),
        (("stick", "x.trial", "6.1", "7"), "'7' is one word too many."),
        (("stick", "6.1", "--at"), "--at is missing, or has no value."),
        (("stick", "6.1", "--at", "07:00", "--at", "08:00"), "--at is given more than once."),
        (("stick", "6.1", "--repeat=perhaps"), "'perhaps' is not possible for --repeat."),
    ],
)
def test_wrong_use_is_said_plainly(desk, words, told):
    """Exit code 2, one line on standard error, no box and no trace."""
    said = desk(*words)
    assert (said.code, said.out) == (2, "")
    assert told in said.err
    assert len(said.err.splitlines()) == 1


def test_errors_as_json_are_the_contract_s(desk):
    """Under --json an error is an object on standard output with the same exit code."""
    said = desk("judge", "gone.trial", "--json")
    assert (said.code, said.err) == (1, "")
    (error,) = json.loads(said.out)["errors"]
    assert set(error) == {"code", "file", "sheet", "line", "column", "found", "cure"}
    assert (error["code"], error["file"]) == ("no-trial-file", "gone.trial")


def test_words_that_are_no_text_are_refused(trial):
    """Bytes that are no characters reach no record."""
    said = trial("note", "meal", "caf\udce9")
    assert said.code == 2
    assert "not readable text" in said.err
    assert store.read("spring.trial").events == ()


def test_two_programs_writing_leave_one_message_and_no_loss(trial, monkeypatch):
    """Where another program changed the trial in between, nothing is written and the change is named."""
    from evenhand.desk import wears

    read = store.read

    def meanwhile(path, readings=True):
        found = read(path, readings)
        trial.now.tick(1)
        main(["stick", "spring.trial", "6.1"], trial.now)
        return found

    class Meanwhile:
        read = staticmethod(meanwhile)
        write = staticmethod(store.write)

    monkeypatch.setattr(wears, "store", Meanwhile)
    said = trial("wear", "spring.trial", "--sensor", "Fern", "--inserted", "07:00")
    assert said.code == 1
    assert "stick 6.1 mmol/L" in said.err
    assert store.read("spring.trial").wears == ()
    assert len(store.read("spring.trial").sticks) == 1


# In processes of their own ------------------------------------------------------------------------


def imported(folder, *words):
    """The modules that a command had imported when it was done."""
    code = (
        "import sys\nfrom evenhand.cli.main import main\n"
        f"code = main({list(words)!r})\nprint('modules', *sorted(sys.modules))\nsys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return set(done.stdout.splitlines()[-1].split()[1:])


SLOW = ("numpy", "scipy", "matplotlib", "msgspec", "jinja2", "python_calamine", "charset_normalizer")


def test_a_stick_imports_nothing_slow(trial):
    """Neither numpy nor anything else that takes long stands between the value and the trial file."""
    modules = imported(trial.folder, "stick", "6.1", "--reason", "habit", "--shown", "Fern=6.4")
    assert not modules & {*SLOW, "rich"}
    assert "evenhand.desk.sticks" in modules
    assert not imported(trial.folder, "stick", "6.1", "--mark", "unwashed") & {*SLOW, "rich"}
    assert not imported(trial.folder, "stick", "2.8") & {*SLOW, "rich"}


@pytest.mark.parametrize(
    "words", [("--help",), ("judge", "--help"), ("report", "--help"), ("rehearse", "--help")]
)
def test_help_imports_no_science(tmp_path, words):
    """Asking what a command does costs nothing."""
    assert not imported(tmp_path, *words) & set(SLOW)


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "America/St_Johns", "UTC"])
def test_the_machine_s_zone_never_leaks_in(trial, zone):
    """Under any TZ the same wall time in the trial's zone is the same instant, and is said back the same."""
    done = alone(trial.folder, "stick", "6.1", "--at", "2025-07-01 07:42", TZ=zone)
    assert done.stdout == "6.1 mmol/L at 07:42 on Tuesday 1 July 2025, no reason given\n"
    assert store.read(trial.folder / "spring.trial").sticks[0].at.iso == "2025-07-01T07:42:00+01:00"


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "America/St_Johns", "UTC"])
def test_the_machine_s_zone_is_taken_only_by_new(tmp_path, zone):
    """Without --zone a new trial takes TZ, says so, and keeps it."""
    done = alone(tmp_path, "new", "spring.trial", "--sensor", "Fern", TZ=zone)
    assert done.returncode == 0
    assert f"zone {zone} (taken from this computer)" in " ".join(done.stdout.split())
    assert store.read(tmp_path / "spring.trial").header.zone == zone


def test_exit_codes_leave_the_process(trial):
    """0 done, 1 refused, 2 wrong use, as the shell sees them."""
    folder = trial.folder
    assert alone(folder, "stick", "6.1").returncode == 0
    refused = alone(folder, "stick", "110")
    assert (refused.returncode, refused.stdout) == (1, "")
    wrong = alone(folder, "stick", "6.1", "--foo")
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert "Traceback" not in refused.stderr + wrong.stderr


@pytest.fixture
def open_folder():
    """A folder that another user may enter, removed afterwards."""
    made = Path(tempfile.mkdtemp(prefix="desk"))
    made.chmod(0o755)
    yield made
    shutil.rmtree(made)


AS_ANOTHER = """
import os, sys, urllib.parse
import evenhand.cli.export, evenhand.cli.judge, evenhand.cli.stick, evenhand.desk.judging, evenhand.say.blocks, rich.console
from evenhand.cli.main import main
from evenhand.desk.exporting import What
from evenhand.store import blocks, edition
if os.getuid() == 0:      # nothing is read-only for this user: become one for whom it is
    os.setgid(65534)
    os.setuid(65534)
for words in (["stick", PATH, "2.8"], ["export", PATH, "sticks"], ["judge", PATH]):
    print("->", main(words), flush=True)
"""


def test_a_read_only_trial_is_read_and_not_written(open_folder, trial):
    """Really read-only: a low is refused with its line last; exporting and judging still go well."""
    path = open_folder / "spring.trial"
    trial.done("stick", "6.1", "--at", "07:00")
    path.write_bytes(Path("spring.trial").read_bytes())
    path.chmod(0o444)
    open_folder.chmod(0o555)
    before = path.read_bytes()
    done = subprocess.run(
        [sys.executable, "-c", AS_ANOTHER.replace("PATH", repr(str(path)))],
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    open_folder.chmod(0o755)
    lines = done.stdout.splitlines()
    assert lines[:2] == ["Serious low. Treat now; get help if you need it.", "-> 1"]
    assert lines[2:5] == [
        "time,value,unit,flag,reason,meter,marks,shown",
        "2026-03-01T07:00:00+00:00,6.1,mmol/L,,unknown,meter,,",
        "-> 0",
    ]
    assert lines[-1] == "-> 0"
    assert "may not be written" in done.stderr
    assert "Traceback" not in done.stderr
    assert path.read_bytes() == before


def test_a_low_that_cannot_be_written_keeps_its_line(trial, monkeypatch):
    """The trial file turns out to be read-only: the reason on standard error, the safety line alone on output."""
    from evenhand.errors import TrialFileReadOnly

    def refuse(*_args):
        raise TrialFileReadOnly("The trial file may not be written.", "Check its permissions.")

    monkeypatch.setattr(store, "write", refuse)
    said = trial("stick", "2.8")
    assert (said.code, said.out) == (1, "Serious low. Treat now; get help if you need it.\n")
    assert "may not be written" in said.err


def test_a_broken_pipe_is_no_failure(trial):
    """Whoever read the output has seen enough: no trace, and the stick is saved all the same."""
    for number in range(40):
        trial.done("stick", "6.1", "--lot", f"{number}" * 400)
    command = f"{sys.executable} -m evenhand.cli export sticks --format json | head -c 1"
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {command}"],
        cwd=trial.folder,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert (done.stdout, done.stderr, done.returncode) == ("[", "", 0)


def test_output_is_text_on_a_terminal_that_lacks_characters(trial):
    """An ASCII terminal gets an escape, not a trace; data is UTF-8 always."""
    trial.done("note", "meal", "crème brûlée")
    narrow = {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "LC_ALL": "C"}
    assert alone(trial.folder, "note", "meal", "soup", **narrow).returncode == 0
    exported = alone(trial.folder, "export", "diary", **narrow)
    assert "crème brûlée" in exported.stdout


def test_the_reference_is_what_the_help_says():
    """docs/commands.md is made from the commands' help and is up to date."""
    from evenhand.cli.reference import reference

    assert (ROOT / "docs" / "commands.md").read_text(encoding="utf-8") == reference()


def test_the_installed_command_is_this_one():
    """The entry point of the package runs the same function."""
    assert 'evenhand = "evenhand.cli.main:main"' in Path(ROOT / "pyproject.toml").read_text(encoding="utf-8")


def test_stopping_a_command_leaves_one_word(trial, monkeypatch):
    """Ctrl-C: no trace, exit code 1, and what was saved before is whole."""

    def stopped(*_args, **_kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr(store, "write", stopped)
    said = trial("stick", "6.1")
    assert (said.code, said.out, said.err) == (1, "", "Stopped.\n")
    assert store.check("spring.trial").sound


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device")
@pytest.mark.parametrize(
    "words", [("judge",), ("judge", "--json"), ("export", "spring.trial", "sticks"), ("stick", "6.1"), ("undo", "--list")]
)  # fmt: skip
def test_output_that_finds_no_room_is_a_refusal(trial, words):
    """Exit code 1 and a sentence where standard output is full, never a traceback."""
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "evenhand.cli", *words],
            cwd=trial.folder,
            env=os.environ | {"PYTHONPATH": str(ROOT / "src")},
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            timeout=60,
        )
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    if "--json" not in words:
        assert done.stderr.startswith("The system refused (No space left on device).")


@pytest.mark.parametrize(
    "words",
    [
        ("note", "spring.trial", "other", "-"),
        ("stick", "spring.trial", "6.1", "--lot", "-"),
        ("wear", "spring.trial", "--sensor", "Fern", "--inserted", "07:00", "--site", "-"),
        ("backup", "spring.trial", "-"),
        ("report", "spring.trial", "--out", "-"),
        ("demo", "-"),
        ("rehearse", "--out", "-"),
        ("new", "other.trial", "--sensor", "-"),
    ],
)
def test_a_dash_means_standard_input_for_intake_alone(trial, words):
    """Elsewhere it is no word at all; nothing is written, least of all what stands for it inside."""
    said = trial(*words)
    assert said.code == 2
    assert "\0" not in said.out + said.err
    assert "made the trial" in trial.done("undo", "--list").flat
    assert "2  " not in trial.done("undo", "--list").out

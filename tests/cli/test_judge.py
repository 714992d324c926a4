"""`evenhand judge` and `evenhand report`."""

import json
from pathlib import Path

import jsonschema
import pytest
from tests.cli.running import alone
from tests.desk.frozen import Frozen

from evenhand.desk.rehearsal import RehearsalSaid
from evenhand.desk.rehearsing import rehearse
from evenhand.findings.edge import from_json, schema


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A rehearsed trial of six days."""
    return rehearse(tmp_path_factory.mktemp("judge") / "r", RehearsalSaid(6, 2, 7, 5), Frozen()).trial


@pytest.fixture
def judged(made, desk):
    """The same as x.trial in the folder, and the commands there."""
    (desk.folder / "x.trial").write_bytes(made.read_bytes())
    return desk


def test_the_judgement_reads_from_the_sentence_on(judged):
    """A sentence first, then numbers with intervals, then what it does not prove, then safety; 80 columns."""
    said = judged.done("judge")
    places = [said.flat.index(text) for text in ("your meter", "95 %", "What this does not prove", "Safety")]
    assert places == sorted(places)
    assert max(map(len, said.out.splitlines())) <= 80
    assert "\x1b" not in said.out
    assert "fingerstick decides" in said.flat


def test_json_is_the_contract(judged):
    """The object fits the schema and is the same twice; sensors go by their names."""
    said = judged.done("judge", "--json")
    found = json.loads(said.out)
    jsonschema.validate(found, schema())
    assert [sensor["name"] for sensor in found["sensors"]] == ["Fern", "Slate"]
    assert (found["contract"], found["unit"]) == (1, "mg/dL")
    assert found["reconstruction"]["trusted"] in (True, False)
    assert judged.done("judge", "x.trial", "--json").out == said.out


def test_by_sticks_only_leaves_the_reconstruction_out(judged):
    """The same answer without anything between the sticks; it is not kept in the place of the whole judgement."""
    whole = json.loads(judged.done("judge", "--json").out)
    alone = json.loads(judged.done("judge", "--json", "--sticks-only").out)
    jsonschema.validate(alone, schema())
    assert alone["reconstruction"] is None
    assert alone["head_to_head"] == whole["head_to_head"]
    assert json.loads(judged.done("judge", "--json").out) == whole


def test_nothing_to_open_is_said_aside(judged):
    """--open on a trial without a seal: the judgement on standard output, the remark on standard error."""
    said = judged.done("judge", "--open", "--json")
    assert "not sealed" in said.err
    assert from_json(said.out.encode()).primary.opened == ()


def test_an_empty_trial_is_judged_without_a_word_too_many(trial):
    """No sticks, no readings: exit code 0, no number, no trace."""
    assert trial.done("judge").out
    found = json.loads(trial.done("judge", "--json").out)
    assert found["span"] is None


def test_colour_is_kept_off_where_asked(judged):
    """With NO_COLOR, and off a terminal, there is not one escape."""
    done = alone(judged.folder, "judge", NO_COLOR="1")
    assert done.returncode == 0
    assert "\x1b" not in done.stdout + done.stderr
    assert done.stderr == ""


def test_a_report_is_written_beside_the_trial(judged):
    """NAME.html, said where; a second one replaces it; its edition is that of the judgement."""
    said = judged.done("report")
    assert said.out.splitlines()[0] == "Report: x.html"
    page = Path("x.html").read_text(encoding="utf-8")
    edition = json.loads(judged.done("judge", "--json").out)["edition"][:8]
    assert said.out.splitlines()[1] == f"Edition {edition}"
    assert edition in page
    assert "1 March 2026" in page
    Path("x.html").write_text("old", encoding="utf-8")
    judged.done("report", "x.trial")
    assert Path("x.html").read_text(encoding="utf-8") == page


def test_a_report_goes_where_it_is_sent(judged):
    """--out names the file; a place that cannot be written is refused and nothing is left."""
    assert judged.done("report", "--out", "page.htm").out.startswith("Report: page.htm\n")
    assert Path("page.htm").stat().st_size > 10_000
    said = judged("report", "--out", "gone/page.htm")
    assert (said.code, said.out) == (1, "")
    assert "--out" in said.err
    assert not Path("x.html").exists()


@pytest.mark.parametrize("out", ["spring.trial", "./spring.trial", "other.trial"])
def test_a_report_never_replaces_a_trial(trial, out):
    """Neither the trial that is judged nor what is called like one; nothing is judged and nothing is written."""
    before = (trial.folder / "spring.trial").read_bytes()
    said = trial("report", "spring.trial", "--out", out)
    assert said.code == 1
    assert "is the name of a trial file" in said.err
    assert (trial.folder / "spring.trial").read_bytes() == before
    assert not (trial.folder / "other.trial").exists()


def test_a_report_through_a_link_never_replaces_the_trial(trial):
    """A link of another name that leads to the trial is the trial."""
    (trial.folder / "page.html").symlink_to("spring.trial")
    assert trial("report", "spring.trial", "--out", "page.html").code == 1
    assert (trial.folder / "page.html").is_symlink()


@pytest.mark.parametrize("out", [".", "/", "folder"])
def test_a_report_is_no_folder(trial, out):
    """A folder is refused by name."""
    (trial.folder / "folder").mkdir()
    said = trial("report", "spring.trial", "--out", out)
    assert said.code == 1
    assert "is a folder" in said.err

"""`evenhand declare`: the question settled in a conversation or by settings, declared, checked, departed from."""

import hashlib
import json

import pytest
from tests.cli.typing_in import typed

from evenhand.store import file as store


def question():
    return store.read("spring.trial", readings=False).question


def test_answers_are_saved_as_a_draft_and_shown(trial):
    """Half-finished is saved; what is a default says so; what stands in the way is named with its cure."""
    said = trial.done("declare", "--set", "margin=0.2", "--set", "driver=pump Fern")
    assert question().margin == pytest.approx(3.603, abs=1e-3)
    assert "would make you switch (margin) 0.20 mmol/L" in said.flat
    assert "within 20/20 (default)" in said.flat
    assert "A pump acts on Fern. Do not swap it" in said.flat
    assert "Before it can be declared: It has no end" in said.flat
    assert max(map(len, said.out.splitlines())) <= 80
    assert question().declared is None


def test_each_answer_can_be_changed_until_declared(trial):
    """The last word counts; a change is a change like any other and can be taken back."""
    trial.done("declare", "--set", "tolerance=30")
    trial.done("declare", "--set", "tolerance=15")
    assert question().tolerance == 15
    trial.done("undo")
    assert question().tolerance == 30


def test_declaring_gives_a_fingerprint_and_a_text_to_publish(trial):
    """SHA-256 of the text that lies beside the trial; a date on one's own computer proves nothing, and that is said."""
    said = trial.done("declare", "--set", "end=2026-03-22", "--yes")
    text = (trial.folder / "spring.declaration.txt").read_bytes()
    print_ = hashlib.sha256(text).hexdigest()
    assert print_ in said.out
    assert question().declared.fingerprint == print_
    assert "proves nothing to others" in said.flat
    assert trial.done("declare", "--check", print_).flat.startswith(
        "The fingerprint is that of this trial's declaration"
    )
    assert trial.done("declare", "--check", "spring.declaration.txt").flat.startswith("The text is that of")


def test_a_page_that_names_the_fingerprint_is_recognised(trial):
    """A post, a handout, a page: whatever holds the 64 digits; line ends and a byte order mark do not matter."""
    trial.done("declare", "--set", "end=2026-03-22", "--yes")
    print_ = question().declared.fingerprint
    (trial.folder / "post.html").write_text(f"<p>I declare <b>{print_.upper()}</b></p>")
    assert "The fingerprint in it is that of" in trial.done("declare", "--check", "post.html").flat
    text = (trial.folder / "spring.declaration.txt").read_text(encoding="utf-8")
    (trial.folder / "mailed.txt").write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert "The text is that of" in trial.done("declare", "--check", "mailed.txt").flat


def test_another_declaration_is_not_this_one(trial):
    """One letter changed, another fingerprint: exit code 1 and a plain no. What is no declaration is said to be none."""
    trial.done("declare", "--set", "end=2026-03-22", "--yes")
    text = (trial.folder / "spring.declaration.txt").read_text(encoding="utf-8")
    (trial.folder / "other.txt").write_text(text.replace("looks: 1", "looks: 2"))
    said = trial("declare", "--check", "other.txt")
    assert (said.code, "is NOT that of this trial's declaration" in said.flat) == (1, True)
    assert trial("declare", "--check", "0123456789abcdef").code == 1
    (trial.folder / "list.txt").write_text("eggs, flour")
    assert "names no fingerprint" in trial("declare", "--check", "list.txt").err
    assert "There is no such file" in trial("declare", "--check", "nowhere.txt").err


def test_what_was_declared_is_not_edited_but_departed_from(trial):
    """Refused without a reason; with one it is appended with its date, printed with the answer, and the declared value
    judges on."""
    trial.done("declare", "--set", "margin=0.2", "--set", "end=2026-03-22", "--yes")
    before = question()
    refused = trial("declare", "--set", "margin=0.5")
    assert (refused.code, "is not edited any more" in refused.err) == (2, True)
    said = trial.done("declare", "--set", "strip_lots=L2, L3", "--why", "the shop had no L1 left")
    assert "Noted as a departure: strip_lots=L2, L3. Why: the shop had no L1 left." in said.flat
    assert question() == before
    (told,) = json.loads(trial.done("judge", "--json").out)["primary"]["deviations"]
    assert (told["at"][:10], told["what"], told["why"]) == (
        "2026-03-01",
        "strip_lots=L2, L3",
        "the shop had no L1 left",
    )
    assert "Departure, 2026-03-01" in trial.done("declare").flat


def test_a_departure_needs_a_declaration_and_a_what(trial):
    """Before declaring, or without saying what, --why is wrong use."""
    assert "Nothing is declared yet" in trial("declare", "--set", "looks=2", "--why", "x").err
    trial.done("declare", "--set", "end=2026-03-22", "--yes")
    assert trial("declare", "--why", "because").code == 2


def test_whether_a_must_have_is_met_is_learnt_not_declared(trial):
    """It can be told after declaring, and the fingerprint stays sound."""
    trial.done("declare", "--set", "must=Fern: works with my pump", "--set", "end=2026-03-22", "--yes")
    trial.done("declare", "--set", "met=Fern: works with my pump=no")
    assert question().must_haves[0].met is False
    said = trial.done("declare", "--check", question().declared.fingerprint)
    assert "something is otherwise" not in said.flat


def test_what_changed_since_is_named_line_by_line(trial):
    """Another meter's strips, another plan: the check shows what was declared and what is now."""
    trial.done("declare", "--set", "end=2026-03-22", "--yes")
    from dataclasses import replace

    from evenhand.records.change import Change

    held = store.read("spring.trial", readings=False)
    store.write("spring.trial", Change("x", trial.now.now, (replace(held.sensors[0], warm_up=3600),)))
    said = trial.done("declare", "--check", question().declared.fingerprint)
    assert "sensor 1 warm-up: not said -> sensor 1 warm-up: 3600 s" in said.flat


def test_a_declaration_stands_once_the_trial_has_begun(trial):
    """Before anything was worn or pricked it can be taken back; afterwards it cannot."""
    trial.done("declare", "--set", "end=2026-03-22", "--yes")
    trial.done("undo")
    assert question().declared is None
    trial.done("declare", "--yes")
    trial.done("wear", "--sensor", "Fern", "--inserted", "07:00")
    number = next(
        line.number for line in reversed(store.history("spring.trial")) if line.what.startswith("declared")
    )
    said = trial("undo", str(number))
    assert (said.code, "stands for good: the trial has begun" in said.err) == (1, True)


def test_declared_late_says_so(trial):
    """After the first insertion and two sticks: on which day, after how many. What was pricked before any sensor was in
    does not count, nor does control solution."""
    trial.done("stick", "5.0", "--at", "2026-02-20 08:00")
    trial.done("wear", "--sensor", "Fern", "--inserted", "2026-02-27 09:00")
    trial.done("stick", "6.1", "--at", "2026-02-27 12:00")
    trial.done("stick", "6.4", "--at", "yesterday 12:00")
    trial.done("stick", "7.0", "--at", "yesterday 13:00", "--mark", "control")
    said = trial.done("declare", "--set", "end=2026-03-22", "--yes")
    assert "declared on day 3, after 2 sticks; every answer says so." in said.flat
    assert "declared: 2026-03-01T08:00:00+00:00, day 3, after 2 sticks" in question().declared.text


@pytest.mark.parametrize(
    ("settings", "told"),
    [
        ((), "It has no end"),
        (("end=2026-02-20",), "is over"),
        (("end=2 wears", "looks=2"), "More than one look needs an end by date"),
    ],
)
def test_what_stands_in_the_way_is_told(trial, settings, told):
    """With the cure; nothing is declared."""
    words = [word for one in settings for word in ("--set", one)]
    said = trial("declare", *words, "--yes")
    assert (said.code, told in said.err) == (1, True)
    assert question().declared is None


def test_declared_once(trial):
    """A second declaration is refused."""
    trial.done("declare", "--set", "end=2026-03-22", "--yes")
    assert "is declared once" in trial("declare", "--yes").err


def test_a_conversation_saves_each_answer_and_can_be_left(trial, monkeypatch):
    """Tolerance, margin with a slip, two must-haves; then left: the next time it goes on where it stopped."""
    typed(monkeypatch, "30", "3", "0.25", "Fern: works with my pump", "reads on my watch", "")
    said = trial.done("declare")
    assert "1/13 How far off would a sensor have to be" in said.flat
    assert "If it is in mg/dL, write '3 mg/dL'." in said.flat
    assert "Saved so far." in said.err
    held = question()
    assert (held.tolerance, len(held.must_haves)) == (30, 3)
    typed(monkeypatch, "nobody", "none", "", "08:00-08:30, 17:00-17:45", "-", "-", "-", "-", "2026-03-22", "")
    said = trial.done("declare")
    assert "1/10 What drives your insulin" in said.flat
    assert question().quiet_hours == ((480, 510), (1020, 1065))
    assert "It can be declared: evenhand declare --yes." in said.flat
    assert max(map(len, said.out.splitlines())) <= 80


def test_enter_takes_the_default_and_makes_it_an_answer(trial, monkeypatch):
    """What was agreed to by Enter is the wearer's word; what has no default stays open."""
    typed(monkeypatch, "", "", "", "", "", "", "", "", "", "", "", "", "")
    trial.done("declare")
    assert set(question().answered) == {"tolerance", "margin", "must", "waking", "quiet", "looks"}
    assert question().margin == pytest.approx(0.17 * 18.0156, abs=0.1)


def test_nothing_is_asked_off_a_terminal(trial, monkeypatch):
    """A script gets the draft, not a question."""
    typed(monkeypatch, "30", terminal=False)
    assert trial.done("declare").out.startswith("The question so far, a draft:")
    assert question().tolerance == 20


def test_as_json(trial):
    """State, answers, what is missing, text; after declaring the fingerprint."""
    told = json.loads(trial.done("declare", "--set", "margin=0.2", "--json").out)
    assert (told["state"], told["fingerprint"], told["answered"]) == ("draft", None, ["margin"])
    assert told["missing"][0]["found"].startswith("It has no end")
    told = json.loads(trial.done("declare", "--set", "end=2026-03-22", "--yes", "--json").out)
    assert (told["state"], len(told["fingerprint"]), told["declared"]["sticks_before"]) == ("declared", 64, 0)
    checked = json.loads(trial.done("declare", "--check", told["fingerprint"], "--json").out)
    assert (checked["matches"], checked["sound"], checked["departed"]) == (True, True, [])


def test_checking_without_a_declaration(trial):
    """There is nothing to check against."""
    assert "no declaration to check" in trial("declare", "--check", "0" * 64).err

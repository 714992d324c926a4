"""The trial file's public calls."""

import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import date

import pytest
from tests.store.making import (
    DAY,
    T0,
    Change,
    CountsFrom,
    Event,
    EventKind,
    FileKey,
    Question,
    add_stick,
    beginning,
    full_stick,
    header,
    intake,
    sensor,
    source,
    stamp,
    stick,
    wear,
)  # fmt: skip

from evenhand.errors import (
    BadRecord,
    ContradictingRecords,
    Problems,
    TrialFileChanged,
    TrialFileExists,
    TrialFileMissing,
    UnknownName,
)
from evenhand.records.question import Declared, MustHave, Opening
from evenhand.store import file


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "a.trial"
    file.create(made, header(), beginning())
    return made


def everything():
    """One change with every kind of record."""
    stay = Declared(stamp(-60), 0, 0, 1, "ab" * 32)
    return Change(
        "everything", T0,
        records=(
            sensor("Fern", 0, interval=300, warm_up=3600, life=864000, grace=43200, counts_from=CountsFrom.START, price=0.1),
            wear(1, end=5 * DAY, lot="L1", serial="00042", expires=date(2027, 2, 28)),
            wear(2, start=6 * DAY, replaces="w-1"), full_stick(), stick(3),
            *(Event(f"e-{kind}", kind, stamp(60), T0, stamp(90), "Asia/Tokyo" if kind is EventKind.TRIP else "x", "s-fern") for kind in EventKind),
            Question("question", ("s-fern", "s-slate"), must_haves=(MustHave("Fern", "reads on my watch", met=False),), waking=(420, 1380), declared=stay),
            Opening("o-1", stamp(DAY), 2), FileKey("key-1", "csv", (("unit", "mg/dL"),)), source(1),
        ),
    )  # fmt: skip


def test_a_new_trial_is_read_back(path):
    """The header and the first change's records are there; nothing else is."""
    trial = file.read(path)
    assert trial.header == header()
    assert [made.name for made in trial.sensors] == ["Fern", "Slate"]
    assert (trial.wears, trial.sticks, trial.events, trial.readings, trial.change) == ((), (), (), {}, 1)
    assert trial.question == Question("question")


def test_every_kind_of_record_is_read_back_equal(path):
    """What was written is what is read, kind by kind, in the order the trial promises."""
    assert file.write(path, everything()) == 2
    trial = file.read(path)
    found = {
        *trial.sensors,
        *trial.wears,
        *trial.sticks,
        *trial.events,
        trial.question,
        *trial.openings,
        *trial.files,
        *trial.keys,
    }
    assert found == {*everything().records, sensor("Slate", 1)}
    assert [made.id for made in trial.sticks] == ["k-full", "k-0003"]
    assert [made.id for made in trial.wears] == ["w-1", "w-2"]
    assert trial.change == 2
    assert file.check(path).sound


def test_reading_without_readings_gives_the_same_records(path):
    """The fast way leaves out only the readings and the edition."""
    file.write(path, everything())
    file.write(path, intake(2))
    quick, whole = file.read(path, readings=False), file.read(path)
    assert quick == replace(whole, readings={}, edition="")
    assert whole.edition == file.edition(path)
    assert len(whole.readings["s-fern"]) == 20


@pytest.mark.parametrize(
    "name",
    [
        "two words.trial",
        "what?.trial",
        "a#b.trial",
        "100%.trial",
        "Übung ☂.trial",
        "no-ending",
        "a&mode=ro.trial",
        "it's.trial",
    ],
)
def test_any_file_name_will_do(tmp_path, name, monkeypatch):
    """Spaces, signs that mean something in an address, any script; relative paths too."""
    monkeypatch.chdir(tmp_path)
    file.create(name, header(), beginning())
    file.write(tmp_path / name, add_stick(1))
    assert [made.id for made in file.read(name).sticks] == ["k-0001"]
    assert sorted(made.name for made in tmp_path.iterdir()) == sorted([name, f"{name}.backups"])


def test_a_link_leads_to_the_file(tmp_path):
    """Writing through a link changes the file it leads to; journal and copies lie beside the file itself."""
    (tmp_path / "real").mkdir()
    (tmp_path / "desk").mkdir()
    real, link = tmp_path / "real" / "a.trial", tmp_path / "desk" / "mine.trial"
    file.create(real, header(), beginning())
    link.symlink_to(real)
    file.write(link, add_stick(1))
    assert file.read(real).sticks == (stick(1),)
    assert link.is_symlink()
    assert [made.name for made in (tmp_path / "desk").iterdir()] == ["mine.trial"]
    assert (tmp_path / "real" / "a.trial.backups").is_dir()


def test_a_copy_under_another_name_is_a_trial_of_its_own(path, tmp_path):
    """A copied file opens, has the same edition, and then goes its own way."""
    file.write(path, intake(1))
    other = tmp_path / "other.trial"
    shutil.copy(path, other)
    assert file.read(other).edition == file.read(path).edition
    file.write(other, add_stick(1))
    assert file.read(path).sticks == ()
    assert (tmp_path / "other.trial.backups").is_dir()


def test_create_never_overwrites(path, tmp_path):
    """A taken name is refused, a dangling link and a folder included, and what is there stays as it is."""
    before = path.read_bytes()
    with pytest.raises(TrialFileExists, match=r"a\.trial: There is a file of that name already"):
        file.create(path, header(), beginning())
    assert path.read_bytes() == before
    (tmp_path / "dangling.trial").symlink_to(tmp_path / "nowhere")
    for name in ("dangling.trial", "a.trial.backups"):
        (tmp_path / "a.trial.backups").mkdir(exist_ok=True)
        with pytest.raises(TrialFileExists):
            file.create(tmp_path / name, header(), beginning())
    assert not (tmp_path / "nowhere").exists()


def test_create_does_not_take_over_an_orphaned_journal(tmp_path):
    """A journal left without its file would be played into a new one of that name: refused."""
    (tmp_path / "a.trial-journal").write_bytes(b"left over")
    with pytest.raises(TrialFileExists, match="journal of an unfinished write"):
        file.create(tmp_path / "a.trial", header(), beginning())


def test_create_needs_its_folder(tmp_path):
    """A folder that is not there is said, not made."""
    with pytest.raises(TrialFileMissing, match="Its folder is not there"):
        file.create(tmp_path / "none" / "a.trial", header(), beginning())


def test_a_refused_beginning_leaves_nothing(tmp_path):
    """Where the first change is refused there is no file, and no half-made one."""
    twice = Change("made", T0, records=(sensor("Fern", 0), replace(sensor("Fern", 1), id="s-2")))
    with pytest.raises(ContradictingRecords, match="Two sensors are called Fern"):
        file.create(tmp_path / "a.trial", header(), twice)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("call", [file.read, file.history, file.check, file.ledger, file.batches, lambda path: file.write(path, add_stick(1)), lambda path: file.undo(path, None, T0), lambda path: file.backup(path, None, T0), lambda path: file.get_findings(path, "x"), lambda path: file.put_findings(path, "x", b"")])  # fmt: skip
def test_a_missing_file_is_said_and_not_made(tmp_path, call):
    """No call but `create` makes a file."""
    with pytest.raises(TrialFileMissing, match=r"b\.trial: There is no such trial file"):
        call(tmp_path / "b.trial")
    assert list(tmp_path.iterdir()) == []


def test_a_form_drawn_from_an_older_change_writes_nothing(path):
    """The conflict is refused and says what was changed since."""
    drawn = file.read(path, readings=False).change
    file.write(path, add_stick(1), expect=drawn)
    with pytest.raises(TrialFileChanged, match="change 2: logged stick 1"):
        file.write(path, add_stick(2), expect=drawn)
    file.undo(path, None, T0)
    with pytest.raises(TrialFileChanged, match="took back change 2"):
        file.write(path, add_stick(2), expect=2)
    assert file.read(path).sticks == ()
    assert file.write(path, add_stick(2), expect=3) == 4


def test_contradictions_are_refused_and_nothing_is_written(path):
    """All problems of a change are told at once; the file stays byte for byte as it was."""
    before = path.read_bytes()
    change = Change(
        "three mistakes", T0,
        records=(wear(1, "Moss"), Event("e", EventKind.SKIN, stamp(), T0, sensor="s-rush"), stick(1)),
    )  # fmt: skip
    with pytest.raises(Problems) as caught:
        file.write(path, change)
    assert [str(problem).split(",")[0] for problem in caught.value.each()] == [
        "A event names 's-rush'",
        "A wear names 's-moss'",
    ]
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("change", "error", "says"),
    [
        (Change("x", T0, withdrawn=("nobody",)), UnknownName, "no record 'nobody'"),
        (Change("x", T0, records=(stick(1), stick(1, 7.0))), BadRecord, "speaks twice"),
        (Change("x", T0, records=(FileKey("s-fern", "csv", ()),)), BadRecord, "is a sensor and cannot become a key"),
        (Change("x", T0, records=(Question("q1"), Question("q2"))), BadRecord, "one question"),
        (Change("x", T0, ledger=intake(9).ledger[:1]), ContradictingRecords, "names 'f-9'"),
        (Change("x", T0, batches=intake(9).batches), ContradictingRecords, "names 'f-9'"),
    ],
)  # fmt: skip
def test_an_impossible_change_is_refused(path, change, error, says):
    """Withdrawing what is not there, two versions at once, a record that turns into another kind."""
    with pytest.raises(error, match=says):
        file.write(path, change)
    assert len(file.history(path)) == 1


def test_the_same_batch_is_not_taken_twice(path):
    """Ids of readings are used once."""
    file.write(path, intake(1))
    with pytest.raises(BadRecord, match="'b-1' are there already"):
        file.write(path, replace(intake(1), records=()))
    assert len(file.batches(path)) == 1


def test_what_is_named_cannot_be_withdrawn(path):
    """A sensor with a wear stays until the wear is withdrawn, at the latest with it."""
    file.write(path, Change("wore", T0, records=(wear(1),)))
    with pytest.raises(ContradictingRecords, match="A wear names 's-fern'"):
        file.write(path, Change("x", T0, withdrawn=("s-fern",)))
    file.write(path, Change("both", T0, withdrawn=("s-fern", "w-1")))
    assert [made.name for made in file.read(path).sensors] == ["Slate"]


def test_findings_are_kept_by_edition_newest_three(path):
    """A judgement comes back byte for byte; the fourth pushes out the oldest; judging again renews."""
    for number in range(3):
        file.put_findings(path, f"edition {number}", bytes([number, 0, 255]))
    file.put_findings(path, "edition 0", b"again")
    file.put_findings(path, "edition 3", b"three")
    found = [file.get_findings(path, f"edition {number}") for number in range(4)]
    assert found == [b"again", None, bytes([2, 0, 255]), b"three"]
    assert len(file.history(path)) == 1


def test_undecodable_names_and_odd_texts_are_kept(path):
    """Half characters of a badly encoded file name, NUL, quotes and emoji in texts do no harm."""
    odd = "a\x00b 'q' \"d\" ☂ \udce9"
    file.write(path, Change(f"took in {odd}", T0, records=(replace(source(1), name=odd),)))
    assert file.read(path).files[0].name == odd
    assert file.history(path)[1].what == "took in a\x00b 'q' \"d\" ☂ \\udce9"


def test_the_path_of_a_stick_loads_nothing_heavy(path):
    """Reading the records and writing a stick imports neither numpy nor the JSON library of the findings."""
    code = f"""
import sys
from evenhand.store import file
from evenhand.records.change import Change
trial = file.read({str(path)!r}, readings=False)
file.write({str(path)!r}, Change("looked", {T0}), trial.change)
print([name for name in ("numpy", "msgspec", "hashlib", "tempfile", "asyncio") if name in sys.modules])
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_reading_the_records_is_quick(path):
    """300 sticks are read in well under 50 ms of processor time (best of five; measured 5 ms)."""
    import time

    file.write(path, Change("many", T0, records=tuple(stick(number) for number in range(300))))
    took = []
    for _ in range(5):
        start = time.process_time()
        file.read(path, readings=False)
        took.append(time.process_time() - start)
    assert min(took) < 0.05

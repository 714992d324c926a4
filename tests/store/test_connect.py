"""What can go wrong with a file on a disk: real failures wherever the system lets us make them."""

import os
import resource
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import textwrap
from contextlib import suppress
from pathlib import Path

import pytest
from tests.store.making import T0, Change, add_stick, beginning, header, intake, stick

from evenhand.errors import (
    BadRecord,
    CannotWrite,
    DiskFull,
    NotATrialFile,
    TrialFileBusy,
    TrialFileDamaged,
    UnknownName,
)  # fmt: skip
from evenhand.store import backups, connect, file

HERE = Path(__file__).parents[2]
NOBODY = 65534


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "a.trial"
    file.create(made, header(), beginning())
    file.write(made, intake(1, 2000))
    return made


def elsewhere(code, **more):
    """Runs code in another process, with everything imported before it starts; its standard output."""
    start = f"import os, sys, tempfile, urllib.parse\nsys.path[:0] = [{str(HERE / 'src')!r}, {str(HERE)!r}]\nfrom evenhand.store import file, connect, backups, history, health, blocks\nfrom evenhand.errors import EvenhandError\nfrom tests.store.making import *\n"
    done = subprocess.run(
        [sys.executable, "-c", start + textwrap.dedent(code)],
        capture_output=True,
        text=True,
        check=False,
        **more,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


# Two programs at once


def holder(path, seconds):
    """Another process that holds the write lock for so long; returned once it holds it."""
    code = f"""
import sqlite3, sys, time
connection = sqlite3.connect({str(path)!r}, isolation_level=None)
connection.execute("BEGIN IMMEDIATE")
print("held", flush=True)
time.sleep({seconds})
connection.execute("COMMIT")
"""
    other = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert other.stdout.readline() == "held\n"
    return other


def test_a_lock_that_stays_is_said(path, monkeypatch):
    """While another program writes and does not finish, the wait ends with a clear message; reading works.

    The wait is 5 s; here it is shortened to 0.3 s.
    """
    assert connect.TIMEOUT == 5.0
    monkeypatch.setattr(connect, "TIMEOUT", 0.3)
    other = holder(path, 60)
    try:
        with pytest.raises(
            TrialFileBusy, match=r"a\.trial: Another program was writing.*Nothing was written.*Try again"
        ):
            file.write(path, add_stick(1))
        with pytest.raises(TrialFileBusy):
            file.undo(path, None, T0)
        assert len(file.history(path)) == 2
    finally:
        other.kill()
        other.communicate()
    assert file.write(path, add_stick(1)) == 3


def test_reading_and_copying_say_so_too(path, tmp_path, monkeypatch):
    """Where another program keeps everybody out, neither reading nor a copy waits for ever."""
    monkeypatch.setattr(connect, "TIMEOUT", 0.2)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    for call in (file.read, lambda path: file.backup(path, tmp_path / "copy.trial", T0), lambda path: backups.copy(path, tmp_path / "copy.trial", replace=False)):  # fmt: skip
        with pytest.raises(TrialFileBusy):
            call(path)
    other.close()
    assert not (tmp_path / "copy.trial").exists()
    assert file.backup(path, tmp_path / "copy.trial", T0).exists()


def test_a_lock_that_goes_is_waited_for(path):
    """A write begun while another program writes succeeds once that has finished."""
    other = holder(path, 0.5)
    assert file.write(path, add_stick(1)) == 3
    other.communicate()


def test_two_programs_writing_lose_nothing(path):
    """Two processes of forty writes each: all eighty are there, each whole, numbered without a gap."""
    code = """
        for number in range(40):
            file.write(sys.argv[1], Change("w", T0, records=(stick(int(sys.argv[2]) + number), stick(int(sys.argv[2]) + 500 + number))))
    """
    start = f"import sys\nsys.path[:0] = [{str(HERE / 'src')!r}, {str(HERE)!r}]\nfrom evenhand.store import file\nfrom tests.store.making import *\n"
    others = [
        subprocess.Popen([sys.executable, "-c", start + textwrap.dedent(code), str(path), base], stderr=subprocess.PIPE, text=True)
        for base in ("1000", "2000")
    ]  # fmt: skip
    assert [other.communicate()[1] for other in others] == ["", ""]
    trial = file.read(path)
    assert len(trial.sticks) == 160
    assert [line.number for line in file.history(path)] == list(range(1, 83))
    assert file.check(path).sound


def test_a_form_loses_against_the_other_program(path):
    """Of two processes that drew the same form one writes; the other is told and writes nothing."""
    drawn = file.read(path, readings=False).change
    elsewhere(
        "file.write(sys.argv[1] if len(sys.argv) > 1 else os.environ['TRIAL'], add_stick(1))",
        env={**os.environ, "TRIAL": str(path)},
    )
    with pytest.raises(Exception, match="changed after it was read"):
        file.write(path, add_stick(2), expect=drawn)


# Read-only


@pytest.fixture
def open_folder():
    """A folder that another user may enter, removed afterwards."""
    made = Path(tempfile.mkdtemp(prefix="store"))
    made.chmod(0o755)
    yield made
    for part in (made, *made.rglob("*")):
        part.chmod(0o755 if part.is_dir() else 0o644)
    shutil.rmtree(made)


TRY_TO_WRITE = """
    if os.getuid() == 0:      # nothing is read-only for this user: become one for whom it is
        os.setgid(65534)
        os.setuid(65534)
    def tried(what):
        try:
            what()
            print("done")
        except EvenhandError as error:
            print(type(error).__name__, error)
    path = os.environ["TRIAL"]
    tried(lambda: file.write(path, add_stick(5)))
    tried(lambda: file.undo(path, None, T0))
    tried(lambda: file.put_findings(path, "e", b""))
    tried(lambda: file.create(os.path.dirname(path) + "/new.trial", header(), beginning()))
    print(len(file.read(path).sticks), file.check(path).sound)
"""


@pytest.mark.parametrize("what", ["file", "folder", "both"])
def test_read_only_is_said_and_reading_still_works(open_folder, what):
    """A file or a folder that may not be written (really: the process is another user): clear, nothing lost."""
    path = open_folder / "a.trial"
    file.create(path, header(), beginning())
    file.write(path, add_stick(1))
    path.chmod(0o444 if what in ("file", "both") else 0o666)
    (open_folder / "a.trial.backups").chmod(0o777)
    open_folder.chmod(0o555 if what in ("folder", "both") else 0o777)
    before = path.read_bytes()
    said = elsewhere(TRY_TO_WRITE, env={**os.environ, "TRIAL": str(path)}).splitlines()
    refused = "TrialFileReadOnly a.trial: The file, or its folder, may not be written. Nothing was written. Allow writing"
    assert all(line.startswith(refused) for line in said[:3]), said
    assert said[3].startswith("done" if what == "file" else "TrialFileReadOnly new.trial"), said
    assert said[4] == "1 True"
    assert path.read_bytes() == before


def test_a_file_that_may_not_even_be_read(open_folder):
    """Without any right to the file the message says so."""
    path = open_folder / "a.trial"
    file.create(path, header(), beginning())
    path.chmod(0o000)
    code = """
        if os.getuid() == 0:
            os.setuid(65534)
        try:
            file.read(os.environ["TRIAL"])
        except EvenhandError as error:
            print(type(error).__name__, error)
    """
    said = elsewhere(code, env={**os.environ, "TRIAL": str(path)})
    assert said.startswith("TrialFileReadOnly a.trial: ")


# Full disk


def test_a_full_disk_is_said_and_nothing_is_lost(path):
    """A write that finds no room: the file-size limit of a process stands in for the disk's end (real
    failures of the write call), at many sizes so that the journal, the file or the copy is hit."""
    before = file.read(path)
    size = path.stat().st_size
    code = """
        import resource, signal
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (int(os.environ["ROOM"]),) * 2)
        try:
            file.write(os.environ["TRIAL"], intake(2, 3000))
            print("done")
        except EvenhandError as error:
            print(type(error).__name__, error)
    """
    hit = set()
    for room in (600, 5000, size, size + 8192):
        said = elsewhere(code, env={**os.environ, "TRIAL": str(path), "ROOM": str(room)})
        assert said.startswith(("DiskFull", "CannotWrite")), said
        assert "Nothing was written" in said
        hit.add(said.split()[0])
        after = file.read(path)
        assert (after.edition, after.change) == (before.edition, before.change)
        assert file.check(path).sound
    assert hit
    assert file.write(path, intake(2, 3000)) == 3


def test_a_database_that_cannot_grow_is_a_full_disk(path, monkeypatch):
    """SQLite's own 'full' (here from a page limit, where no small disk can be mounted)."""
    plain = connect.connect

    def limited(*arguments):
        connection = plain(*arguments)
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        connection.execute(f"PRAGMA max_page_count = {pages + 2}")
        return connection

    from evenhand.store import session

    monkeypatch.setattr(session, "connect", limited)
    with pytest.raises(
        DiskFull, match=r"a\.trial: The disk is full\. Nothing was written, and nothing is lost\. Make room"
    ):
        file.write(path, intake(2, 3000))
    monkeypatch.undo()
    assert len(file.history(path)) == 2
    assert file.check(path).sound


def test_a_small_disk_that_fills(tmp_path):
    """A real file system of 400 kB that fills up, where this machine lets us mount one."""
    disk = tmp_path / "disk"
    disk.mkdir()
    code = """
        import ctypes
        libc = ctypes.CDLL(None, use_errno=True)
        if libc.unshare(0x00020000) or libc.mount(b"none", b"/", None, 0x44000, None) or libc.mount(b"tmpfs", os.environ["DISK"].encode(), b"tmpfs", 0, b"size=400k"):
            print("cannot mount")
            sys.exit()
        path = os.environ["DISK"] + "/a.trial"
        file.create(path, header(), beginning())
        written = 0
        for number in range(1, 100):
            try:
                file.write(path, intake(number, 300))
                written = number
            except EvenhandError as error:
                print(type(error).__name__, error)
                break
        assert file.check(path).sound, file.check(path)
        trial = file.read(path)
        assert len(trial.files) == written and len(trial.readings["s-fern"]) == 300 * written > 0
        print("whole")
    """
    said = elsewhere(code, env={**os.environ, "DISK": str(disk)})
    if said == "cannot mount":
        pytest.skip("this system does not let the tests mount a small disk")
    assert said.splitlines()[0].startswith("DiskFull a.trial: The disk is full. Nothing was written")
    assert said.splitlines()[-1] == "whole"


# Files that are something else


def test_a_file_cut_short_at_any_length_is_said(path, tmp_path):
    """Truncated anywhere, a trial file is refused as damaged: it never passes for a smaller trial."""
    whole = path.read_bytes()
    other = tmp_path / "cut.trial"
    for length in (
        *range(1, 130, 9),
        511,
        512,
        1000,
        4096,
        5000,
        8192,
        len(whole) // 2,
        len(whole) - 4096,
        len(whole) - 1,
    ):
        other.write_bytes(whole[:length])
        with pytest.raises((TrialFileDamaged, NotATrialFile)) as caught:
            file.read(other)
        if length >= 16:
            assert type(caught.value) is TrialFileDamaged, (length, caught.value)
            assert "evenhand check" in str(caught.value)
        with pytest.raises((TrialFileDamaged, NotATrialFile)):
            file.write(other, add_stick(1))
        assert other.read_bytes() == whole[:length]


def test_an_empty_file_is_said(tmp_path):
    """Zero bytes are no trial, and are left alone."""
    empty = tmp_path / "a.trial"
    empty.touch()
    for call in (file.read, file.check, lambda path: file.write(path, add_stick(1))):
        with pytest.raises(NotATrialFile, match=r"a\.trial: The file is empty \(0 bytes\)"):
            call(empty)
    assert empty.stat().st_size == 0


@pytest.mark.parametrize(
    "data", [b"time;value\n2026-03-01;6,1\n" * 50, b"\x00" * 5000, b"PK\x03\x04" * 300, b"x"]
)
def test_a_file_of_another_kind_is_said(tmp_path, data):
    """A table, zeros, an archive, a single letter: no trial file, and untouched."""
    other = tmp_path / "other.trial"
    other.write_bytes(data)
    for call in (file.read, file.check, lambda path: file.write(path, add_stick(1))):
        with pytest.raises(NotATrialFile, match=r"other\.trial: .*(not a trial file|no trial file)"):
            call(other)
    assert other.read_bytes() == data


def test_a_database_of_another_program_is_said(tmp_path):
    """An SQLite file that is not ours is refused and untouched."""
    other = tmp_path / "other.trial"
    connection = sqlite3.connect(other)
    connection.execute("CREATE TABLE change (number INTEGER)")
    connection.commit()
    connection.close()
    before = other.read_bytes()
    with pytest.raises(NotATrialFile, match="no trial file of Evenhand"):
        file.write(other, add_stick(1))
    assert other.read_bytes() == before


def test_a_folder_is_said(tmp_path):
    """A folder's name is no file's."""
    with pytest.raises(NotATrialFile, match="not a file"):
        file.read(tmp_path)


# Meanings


def test_a_failing_disk_is_not_called_full(path):
    """Input and output errors are told as such (the code is injected: no disk here can be made to fail)."""
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode = sqlite3.SQLITE_IOERR_READ
    assert type(connect.meaning(error, path)) is CannotWrite
    error.sqlite_errorcode = sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY
    assert type(connect.meaning(error, path)) is BadRecord


def test_a_defect_of_ours_is_not_dressed_up(path):
    """A wrong use of the database raises as it is."""
    error = sqlite3.ProgrammingError("Incorrect number of bindings")
    assert connect.meaning(error, path) is error


def test_keys_and_types_are_a_net(path):
    """SQL itself refuses a NULL, a wrong type and a change that is not there."""
    for statement in (
        "INSERT INTO change (number, at, what) VALUES (99, NULL, 'x')",
        "INSERT INTO change (number, at, what) VALUES (99, 'noon', 'x')",
        "INSERT INTO record (id, change, kind, body) VALUES ('x', 99, 'stick', '{}')",
        "INSERT INTO record (id, change, kind, body) VALUES ('s-fern', 1, 'sensor', '{}')",
        "INSERT INTO change (number, at, what, undoes) VALUES (99, 0, 'x', 99)",
        "INSERT INTO header (only_one, body) VALUES (2, '{}')",
    ):
        connection = connect.connect(path)
        try:
            with pytest.raises(sqlite3.IntegrityError):
                connection.execute(statement)
        finally:
            connection.close()


def test_a_file_left_in_another_journal_mode_comes_back(path):
    """A file that some tool has put into write-ahead mode is read, and put back by the next write."""
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.close()
    assert len(file.history(path)) == 2
    file.write(path, add_stick(1))
    assert sorted(made.name for made in path.parent.iterdir()) == ["a.trial", "a.trial.backups"]
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    connection.close()


@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="this system does not list open files")
def test_no_handle_outlives_a_call(path):
    """After any call, and after a refused one, this process has no handle on the file."""
    for call in (file.read, file.history, file.check, lambda path: file.write(path, add_stick(1)), lambda path: file.write(path, Change("x", T0, withdrawn=("none",))), lambda path: file.backup(path, None, T0)):  # fmt: skip
        with suppress(UnknownName):
            call(path)
        handles = [Path(f"/proc/self/fd/{number}") for number in range(3, 256)]
        held = [str(handle.readlink()) for handle in handles if handle.is_symlink()]
        assert not [name for name in held if "a.trial" in name]


def test_soft_limits_are_as_they_were():
    """The limits set for other processes did not leak into this one."""
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] == resource.RLIM_INFINITY
    assert stick(1).id == "k-0001"

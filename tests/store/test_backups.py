"""Copies beside the trial file."""

from pathlib import Path

import pytest
from tests.store.making import DAY, T0, Change, add_stick, beginning, header, intake

from evenhand.errors import CannotWrite, TrialFileDamaged, TrialFileExists, TrialFileMissing
from evenhand.store import backups, file


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "a.trial"
    file.create(made, header(), beginning())
    return made


def names(path):
    folder = backups.folder_of(path)
    return sorted(made.name for made in folder.iterdir()) if folder.exists() else []


def test_the_days_first_write_makes_a_copy_of_before(path):
    """The copy holds what was there before; later writes of the day leave it alone."""
    file.write(path, add_stick(1))
    file.write(path, add_stick(2))
    assert names(path) == ["2026-03-01.trial"]
    assert file.read(backups.folder_of(path) / "2026-03-01.trial").sticks == ()
    file.write(path, add_stick(3, at=T0 + DAY))
    assert names(path) == ["2026-03-01.trial", "2026-03-02.trial"]
    assert len(file.read(backups.folder_of(path) / "2026-03-02.trial").sticks) == 2


def test_the_day_is_the_wearers(tmp_path):
    """23:30 in Lisbon is the next morning in Tokyo: the trial's zone says which day it is."""
    for name, zone, day in (
        ("l.trial", "Europe/Lisbon", "2026-03-01"),
        ("t.trial", "Asia/Tokyo", "2026-03-02"),
    ):
        file.create(tmp_path / name, header(zone=zone), beginning())
        file.write(tmp_path / name, add_stick(1, at=T0 + 15 * 3600 + 1800))
        assert names(tmp_path / name) == [f"{day}.trial"]


def test_seven_days_are_kept(path):
    """The oldest daily copies go; copies asked for stay."""
    asked = file.backup(path, None, T0)
    for day in range(10):
        file.write(path, add_stick(day, at=T0 + day * DAY))
    assert names(path) == [asked.name, *(f"2026-03-{day:02d}.trial" for day in range(4, 11))]


def test_a_clock_put_back_does_not_cost_the_copy_just_made(path):
    """An instant before all others still leaves its copy."""
    for day in range(10):
        file.write(path, add_stick(day, at=T0 + day * DAY))
    file.write(path, add_stick(11, at=T0 - 30 * DAY))
    assert len(names(path)) == 7
    assert "2026-01-30.trial" in names(path)


def test_undo_is_a_write_and_findings_are_none(path):
    """Taking back makes the day's copy; keeping a judgement, which can be made again, does not."""
    file.put_findings(path, "e", b"{}")
    assert names(path) == []
    file.write(path, add_stick(1))
    file.undo(path, None, T0 + DAY)
    assert names(path) == ["2026-03-01.trial", "2026-03-02.trial"]


def test_a_refused_write_may_leave_the_copy_but_nothing_else(path):
    """The copy made for a change that is then refused is a good copy."""
    with pytest.raises(Exception, match="no record"):
        file.write(path, Change("x", T0, withdrawn=("nobody",)))
    assert file.check(backups.folder_of(path) / "2026-03-01.trial").sound


def test_damage_never_pushes_out_good_copies(path):
    """Before the day's first write the copy is checked; on damage nothing is written, no copy is dropped."""
    file.write(path, intake(1, 5000))
    for day in range(8):
        file.write(path, add_stick(day, at=T0 + day * DAY))
    before = names(path)
    with path.open("r+b") as handle:
        handle.seek(path.stat().st_size // 8192 * 4096)
        handle.write(b"\x07" * 4096)
    with pytest.raises(TrialFileDamaged, match="names the newest good copy"):
        file.write(path, add_stick(99, at=T0 + 9 * DAY))
    assert names(path) == before
    health = file.check(path)
    assert (health.sound, health.good_copy) == (False, backups.folder_of(path) / "2026-03-08.trial")


def test_a_copy_where_it_was_asked_for(path, tmp_path):
    """To a new file, into a folder, or among the others; whole, and never over another file."""
    file.write(path, intake(1))
    (tmp_path / "stick").mkdir()
    made = [file.backup(path, to, T0) for to in (tmp_path / "copy.trial", tmp_path / "stick", None)]
    assert made == [
        tmp_path / "copy.trial",
        tmp_path / "stick" / "a 2026-03-01 at 08.00.00.trial",
        backups.folder_of(path) / "2026-03-01 at 08.00.00.trial",
    ]
    for copy in made:
        assert file.read(copy).edition == file.read(path).edition
        with pytest.raises(TrialFileExists):
            file.backup(path, copy, T0)
    with pytest.raises(TrialFileMissing, match="folder is not there"):
        file.backup(path, tmp_path / "none" / "copy.trial", T0)
    with pytest.raises(TrialFileExists):
        file.backup(path, path, T0)


def test_leftovers_of_a_killed_copy_are_no_copies(path):
    """An unfinished copy is neither counted nor in the way."""
    folder = backups.folder_of(path)
    folder.mkdir()
    (folder / ".2026-03-01.trial.part").write_bytes(b"half")
    assert backups.copies(path) == ()
    file.write(path, add_stick(1))
    assert names(path) == ["2026-03-01.trial"]


def test_a_file_in_the_way_of_the_folder_is_said(path):
    """Where the copies' folder cannot be made, nothing is written and the name is told."""
    Path(f"{path}.backups").write_text("in the way", encoding="utf-8")
    with pytest.raises(CannotWrite, match=r"a\.trial\.backups"):
        file.write(path, add_stick(1))
    assert file.read(path).sticks == ()


def test_a_file_system_without_hard_links_will_do(path, tmp_path, monkeypatch):
    """Where hard links are refused the finished file is renamed instead (the refusal is injected)."""

    def refuse(*_):
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(backups.os, "link", refuse)
    file.create(tmp_path / "b.trial", header(), beginning())
    assert file.read(tmp_path / "b.trial").header == header()
    with pytest.raises(TrialFileExists):
        file.create(tmp_path / "b.trial", header(), beginning())
    assert sorted(made.name for made in tmp_path.iterdir()) == ["a.trial", "b.trial"]

"""The page of an answer, written."""

import pytest
from tests.desk.frozen import Frozen

from evenhand.desk.rehearsal import RehearsalSaid
from evenhand.desk.rehearsing import rehearse
from evenhand.desk.reporting import write_report
from evenhand.errors import CannotWrite
from evenhand.store import file as store


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    """A small rehearsed trial."""
    return rehearse(tmp_path_factory.mktemp("reporting") / "r", RehearsalSaid(3, 1, 6, 5), Frozen()).trial


def test_the_page_lies_beside_the_trial(path):
    """NAME.html, with the judgement's edition and the date of the clock that was given."""
    written = write_report(path, None, Frozen("2026-04-02 10:00"))
    assert written.path == path.with_suffix(".html")
    page = written.path.read_text(encoding="utf-8")
    assert written.judged.findings.edition == store.edition(path)
    assert written.judged.findings.edition[:8] in page
    assert "2 April 2026" in page
    assert sorted(one.name for one in path.parent.glob(".*")) == []


def test_progress_runs_from_judging_to_drawing(path, tmp_path):
    """Shares only grow, and end at 1."""
    told = []
    write_report(path, tmp_path / "x.html", Frozen(), progress=lambda share, what: told.append(share))
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_a_page_that_cannot_be_written_leaves_the_judgement(path, tmp_path):
    """The place is refused; what was judged is kept in the trial file all the same."""
    with pytest.raises(CannotWrite):
        write_report(path, tmp_path / "gone" / "x.html", Frozen())
    assert store.get_findings(path, store.edition(path)) is not None

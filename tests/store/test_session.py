"""One connection per call."""

import sqlite3

import pytest
from tests.store.making import T0, beginning, header

from evenhand.errors import TrialFileDamaged
from evenhand.store import file
from evenhand.store.session import header as header_of
from evenhand.store.session import reading, writing


@pytest.fixture
def path(tmp_path):
    made = tmp_path / "a.trial"
    file.create(made, header(), beginning())
    return made


def test_a_reading_connection_cannot_write(path):
    """Reading is reading: SQL that writes is refused."""
    with pytest.raises(Exception, match="may not be written"), reading(path) as connection:
        connection.execute("DELETE FROM change")
    assert len(file.history(path)) == 1


def test_a_reading_connection_sees_one_moment(path):
    """What another program commits meanwhile is not half seen; it waits, or is seen at the next call."""
    with reading(path) as connection:
        before = connection.execute("SELECT count(*) FROM change").fetchone()
        other = sqlite3.connect(path, timeout=0, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        other.execute("INSERT INTO change (number, at, what) VALUES (2, 0, 'other')")
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("COMMIT")
        assert connection.execute("SELECT count(*) FROM change").fetchone() == before
    other.execute("COMMIT")
    other.close()
    assert len(file.history(path)) == 2


def test_an_exception_takes_everything_back(path):
    """Whatever goes wrong inside, the file is as it was, and can be written again."""

    def half():
        with writing(path, T0) as connection:
            connection.execute("INSERT INTO change (number, at, what) VALUES (2, 0, 'half')")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        half()
    assert len(file.history(path)) == 1
    assert not path.with_name("a.trial-journal").exists()


def test_the_header_is_strict(path):
    """A header that does not fit its type is damage."""
    with reading(path) as connection:
        assert header_of(connection, path) == header()
    connection = sqlite3.connect(path)
    connection.execute("""UPDATE header SET body = replace(body, '"seed":', '"speed":')""")
    connection.commit()
    connection.close()
    with pytest.raises(TrialFileDamaged, match="unknown field speed"):
        file.read(path)

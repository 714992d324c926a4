"""The fuzzer: some hundreds of its cases, and that it sees what it is for."""

import pytest

from benchmarks import fuzz


@pytest.mark.parametrize("first", range(0, 600, 100))
def test_some_hundred_cases(first):
    """No traceback, no row without a fate, no value that does not stand in the file."""
    seen, failed = fuzz.run(first, 100)
    assert failed == []
    assert sum(seen.values()) == 100


def test_a_case_is_the_same_each_time():
    """A seed makes its case again."""
    assert [fuzz.case(seed) for seed in range(50)] == [fuzz.case(seed) for seed in range(50)]


def test_cases_are_of_every_outcome():
    """Some are read, some asked about, some refused."""
    seen, _ = fuzz.run(0, 300)
    assert {"read", "asked", "bad-file"} <= set(seen)


def test_a_broken_promise_is_found(monkeypatch):
    """A defect in the reader is reported with its seed."""

    def defect(*_args):
        raise ZeroDivisionError

    monkeypatch.setattr(fuzz, "propose", defect)
    seen, failed = fuzz.run(7, 3)
    assert (sum(seen.values()), failed) == (0, [7, 8, 9])


def test_chunks_cover_every_seed_once():
    """A run can go on where another ended."""
    assert list(fuzz.chunks(3, 11, 5)) == [(3, 5), (8, 5), (13, 1)]

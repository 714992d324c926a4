"""A second process for work beside this one."""

from __future__ import annotations

import concurrent.futures
import os

import pytest

from evenhand.desk.second_core import second_core


def test_work_is_done_in_another_process() -> None:
    """What is handed in runs elsewhere and comes back."""
    with second_core() as pool:
        assert pool is not None
        assert pool.submit(os.getpid).result() != os.getpid()
        assert pool.submit(pow, 2, 10).result() == 1024


def test_where_none_can_be_made_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """A system without processes or semaphores gives None, no error."""

    def refused(_count: int) -> None:
        raise OSError("no semaphores here")

    monkeypatch.setattr(concurrent.futures, "ProcessPoolExecutor", refused)
    with second_core() as pool:
        assert pool is None


def test_an_error_passes_through() -> None:
    """What goes wrong inside is not swallowed, and nothing is left waiting."""

    def fail() -> None:
        with second_core() as pool:
            assert pool is not None
            raise KeyError("x")

    with pytest.raises(KeyError):
        fail()

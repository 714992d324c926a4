"""A second process beside this one, for work that can be done at the same time; none where the system allows none."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager


@contextmanager
def second_core() -> Iterator[Executor | None]:
    """An executor with one process, started when it is first given something; None where none can be made. What was
    begun in it is not waited for when an error passes through."""
    try:
        from concurrent.futures import ProcessPoolExecutor

        pool = ProcessPoolExecutor(1)
    except (OSError, ImportError, NotImplementedError):
        yield None
        return
    failed = True
    try:
        yield pool
        failed = False
    finally:
        pool.shutdown(wait=not failed, cancel_futures=True)

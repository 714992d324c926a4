"""Writers killed at random moments lose nothing that was acknowledged and leave nothing half done."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parents[2]


def killed(what, folder, rounds, seed):
    """Runs killed.py; the numbers it printed."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.store.killed", what, str(folder), str(rounds), str(seed)],
        cwd=HERE, capture_output=True, text=True, check=False, timeout=120,
        env={**os.environ, "PYTHONPATH": f"{HERE / 'src'}{os.pathsep}{HERE}", "OPENBLAS_NUM_THREADS": "1"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-3000:]
    return [int(word) for word in done.stdout.split()]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
def test_120_killed_writers_lose_nothing(tmp_path):
    """120 times a writer of changes, undoes and daily copies is killed (SIGKILL) at a random moment.

    After each the file opens, passes its check, and holds every acknowledged change whole and at most the one
    under way; the copies beside it are whole too. Some kills must have caught a write in its middle, or the
    test would prove nothing.
    """
    rounds, kept, hot, _ = killed("write", tmp_path, 120, 20260301)
    assert rounds == 120
    assert kept > 12
    assert hot >= 3


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
def test_a_killed_create_leaves_a_whole_file_or_none(tmp_path):
    """40 times the making of a file is killed at a random moment of it: there is a whole trial, or the name is free."""
    rounds, whole = killed("create", tmp_path, 40, 7)
    assert rounds == 40
    assert 0 < whole < 40

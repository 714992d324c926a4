"""Running commands in tests: in this process with a frozen world, or in one of their own."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.desk.frozen import Frozen

from evenhand.cli.main import main

ROOT = Path(__file__).parents[2]


@dataclass
class Said:
    """What a command said, and its exit code."""

    code: int
    out: str
    err: str

    @property
    def flat(self) -> str:
        """Standard output on one line, so that wrapping does not matter."""
        return " ".join(self.out.split())


@dataclass
class Desk:
    """A folder with a frozen world, in which commands run."""

    folder: Path
    now: Frozen
    capsys: pytest.CaptureFixture[str]

    def __call__(self, *words: str) -> Said:
        self.capsys.readouterr()
        code = main(words, self.now)
        captured = self.capsys.readouterr()
        return Said(code, captured.out, captured.err)

    def done(self, *words: str) -> Said:
        """The same, for a command that has to go well."""
        said = self(*words)
        assert said.code == 0, said.err
        return said


def alone(folder: Path, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """A command in its own process, with the real world."""
    kept = {name: value for name, value in os.environ.items() if name not in ("TZ", "NO_COLOR")}
    return subprocess.run(
        [sys.executable, "-m", "evenhand.cli", *words],
        cwd=folder,
        env=kept | {"PYTHONPATH": str(ROOT / "src")} | environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
        stdin=subprocess.DEVNULL,
    )

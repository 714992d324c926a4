"""A progress bar on standard error, for work that takes longer than a second on a terminal."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import TYPE_CHECKING, Self

from evenhand.cli.world import now

if TYPE_CHECKING:
    from rich.progress import Progress as Bars
    from rich.progress import TaskID

PATIENCE = 1.0
"""Seconds before anything is shown."""


class Bar:
    """Shows what is being done and how much is left. Silent in the first second and off a terminal."""

    def __init__(self) -> None:
        self._clock = now()
        self._begun = self._clock.ticks()
        self._bars: Bars | None = None
        self._task: TaskID | None = None
        self._shows = sys.stderr.isatty()

    def __enter__(self) -> Self:
        return self

    def __call__(self, share: float, what: str) -> None:
        """Told by whoever works: the share done, 0 to 1, and what is being done."""
        if not self._shows or self._clock.ticks() - self._begun < PATIENCE:
            return
        if self._bars is None or self._task is None:
            if share >= 1.0:
                return
            self._bars, self._task = _started(what)
        self._bars.update(self._task, description=what, completed=share)

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bars is not None:
            self._bars.stop()


def _started(what: str) -> tuple[Bars, TaskID]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    bars = Progress(
        TextColumn("{task.description}"),
        BarColumn(bar_width=24),
        TaskProgressColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        transient=True,
    )
    bars.start()
    return bars, bars.add_task(what, total=1.0)

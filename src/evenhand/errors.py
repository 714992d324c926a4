"""One class per failure: what was found, where, and what would cure it; never a word about how to show it.

Every failure a user can meet is an `EvenhandError`. The edges (command line, later the local site)
turn it into text, JSON, an exit code or an HTTP status; nothing in between catches it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class Place:
    """Where in the input something was found; lines and columns count from 1.

    >>> str(Place(file="meter.csv", line=14, column="Glucose"))
    'meter.csv, line 14, column Glucose'
    """

    file: str | None = None
    sheet: str | None = None
    line: int | None = None
    column: str | None = None

    def __str__(self) -> str:
        parts = [
            self.file,
            f"sheet {self.sheet}" if self.sheet else None,
            f"line {self.line}" if self.line is not None else None,
            f"column {self.column}" if self.column else None,
        ]
        return ", ".join(part for part in parts if part)


NOWHERE = Place()


class EvenhandError(Exception):
    """Something could not be done; says what was found, where, and the cure."""

    code: ClassVar[str] = "refused"
    exit_code: ClassVar[int] = 1
    http_status: ClassVar[int] = 400

    def __init__(self, found: str, cure: str, place: Place = NOWHERE) -> None:
        self.found = found
        self.cure = cure
        self.place = place
        super().__init__(self.__str__())

    def __str__(self) -> str:
        where = str(self.place)
        return f"{where}: {self.found} {self.cure}" if where else f"{self.found} {self.cure}"

    def each(self) -> tuple[EvenhandError, ...]:
        """Every single problem in this failure: itself, or those it gathers."""
        return (self,)


class Problems(EvenhandError):
    """Several problems of one input, told at once."""

    code = "problems"

    def __init__(self, problems: Iterable[EvenhandError]) -> None:
        self.problems = tuple(problems)
        if not self.problems:
            raise ValueError("Problems needs at least one problem")
        super().__init__(f"{len(self.problems)} problems.", "Each is named below.")

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)

    def each(self) -> tuple[EvenhandError, ...]:
        return tuple(single for problem in self.problems for single in problem.each())


def raise_all(problems: Iterable[EvenhandError]) -> None:
    """Raise what was gathered: nothing for none, the one itself for one, `Problems` for more."""
    gathered = tuple(problems)
    if len(gathered) == 1:
        raise gathered[0]
    if gathered:
        raise Problems(gathered)


class WrongUse(EvenhandError):
    """The command line was not understood."""

    code = "wrong-use"
    exit_code = 2


class BadValue(EvenhandError):
    """A number, unit or word that cannot be a glucose value."""

    code = "bad-value"


class BadTime(EvenhandError):
    """A time that cannot be understood, or does not exist where the wearer was."""

    code = "bad-time"


class BadRecord(EvenhandError):
    """A record that contradicts itself."""

    code = "bad-record"


class ContradictingRecords(EvenhandError):
    """Two records that cannot both be true."""

    code = "contradicting-records"


class CannotPlan(EvenhandError):
    """No plan keeps what was asked."""

    code = "cannot-plan"


class UnknownName(EvenhandError):
    """A sensor, zone, key or kind that this trial does not have."""

    code = "unknown-name"
    http_status = 404


class BadFile(EvenhandError):
    """A file that cannot be read as a table of readings or sticks."""

    code = "bad-file"


class OpenQuestions(EvenhandError):
    """A file that could be read two ways; nothing is written until the question is answered."""

    code = "open-question"
    http_status = 409


class TrialFileMissing(EvenhandError):
    """There is no trial file at that path."""

    code = "no-trial-file"
    http_status = 404


class TrialFileExists(EvenhandError):
    """A file of that name is there already and is not overwritten."""

    code = "trial-file-exists"
    http_status = 409


class NotATrialFile(EvenhandError):
    """The file is no trial file of Evenhand."""

    code = "not-a-trial-file"


class TrialFileTooNew(EvenhandError):
    """The trial file was written by a newer Evenhand."""

    code = "trial-file-too-new"


class TrialFileDamaged(EvenhandError):
    """The trial file is truncated or damaged."""

    code = "trial-file-damaged"


class TrialFileReadOnly(EvenhandError):
    """The trial file, or its folder, may not be written."""

    code = "trial-file-read-only"
    http_status = 403


class TrialFileBusy(EvenhandError):
    """Another program is writing to the trial file."""

    code = "trial-file-busy"
    http_status = 409


class TrialFileChanged(EvenhandError):
    """The trial file was changed by someone else since it was read."""

    code = "trial-file-changed"
    http_status = 409


class DiskFull(EvenhandError):
    """There is no room to write."""

    code = "disk-full"
    http_status = 507


class NothingToUndo(EvenhandError):
    """There is no such change, or it has been undone."""

    code = "nothing-to-undo"
    http_status = 404


class CannotWrite(EvenhandError):
    """An output file could not be written."""

    code = "cannot-write"

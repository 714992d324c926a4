"""`evenhand demo`: an invented wearer's trial, from files to report, through the ordinary commands."""

from __future__ import annotations

import io
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from evenhand.cli.progress import Bar
from evenhand.cli.streams import line, words
from evenhand.cli.world import now
from evenhand.errors import EvenhandError

if TYPE_CHECKING:
    from evenhand.desk.demonstrating import Demo

_Dir = Annotated[str, Parameter(name="DIR", help="The folder to make. Left out: evenhand-demo.")]


def demo(folder: _Dir = "evenhand-demo", /) -> int:
    """Invent a trial, take its files in, judge it, write its report."""
    from evenhand.desk.demonstrating import prepare_demo
    from evenhand.desk.reporting import write_report
    from evenhand.say.answer import answer

    with Bar() as bar:
        bar(0.0, "inventing a trial")
        made = prepare_demo(Path(folder))
        words(
            f"Invented {made.days} days of somebody wearing two sensors and pricking fingers: nobody's readings, "
            f"made up from beginning to end. The files that such a wearer would have are in {made.folder}."
        )
        line("")
        _diary(made, bar)
        _files(made, bar)
        reported = write_report(
            made.trial, None, now(), progress=lambda share, what: bar(0.5 + 0.5 * share, what)
        )
    judged = reported.judged
    line("")
    for sentence in answer(judged.findings, judged.trial.header.unit):
        words(sentence)
    line("")
    line(f"Report: {reported.path}")
    _next(made)
    return 0


def _diary(made: Demo, bar: Bar) -> None:
    """Run the diary's commands as if they were typed."""
    for number, command in enumerate(made.commands):
        bar(0.1 + 0.2 * number / len(made.commands), "keeping the diary")
        run_quietly(command, made)
    kinds = [command[0] for command in made.commands]
    words(
        f"Made {made.trial.name} and kept its diary: {kinds.count('wear')} wears, {kinds.count('note')} notes, "
        f"{kinds.count('stick')} typed fingersticks."
    )


def _files(made: Demo, bar: Bar) -> None:
    """Take the files in through the ordinary intake."""
    files = [*made.written.exports, ("meter", made.written.meter)]
    for number, (whose, path) in enumerate(files):
        bar(0.3 + 0.2 * number / len(files), f"taking in {path.name}")
        told = run_quietly(("intake", str(made.trial), str(path), "--of", whose, "--yes"), made)
        line(told.splitlines()[0])


def run_quietly(command: tuple[str, ...], made: Demo) -> str:
    """Run a command in the demo's world and return what it said; a defect of the demo where it is refused."""
    from evenhand.cli.main import main

    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = main(command, made.now)
    if code != 0:
        said = " ".join((err.getvalue() or out.getvalue()).split())
        raise EvenhandError(
            f"The demo's own '{command[0]}' was refused: {said}", "This is a defect; report it."
        )
    return out.getvalue()


def _next(made: Demo) -> None:
    line("")
    line("Open it in a browser. Then try:")
    name = made.trial.name
    slate = made.written.exports[-1]
    for tried in (
        f"cd {made.folder}",
        f"evenhand judge {name}",
        f"evenhand intake {name} {slate[1].name} --of {slate[0]}    (the same file again)",
        f"evenhand stick {name} 110 --at '{made.last:%Y-%m-%d %H:%M}'",
        f"evenhand undo {name} --list",
        f"evenhand export {name} sticks --format csv",
        "evenhand new my.trial --sensor NAME --sensor NAME    (your own)",
    ):
        line(f"  {tried}")

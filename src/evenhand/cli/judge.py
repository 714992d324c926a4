"""`evenhand judge`: the answer, on the terminal or as the contract's JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.progress import Bar
from evenhand.cli.streams import WIDTH, aside, data, line
from evenhand.cli.world import now

if TYPE_CHECKING:
    from evenhand.desk.judging import Judged
    from evenhand.say.blocks import Block

_Json = Annotated[bool, Parameter(name="--json", help="The whole judgement as JSON, glucose in mg/dL.")]
_Open = Annotated[
    bool, Parameter(name="--open", help="Open a sealed trial before its end; that is recorded.")
]
_Sticks = Annotated[
    bool,
    Parameter(name="--sticks-only", help="Judge by fingersticks alone, without estimating between them."),
]


def judge(
    file: File = None, /, *, as_json: _Json = False, opened: _Open = False, sticks_only: _Sticks = False
) -> int:
    """Judge the trial and print the answer."""
    from evenhand.desk.judging import judge_trial
    from evenhand.findings.edge import to_json

    path, _ = split(file)
    with Bar() as bar:
        judged = judge_trial(path, now(), open_seal=opened, sticks_only=sticks_only, progress=bar)
    if opened:
        aside(opening_words(judged))
    if as_json:
        data(to_json(judged.findings).decode() + "\n")
        return 0
    from evenhand.say.blocks import judgement

    show(judgement(judged.findings, judged.trial.header.unit))
    line("")
    line("As a page to look at or to show: evenhand report")
    return 0


def opening_words(judged: Judged) -> str:
    """What opening the seal came to."""
    if not judged.opened:
        return "The trial is not sealed; there was nothing to open, and nothing was recorded."
    if judged.look is None:
        return "The seal is broken. That is recorded, with the day, and stands with every answer from now on."
    if judged.ended:
        return f"This was declared look {judged.look}. Its answer is settled: the trial may end here, as declared."
    return f"This was declared look {judged.look}. Its answer does not end the trial: the seal closes again in a day."


def show(blocks: list[Block]) -> None:
    """The blocks of a judgement, 80 columns wide: the sentence and the headings bold, nothing else."""
    from rich.console import Console
    from rich.text import Text

    console = Console(width=WIDTH, highlight=False, markup=False, emoji=False, soft_wrap=True)
    for place, block in enumerate(blocks):
        if place:
            console.print()
        text = Text(block.text(WIDTH))
        if block.kind == "sentence":
            text.stylize("bold")
        elif block.heading:
            text.stylize("bold", 0, len(block.heading))
        console.print(text)

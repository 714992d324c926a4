"""`evenhand plan`: wears and sticks planned, what the plan can tell, what comes next."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from evenhand.cli.arguments import File, split
from evenhand.cli.progress import Bar
from evenhand.cli.streams import aside, data, line, words
from evenhand.cli.world import now
from evenhand.desk.planning import Papers, Planned, Reach, cheapest_plan, what_next, wish, write_papers
from evenhand.desk.planning import plan as plan_now
from evenhand.errors import EvenhandError

if TYPE_CHECKING:
    from evenhand.say.blocks import Block

_Set = Annotated[
    tuple[str, ...],
    Parameter(
        name="--set",
        help="What is wanted, as KEY=VALUE; once for each. Keys: start, days, sticks (a day), repeats, overlap (yes: an hour "
        "may stay without a reading), NAME.wears, NAME.early, NAME.spares, NAME.held; and what 'declare --set' knows.",
    ),
]
_Next = Annotated[bool, Parameter(name="--next", help="Only what comes next.")]
_Again = Annotated[
    bool, Parameter(name="--again", help="Draw what lies ahead anew, after a wear went otherwise.")
]
_Json = Annotated[bool, Parameter(name="--json", help="The plan as JSON.")]
_NO_PAPERS, _NO_REACH = Papers(), Reach()


def plan(
    file: File = None,
    /,
    *,
    settings: _Set = (),
    following: _Next = False,
    again: _Again = False,
    papers: Annotated[Papers, Parameter(name="*")] = _NO_PAPERS,
    reach: Annotated[Reach, Parameter(name="*")] = _NO_REACH,
    as_json: _Json = False,
) -> int:
    """Plan wears and sticks."""
    path, _ = split(file)
    if settings:
        wish(path, settings, now())
    if reach.chance is not None:
        return _cheapest(path, reach.chance, reach.difference)
    try:
        if following:
            planned = what_next(path, now())
        else:
            with Bar() as bar:
                planned = plan_now(path, now(), again=again, progress=bar)
    except EvenhandError:
        if settings:
            aside("What you set is saved; the plan is not drawn yet:")
        raise
    written = write_papers(planned, papers, now())
    if as_json:
        data(json.dumps(_plain(planned), ensure_ascii=False, indent=2) + "\n")
        return 0
    _show_next(planned) if following else _show(planned)
    for one in written:
        words(f"Written: {one}")
    return 0


def _cheapest(path: Path, chance: float, difference: str | None) -> int:
    from evenhand.say import plan as said

    with Bar() as bar:
        trial, found = cheapest_plan(path, now(), chance, difference, bar)
    for text in said.cheapest(trial, found):
        words(text)
    return 0 if found.found else 1


def _show_next(planned: Planned) -> None:
    from evenhand.say import plan as said

    for text in said.upcoming(planned.trial, planned.next, now().instant()):
        words(text)
    thin = said.thin(planned.phases)
    if thin and planned.trial.question.declared is None:
        words(thin)


def _show(planned: Planned) -> None:
    from evenhand.say import plan as said

    for block in _blocks(planned):
        line(block.text())
        line("")
    for text in said.upcoming(planned.trial, planned.next, now().instant()):
        words(text)
    if planned.trial.question.declared is None:
        words("Not declared yet: evenhand declare --yes, before the first insertion.")


def _blocks(planned: Planned) -> list[Block]:
    from evenhand.say import plan as said
    from evenhand.say.blocks import Block

    trial, drawn = planned.trial, planned.drawn
    blocks = [said.wears(trial, drawn), said.sticks(trial, drawn, planned.cost, planned.phases)]
    blocks.append(Block("text", "Cost", (said.cost(planned.cost, trial.question.money),)))
    if trial.plan.tells is not None:
        blocks.append(said.tells(trial, trial.plan.tells))
        blocks.append(Block("text", lines=(said.about_model(said.fewest(trial, drawn)), said.WHERE)))
    if planned.misfits:
        lines = said.minded(trial, planned.misfits)
        blocks.append(
            Block(
                "text",
                "What was worn has left the plan",
                (*lines, "Draw the rest anew: evenhand plan --again"),
            )
        )
    if planned.minded:
        blocks.append(Block("text", "Mind this", said.minded(trial, planned.minded)))
    return [*blocks, Block("safety", "Safety", said.SAFETY)]


def _plain(planned: Planned) -> dict[str, object]:
    """The plan for a program; times are ISO 8601 with offset, differences in mg/dL."""
    from evenhand.say import plan as said

    trial, drawn = planned.trial, planned.drawn
    names = {sensor.id: sensor.name for sensor in trial.sensors}

    def iso(instant: int) -> str:
        return trial.zones.stamp(instant).iso

    found, tells = planned.next, trial.plan.tells
    return {
        "drawn": {"at": drawn.at.iso, "seed": drawn.seed, "number": drawn.number, "end": drawn.end.iso},
        "wears": [
            {
                "sensor": names[wear.sensor], "number": wear.number, "inserted": wear.inserted.iso, "started": wear.started.iso,
                "reads": wear.reads.iso, "removed": wear.removed.iso, "side": wear.side, "lot": wear.lot,
                "expires": wear.expires.isoformat() if wear.expires else None, "happened": wear.happened,
            }
            for wear in drawn.wears
        ],
        "sticks": [{"time": iso(minute), "twice": minute in drawn.repeats} for minute in drawn.minutes],
        "phases": [{"sensor": one.sensor, "phase": one.name, "sticks": one.sticks} for one in planned.phases],
        "cost": {
            "sensors": planned.cost.sensors, "spares": planned.cost.spares, "pricks": planned.cost.pricks,
            "strips": planned.cost.strips, "money": planned.cost.money, "unpriced": list(planned.cost.unpriced),
        },
        "tells": None if tells is None else {
            "margin": tells.margin, "trials": tells.trials, "pairs": tells.pairs,
            "rows": [
                {"difference": row.difference, "closer": row.closer, "beyond_margin": row.beyond, "equal": row.equal,
                 "not_settled": row.unsettled, "wrong": row.wrong, "error": row.error}
                for row in tells.rows
            ],
            "about_model": False, "why": said.about_model(said.fewest(trial, drawn)),
        },
        "minded": [
            {"code": note.code, "sensor": note.sensor or None, "text": text}
            for note, text in zip(planned.minded, said.minded(trial, planned.minded), strict=True)
        ],
        "misfits": [
            {"code": note.code, "sensor": note.sensor or None, "text": text}
            for note, text in zip(planned.misfits, said.minded(trial, planned.misfits), strict=True)
        ],
        "next": {
            "stick": iso(found.minute) if found.minute is not None else None, "twice": found.twice, "ill": found.ill,
            "change": {"sensor": names[found.change.sensor], "at": found.change.inserted.iso} if found.change else None,
        },
    }  # fmt: skip

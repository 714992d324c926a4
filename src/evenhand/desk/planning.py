"""Planning: wishes saved, the plan drawn and drawn anew, what it can tell, its calendar, card and picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from evenhand.desk.declaring import answer
from evenhand.desk.now import Now
from evenhand.desk.progress import Progress, silent
from evenhand.desk.replacing import replace_file
from evenhand.desk.wishes import is_wish, with_wishes
from evenhand.errors import BadValue, CannotPlan, WrongUse
from evenhand.plan.ahead import Next, Phase, phases, upcoming
from evenhand.plan.checks import Note, no_longer_fits, notes
from evenhand.plan.cost import Cost, cost_of
from evenhand.plan.draw import draw, under_way
from evenhand.records.change import Change
from evenhand.records.plan import Drawn, Plan
from evenhand.records.question import Deviation
from evenhand.records.trial import Trial
from evenhand.store import file as store
from evenhand.units import parse_unit, to_mg_dl

if TYPE_CHECKING:
    from evenhand.plan.cheapest import Cheapest


@dataclass(frozen=True, slots=True)
class Papers:
    """Files to write of a plan; None: not that one.

    Parameters
    ----------
    calendar
        Write the reminders as a calendar file (.ics); a new one replaces the old in your calendar.
    card
        Write the card for the bedside (.pdf).
    picture
        Write the picture of the weeks (.svg or .png).
    """

    calendar: Path | None = None
    card: Path | None = None
    picture: Path | None = None


@dataclass(frozen=True, slots=True)
class Reach:
    """What the cheapest plan is asked for.

    Parameters
    ----------
    chance
        Find the cheapest plan that gives an answer with this chance, in percent.
    difference
        With --chance: where this is the true difference, such as '5 mg/dL'; 0 asks for 'equal'.
    """

    chance: float | None = None
    difference: str | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """A trial with its drawn plan: what to mind, why it no longer fits what was worn (empty: it does), what it costs,
    what comes next, how sticks lie in the phases; `fresh`: it was drawn just now."""

    trial: Trial
    drawn: Drawn
    minded: tuple[Note, ...]
    misfits: tuple[Note, ...]
    cost: Cost
    next: Next
    phases: tuple[Phase, ...]
    fresh: bool


def wish(path: Path, settings: Sequence[str], now: Now) -> Trial:
    """Save what is wanted of the plan (`KEY=VALUE`), and answers to the question among it; the trial with both.

    `WrongUse` after the declaration: what is done otherwise then is noted as a departure.
    """
    ours = [one for one in settings if is_wish(one)]
    others = [one for one in settings if not is_wish(one)]
    trial = store.read(path, readings=False)
    if trial.question.declared is not None:
        keys = ", ".join(one.partition("=")[0].strip() for one in settings)
        raise WrongUse(
            f"{keys} was declared and is not edited any more.",
            "Write down what you do otherwise: evenhand declare --set KEY=VALUE --why TEXT. Wears that went otherwise are "
            "planned anew with 'evenhand plan --again'.",
        )
    wanted = with_wishes(trial, ours)
    if others:
        trial = answer(path, others, now).trial
        trial = store.read(path, readings=False)
    if wanted != trial.plan.wanted:
        made = replace(trial.plan, wanted=wanted)
        named = ", ".join(one.partition("=")[0].strip() for one in ours)
        store.write(path, Change(f"wished of the plan: {named}", now.instant(), (made,)), trial.change)
    return store.read(path, readings=False)


def plan(path: Path, now: Now, *, again: bool = False, progress: Progress = silent) -> Planned:
    """The trial's plan; drawn where there is none yet, or where nothing was worn or declared and the wishes have changed.
    `again` draws what lies ahead anew. Raises `CannotPlan` where no plan keeps what was asked."""
    trial = store.read(path, readings=False)
    held = trial.plan.drawn
    if held is not None and not again and (_settled(trial, held) or _same(held, draw(trial, now.instant()))):
        return _planned(trial, held, now, fresh=False)
    drawn = draw(trial, now.instant())
    if held is not None and _same(held, drawn) and not again:
        return _planned(trial, held, now, fresh=False)
    from evenhand.plan.tells import tells

    could = None
    if len(trial.sensors) > 1 and drawn.minutes:
        could = tells(trial, drawn, progress)
    made = Plan(trial.plan.id, trial.plan.wanted, drawn, could)
    what = f"drew the plan (seed {drawn.seed}, drawing {drawn.number})"
    store.write(path, Change(what, now.instant(), (made, *_departed(trial, drawn, now))), trial.change)
    return _planned(replace(trial, plan=made), drawn, now, fresh=True)


def _departed(trial: Trial, drawn: Drawn, now: Now) -> tuple[Deviation, ...]:
    """A plan drawn anew after the declaration is a departure from it, with its date and reason."""
    if trial.question.declared is None:
        return ()
    at = trial.zones.stamp(now.instant())
    what = f"planned anew from then on (drawing {drawn.number}, seed {drawn.seed})"
    return (Deviation(now.fresh_id(), at, what, "a wear went otherwise than planned"),)


def _settled(trial: Trial, drawn: Drawn) -> bool:
    """Whether the plan is declared, or under way: then it is drawn anew only when that is asked for."""
    start = trial.plan.wanted.start
    begun = under_way(trial, start.instant if start else drawn.at.instant)
    return trial.question.declared is not None or begun


def _same(one: Drawn, other: Drawn) -> bool:
    return (
        replace(other, at=one.at, number=one.number, most_sticks=one.most_sticks, most_wears=one.most_wears)
        == one
    )


def _planned(trial: Trial, drawn: Drawn, now: Now, *, fresh: bool) -> Planned:
    instant = now.instant()
    return Planned(
        trial,
        drawn,
        notes(trial, drawn),
        no_longer_fits(trial, drawn, instant),
        cost_of(trial, drawn),
        upcoming(trial, drawn, instant),
        phases(trial, drawn),
        fresh,
    )


def what_next(path: Path, now: Now) -> Planned:
    """What comes next in the plan as it is drawn; `CannotPlan` where nothing is drawn."""
    trial = store.read(path, readings=False)
    if trial.plan.drawn is None:
        raise CannotPlan("No plan is drawn yet.", "Draw one: evenhand plan --set start='2026-03-02 09:00'")
    return _planned(trial, trial.plan.drawn, now, fresh=False)


def write_papers(planned: Planned, papers: Papers, now: Now) -> list[Path]:
    """Write the files asked for, each replaced in one step; their paths. `WrongUse` for a picture that ends in neither
    .svg nor .png."""
    trial, drawn, written = planned.trial, planned.drawn, []
    if papers.calendar is not None:
        from evenhand.plan.calendar import calendar

        replace_file(papers.calendar, calendar(trial, drawn), now)
        written.append(papers.calendar)
    if papers.card is not None:
        from evenhand.handouts.bedside import bedside_card

        replace_file(papers.card, bedside_card(trial, drawn), now)
        written.append(papers.card)
    if papers.picture is not None:
        replace_file(papers.picture, _picture(planned, papers.picture), now)
        written.append(papers.picture)
    return written


def _picture(planned: Planned, path: Path) -> bytes:
    from evenhand.charts.look import PAGE, PHONE
    from evenhand.charts.weeks import weeks

    ending = path.suffix.lower()
    if ending not in (".svg", ".png"):
        raise WrongUse(f"'{path.name}' is no name for a picture.", "End it in .svg or .png.")
    made = weeks(planned.trial, planned.drawn, size=PAGE if ending == ".svg" else PHONE)
    return made.svg().encode("utf-8") if ending == ".svg" else made.png()


def cheapest_plan(
    path: Path, now: Now, wished: float, difference: str | None, progress: Progress = silent
) -> tuple[Trial, Cheapest]:
    """The trial, and the cheapest plan that reaches a wished chance in percent; `difference` in the wearer's unit, five
    thirds of the margin where None. Nothing is saved."""
    from evenhand.plan.cheapest import cheapest

    if not 5 <= wished <= 99:
        raise BadValue(f"A chance of {wished:g} % cannot be planned for.", "Name 5 to 99, for example 80.")
    trial = store.read(path, readings=False)
    size = trial.question.margin * 5 / 3 if difference is None else _difference(trial, difference)
    return trial, cheapest(trial, now.instant(), wished / 100, size, progress)


def _difference(trial: Trial, text: str) -> float:
    number, _, unit = text.strip().partition(" ")
    try:
        size = float(number.replace(",", "."))
    except ValueError:
        size = -1.0
    found = to_mg_dl(size, parse_unit(unit) if unit else trial.header.unit)
    if not 0 <= found <= 60:
        raise BadValue(
            f"'{text}' is no difference between two sensors.", "Write for example 5 mg/dL or 0.3 mmol/L."
        )
    return found

"""The page of an answer: one file that needs nothing else, for a screen, a phone, and paper."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from evenhand.charts import alarms, inline, night
from evenhand.charts.balance import balance
from evenhand.charts.errors import by_day, by_level, by_phase
from evenhand.charts.look import NARROW, PAGE, Size
from evenhand.charts.picture import Picture
from evenhand.charts.time_line import time_line
from evenhand.charts.traces import traces
from evenhand.findings.findings import Findings
from evenhand.handouts.face import face
from evenhand.handouts.parts import (
    Table,
    day_table,
    fate_table,
    level_tables,
    numbers_table,
    phase_table,
    range_table,
    split_table,
    wear_table,
)
from evenhand.records.trial import Trial
from evenhand.say import between, fates, headings, meter, proof, ranges, safety
from evenhand.say.answer import answer, notes
from evenhand.say.blocks import head_rows
from evenhand.say.how import how
from evenhand.say.mind import answer_sealed, minded
from evenhand.say.must import must_haves
from evenhand.say.quiet import quiet_line
from evenhand.units import Unit

_TEMPLATES = Path(__file__).parent / "templates"
_TIGHT = re.compile(r"(?<=\d) (?=(?:%|mg/dL|mmol/L|h|min|days?|sticks?|wears?)\b|%)")


@dataclass(frozen=True, slots=True)
class Shown:
    """One picture on the page, in its two widths, ready to stand in HTML."""

    title: str
    wide: Markup
    narrow: Markup


def report(findings: Findings, trial: Trial, *, now_text: str, version: str) -> str:
    """The whole page as HTML. `now_text` is the date it is made, as it shall be printed; `version` Evenhand's.

    Nothing in it makes a browser fetch anything: style, font and pictures are inside.
    """
    unit = trial.header.unit
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["tight"] = tight
    light, dark = inline.styles()
    style = (_TEMPLATES / "report.css").read_text(encoding="utf-8")
    sealed = findings.sealed
    context = {
        "findings": findings,
        "unit": str(unit),
        "now": now_text,
        "version": version,
        "answers": answer(findings, unit),
        "quiet": quiet_line(findings),
        "danger": [safety.far_off(line, unit) for line in findings.safety],
        "danger_title": safety.misled(findings.safety, tally=not answer_sealed(findings))
        if findings.safety
        else "",
        "cautions": minded(findings),
        "safety": safety.CAUTIONS,
        "foot": safety.FOOT,
        "fate_title": fates.fate_title(findings),
        "fates": fate_table(findings),
        "coverage": numbers_table(findings, sealed=True, unit=unit),
        "coverage_title": fates.coverage_title(findings),
        "whole": not answer_sealed(findings),
        "traces": _shown(lambda size: traces(findings, trial, size=size)),
        **({} if sealed else _opened(findings, trial, unit)),
    }
    page = environment.get_template("report.html").render(**context, style="", light="", dark="", face="")
    return environment.get_template("report.html").render(
        **context,
        style=Markup(style),
        light=Markup(light),
        dark=Markup(dark),
        face=Markup(face(_words(page))),
    )


def _words(page: str) -> str:
    """The characters a page shows: everything outside its tags."""
    return re.sub(r"<[^>]*>", "", page)


def tight(text: str) -> str:
    """A number and its unit kept on one line.

    >>> tight("95 %: 3.1 mg/dL") == "95\\N{NO-BREAK SPACE}%: 3.1\\N{NO-BREAK SPACE}mg/dL"
    True
    """
    return _TIGHT.sub("\N{NO-BREAK SPACE}", text)


def _opened(findings: Findings, trial: Trial, unit: Unit) -> dict[str, object]:
    """What stands on a page whose judgement is open."""
    places = {sensor.name: sensor.place for sensor in trial.sensors}
    heads = findings.head_to_head
    return {
        "notes": [*must_haves(findings), *(line for head in heads for line in notes(findings, head, unit))],
        "balances": [
            _shown(lambda size, pair=pair: balance(findings, places, unit, pair=pair, size=size))  # type: ignore[misc]
            for pair, head in enumerate(heads)
            if any(est.value is not None for est in (head.difference, head.all_pairs, head.with_prompted))
        ],
        "proof_heading": proof.HEADING,
        "proof": proof.does_not_prove(findings),
        "parts": list(_parts(findings, places, unit)),
        "between_title": between.title(findings),
        "between": between.lines(findings, unit),
        "between_drawn": list(_between(findings, trial)),
        "looked": headings.looked(findings),
        "splits": [split_table(findings, unit), wear_table(findings, unit), *level_tables(findings, unit)],
        "ranges": range_table(findings, unit),
        "ranges_caveat": ranges.CAVEAT,
        "numbers": numbers_table(findings, sealed=False, unit=unit),
        "meter_title": meter.span_title(findings),
        "meter": meter.known(findings.meter),
        "heads": [(f"{head.a} and {head.b} head to head", head_rows(head, unit)) for head in heads],
        "apart": [(f"{head.a} and {head.b}", meter.apart(head, unit)) for head in heads],
        "how": how(findings, unit),
    }


def _parts(findings: Findings, places: dict[str, int], unit: Unit) -> Iterator[tuple[Shown, Table]]:
    """Error by phase, by day and by level: the picture and its table, where there is any number to show."""
    draws = (
        (by_phase, phase_table(findings, unit)),
        (by_day, day_table(findings, unit)),
        (by_level, level_tables(findings, unit)[0]),
    )
    for draw, table in draws:
        if any(cell[:1].isdigit() or cell.startswith("at least") for row in table.rows for cell in row[1:]):
            yield _shown(lambda size, draw=draw: draw(findings, places, unit, size=size)), table  # type: ignore[misc]


def _between(findings: Findings, trial: Trial) -> Iterator[Shown]:
    """The pictures of the time between the sticks; none where the reconstruction is not trusted."""
    if between.trusted(findings) is None:
        return
    astray = night.nights(findings, trial)
    if astray:
        yield _shown(lambda size: night.one_night(findings, trial, astray[0], size=size))
    yield _shown(lambda size: time_line(findings, trial, size=size))
    if any(each for _, each in alarms.judged(findings)):
        yield _shown(lambda size: alarms.alarms(findings, trial, size=size))
    if alarms.lag_rows(findings):
        yield _shown(lambda size: alarms.lags(findings, trial, size=size))


def _shown(draw: Callable[[Size], Picture]) -> Shown:
    wide, narrow = draw(PAGE), draw(NARROW)
    return Shown(wide.title, Markup(inline.inline(wide)), Markup(inline.inline(narrow)))

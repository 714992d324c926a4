"""The page from real judgements of trials that hold too little, in both units, sealed and open."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from hypothesis import HealthCheck, given, settings
from tests.judge.frozen import frozen_trial
from tests.judge.making import by_sticks as judge
from tests.judge.making import declared, small_trials
from tests.judge.thin import THIN

from evenhand.handouts.report import report
from evenhand.say.answer import answer
from evenhand.units import Unit

VOID = {"meta", "br", "link", "img", "hr", "input", "col"}
RAW = re.compile(r"\bnan\b|\binf\b|\bNone\b(?! of \d)|Est\(|\bundefined\b")


class Balance(HTMLParser):
    """Holds every tag against its end, and gathers what is read."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        pass

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> ends nothing"
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "style" not in self.open:
            self.words.append(data)


def told(made, unit=Unit.MG_DL):
    """The page of a trial and its words; findings beside."""
    shown = replace(made, header=replace(made.header, unit=unit))
    findings = judge(shown)
    page = report(findings, shown, now_text="22 March 2026", version="0.1.0")
    balance = Balance(page)
    assert balance.open == []
    return findings, page, " ".join("".join(balance.words).replace("\N{NO-BREAK SPACE}", " ").split())


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("name", THIN)
def test_a_thin_trial_has_a_whole_page(name, unit):
    """Every tag ends, nothing is left raw, the answer stands in it, and no picture is drawn of nothing."""
    findings, page, words = told(THIN[name], unit)
    assert not RAW.search(words)
    for sentence in answer(findings, unit):
        assert sentence in words
    assert "://" not in page
    assert page.count("<svg") % 2 == 0  # each picture in its two widths


@pytest.mark.parametrize("name", ["no readings", "one day", "no error at all", "never together"])
def test_a_thin_sealed_trial_has_a_page(name):
    """Sealed: coverage in place of numbers, and the traces with the sticks' times alone as the only picture."""
    findings, page, words = told(declared(THIN[name], end_wears=99))
    assert findings.sealed
    assert page.count("<svg") == 2
    assert "at the top" in words or "When you pricked" in words
    assert "Readings so far" in words
    assert not RAW.search(words)


def test_the_frozen_trial_s_page_tells_its_findings():
    """Calibrations, marks, repeats, limits, a gap: each is told; the edition stands at the foot."""
    findings, page, words = told(frozen_trial())
    assert page.count("<svg") >= 8
    assert findings.edition[:8] in words
    for caution in findings.cautions:
        assert " ".join(caution.text.split()) in words
    for wear in findings.wears:
        assert f"{wear.sensor}, wear {wear.number}" in words
    assert words.count("Nothing here sets an insulin dose") == 1


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(small_trials())
def test_any_small_trial_has_a_page(made):
    """Random trials: a page without a warning, every tag ended, nothing raw."""
    _, _, words = told(made)
    assert not RAW.search(words)

"""The page of an answer: order, content, and that it needs nothing from outside."""

from __future__ import annotations

import itertools
import re
from html.parser import HTMLParser

import pytest
from msgspec import structs
from tests.support.fake_findings import SCENARIOS, base, scenario
from tests.support.fake_trial import make_trial

from evenhand.findings.findings import Caution, SafetyLine
from evenhand.handouts.report import report
from evenhand.say import safety
from evenhand.say.answer import answer
from evenhand.say.proof import does_not_prove


class Reader(HTMLParser):
    """Collects tags with their attributes, headings in order, and the words outside style."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._stack: list[str] = []
        self.feed(page)
        self.text = " ".join("".join(self.words).replace("\N{NO-BREAK SPACE}", " ").split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._stack.append(tag)

    def handle_endtag(self, tag: str) -> None:
        while self._stack and self._stack.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        if "style" not in self._stack and "desc" not in self._stack:
            self.words.append(data + " ")


def page(name: str) -> str:
    """The report of a scenario."""
    findings, trial = scenario(name)
    return report(findings, trial, now_text="22 March 2026", version="0.1.0")


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    """Every scenario's report."""
    return {name: page(name) for name in SCENARIOS}


@pytest.mark.parametrize("name", SCENARIOS)
def test_nothing_makes_a_browser_fetch(pages, name: str):
    """No address, no script, no link, no import; data only inside; a policy that forbids the rest."""
    html = pages[name]
    assert "://" not in html
    assert not re.search(r"<(script|link|iframe|object|embed|img|form|base)\b", html)
    assert "@import" not in html
    assert all(
        found.startswith(("data:font/woff;base64,", "#")) for found in re.findall(r"url\(([^)]+)\)", html)
    )
    assert "default-src 'none'" in html


@pytest.mark.parametrize("name", SCENARIOS)
def test_no_value_is_left_raw(pages, name: str):
    """No 'None', 'nan', template mark or unrounded number reaches a reader."""
    text = Reader(pages[name]).text
    assert not re.search(r"\bNone\b|\bnan\b|\{\{|\{%|\d\.\d{4,}", text)


@pytest.mark.parametrize("name", SCENARIOS)
def test_headings_go_down_one_step_at_a_time(pages, name: str):
    """One h1, then h2 and h3 without a step left out; language and viewport are stated."""
    reader = Reader(pages[name])
    levels = [int(tag[1]) for tag, _ in reader.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    assert dict(reader.tags)["html"] == {"lang": "en"}


@pytest.mark.parametrize("name", SCENARIOS)
def test_ids_are_unique_and_tables_headed(pages, name: str):
    """No id twice on a page; every header cell says what it heads; every table has a caption."""
    tags = Reader(pages[name]).tags
    ids = [attrs["id"] for _, attrs in tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    assert all(attrs.get("scope") in ("row", "col") for tag, attrs in tags if tag == "th")
    count = [tag for tag, _ in tags].count
    assert count("table") == count("caption") > 0
    for _, attrs in tags:
        for one in (attrs.get("aria-labelledby") or "").split():
            assert one in ids


@pytest.mark.parametrize("name", [name for name in SCENARIOS if name != "sealed"])
def test_the_order_of_an_answer(pages, name: str):
    """Sentence, quiet line, balance, what it does not prove, traces, fates, meter, method, safety, edition."""
    findings, trial = scenario(name)
    html = pages[name]
    text = Reader(html[html.index("<main>") :]).text
    marks = [
        answer(findings, trial.header.unit)[0],
        "edition 3f9c0a7d",
        does_not_prove(findings)[0],
        "opened:",
        "How it was done",
        safety.CAUTIONS[0],
        findings.edition,
    ]
    places = [text.index(mark) for mark in marks]
    assert places == sorted(places)


def test_the_balance_comes_before_what_it_does_not_prove(pages):
    """The picture that carries the answer stands right under it."""
    html = pages["closer"]
    assert (
        html.index("balance-page-title")
        < html.index('id="proof"')
        < html.index("traces-page-title")
        < html.index("phases-page-title")
        < html.index("days-page-title")
    )


@pytest.mark.parametrize("name", SCENARIOS)
def test_safety_stands_on_the_page_and_at_the_foot_of_paper(pages, name: str):
    """All safety lines, and the short ones for every printed page, with edition and date."""
    text = Reader(pages[name]).text
    for line in safety.CAUTIONS:
        assert line in text
    assert f"{safety.FOOT} Edition 3f9c0a7d, 22 March 2026." in text
    assert "Evenhand 0.1.0, method 1. Made on 22 March 2026." in text


def test_a_sealed_page_gives_nothing_away(pages):
    """Sealed: coverage, traces with the sticks' times alone, fates, cautions, safety; no error, no answer, no tally of
    which sensor misled more often."""
    html = pages["sealed"]
    text = Reader(html).text
    assert html.count("<svg") == 2
    assert "when you pricked stands at the top" in text
    assert not re.search(r"could have misled you: ", text)
    assert not re.search(r"MAD|bias|closer to your meter than|towards|How it was done", text)
    assert "Readings so far: Fern 95.0 %, Slate 95.2 % of those expected" in text
    assert "Slate showed 104 mg/dL while your finger said 61 mg/dL" in text


def test_every_day_and_wear_is_in_a_table(pages):
    """20 days and 6 wears, each a row."""
    text = Reader(pages["closer"]).text
    assert all(f"day {day}, {day + 1} March" in text for day in range(1, 21))
    assert all(
        words in text
        for words in ("Fern, wear 2", "Slate, wear 4", "failed", "worn to the end; replaced wear 2")
    )


def test_one_number_everywhere(pages):
    """The difference in sentence form, in the picture, in its description and in the numbers is one number."""
    html = pages["mmol"].replace("\N{NO-BREAK SPACE}", " ")
    assert html.count("0.31 mmol/L towards Fern (95 %: 0.19 to 0.43)") >= 4
    assert "mg/dL" not in Reader(html).text.replace("70 mg/dL (3.9 mmol/L)", "").replace(
        "1 mg/dL, 0.06 mmol/L", ""
    )


def test_names_are_text_and_never_markup():
    """A sensor called '<b>' is shown as that, on the page and in its pictures."""
    findings, trial = scenario("closer")
    caution = Caution("brand-new", "trial", "<script>alert(1)</script> & more")
    html = report(
        structs.replace(findings, trial="<i>spring</i>", cautions=(caution,)),
        trial,
        now_text="<u>",
        version="0.1.0",
    )
    assert "<script" not in html
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; more" in html
    assert "<i>spring" not in html


def test_many_dangerous_sticks_are_folded_and_none_is_lost():
    """Two are in sight, the rest in a fold, each of them there."""
    findings, trial = scenario("closer")
    lines = tuple(
        SafetyLine(f"2026-03-{day:02d}T13:10:00+00:00", "Slate", 104.0, 61.0, "missed-low")
        for day in range(3, 12)
    )
    text = Reader(
        report(structs.replace(findings, safety=lines), trial, now_text="now", version="0.1.0")
    ).text
    assert "And 7 more" in text
    assert text.count("while your finger said 61 mg/dL") == 9


def test_the_same_findings_give_the_same_page(pages):
    """The page is a function of what goes in."""
    assert page("closer") == pages["closer"]


def test_a_dense_page_stays_under_a_megabyte_and_a_half():
    """20 days of readings every minute from two sensors, and 90 days of readings every 5 minutes."""
    for days, every in ((20, 1), (90, 5)):
        trial = make_trial(days=days, every=every)
        findings, _ = scenario("closer")
        dense = base(trial, findings.head_to_head)
        assert len(report(dense, trial, now_text="now", version="0.1.0").encode()) < 1_500_000


def test_time_in_range_carries_its_caveat(pages):
    """The range table never stands without saying who drove the insulin matters, and that it sets no dose."""
    text = Reader(pages["closer"]).text
    assert "over the time both were reading" in text
    assert "For your care team, not for a dose." in text


def test_folds_hold_every_table_in_print():
    """The style opens folds on paper, so that nothing is hidden there."""
    assert "details::details-content" in page("one")

"""The report in a real browser with the network cut: nothing fetched, nothing wider than the screen."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from tests.support.fake_findings import scenario

from evenhand.handouts.report import report

WIDTHS = (360, 390, 1200)
NAMES = ("closer", "not-settled", "three", "sealed", "mmol")


def chromium() -> str:
    """The system's Chromium; a failure in CI and a skip elsewhere where there is none."""
    found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
    if found is None and os.environ.get("CI") == "true":
        pytest.fail("There is no Chromium on this machine; CI needs it to look at the report.")
    if found is None:
        pytest.skip("no Chromium on this machine: the report was not looked at in a browser")
    return found


@pytest.fixture(scope="module")
def browser():
    """One headless Chromium for the module."""
    sync_api = (
        pytest.importorskip("playwright.sync_api")
        if os.environ.get("CI") != "true"
        else __import__("playwright.sync_api", fromlist=["sync_playwright"])
    )
    path = chromium()
    with sync_api.sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=path, args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        )
        yield started
        started.close()


@pytest.fixture(scope="module")
def files(tmp_path_factory) -> dict[str, Path]:
    """Reports written as files."""
    folder = tmp_path_factory.mktemp("reports")
    made = {}
    for name in NAMES:
        findings, trial = scenario(name)
        made[name] = folder / f"{name}.html"
        made[name].write_text(
            report(findings, trial, now_text="22 March 2026", version="0.1.0"), encoding="utf-8"
        )
    return made


class Visit:
    """A page opened with the network cut: what it asked for, and what it complained of."""

    def __init__(self, browser, path: Path, width: int, scheme: str) -> None:
        self.context = browser.new_context(
            viewport={"width": width, "height": 800}, color_scheme=scheme, offline=True
        )
        self.asked: list[str] = []
        self.complaints: list[str] = []
        self.address = path.as_uri()
        self.context.route("**/*", self._judge)
        self.page = self.context.new_page()
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(self.address)
        self.page.wait_for_load_state("networkidle")

    def _judge(self, route) -> None:
        if route.request.url.startswith(("file:", "data:")):
            route.continue_()
        else:
            route.abort()

    def close(self) -> None:
        self.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_fetched_and_nothing_overflows(browser, files, name: str, width: int, scheme: str):
    """No request but the page and the data inside it, no complaint, no sideways scrolling."""
    visit = Visit(browser, files[name], width, scheme)
    assert [asked for asked in visit.asked if asked != visit.address and not asked.startswith("data:")] == []
    assert visit.complaints == []
    assert visit.page.evaluate("document.documentElement.scrollWidth") <= width
    assert (
        visit.page.evaluate(
            "document.fonts.check('16px \"Source Sans Pro\"') && [...document.fonts].filter(f => f.status === 'loaded').length"
        )
        >= 1
    )
    visit.close()


def test_dark_and_light_are_followed(browser, files):
    """Ground and pictures follow the reader's setting."""
    grounds = {}
    for scheme in ("light", "dark"):
        visit = Visit(browser, files["closer"], 1200, scheme)
        body = visit.page.evaluate("getComputedStyle(document.body).backgroundColor")
        picture = visit.page.evaluate("getComputedStyle(document.querySelector('.wide svg path')).fill")
        assert body == picture
        grounds[scheme] = body
        visit.close()
    assert grounds == {"light": "rgb(251, 250, 247)", "dark": "rgb(21, 23, 26)"}


def test_print_is_light_and_carries_safety_on_every_page(browser, files):
    """On paper the page is light, folds are open, and the safety foot is there."""
    visit = Visit(browser, files["closer"], 1200, "dark")
    visit.page.emulate_media(media="print")
    assert (
        visit.page.evaluate("getComputedStyle(document.documentElement).getPropertyValue('--ink')").strip()
        == "#1c1c1c"
    )
    assert (
        visit.page.evaluate("getComputedStyle(document.querySelector('.foot')).display")
        == "table-footer-group"
    )
    assert visit.page.evaluate("getComputedStyle(document.querySelector('.narrow')).display") == "none"
    visit.close()


def test_a_phone_gets_the_narrow_pictures(browser, files):
    """At 390 px only the narrow pictures show, and their text is drawn at 12 px or more."""
    visit = Visit(browser, files["closer"], 390, "light")
    shown = visit.page.evaluate(
        "[...document.querySelectorAll('figure > div')].filter(d => d.offsetWidth > 0).map(d => d.className)"
    )
    assert set(shown) == {"narrow"}
    smallest = visit.page.evaluate(
        "Math.min(...[...document.querySelectorAll('.narrow svg text')].map(t => parseFloat(getComputedStyle(t).fontSize) * t.ownerSVGElement.getScreenCTM().a))"
    )
    assert smallest >= 12
    visit.close()


def test_folds_and_tables_can_be_reached_and_touched(browser, files):
    """Folds are at least 44 px high; tables that scroll can be focused from the keyboard."""
    visit = Visit(browser, files["closer"], 390, "light")
    assert (
        visit.page.evaluate(
            "Math.min(...[...document.querySelectorAll('summary')].filter(s => s.offsetHeight).map(s => s.offsetHeight))"
        )
        >= 44
    )
    assert visit.page.evaluate(
        "[...document.querySelectorAll('.scroll')].every(s => s.tabIndex === 0 && s.getAttribute('aria-label'))"
    )
    visit.close()

"""What stands around the code: pins without addresses, a short README, one page per decision."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[2]


def tracked() -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard", "-z"], cwd=ROOT, capture_output=True, check=True
    ).stdout.decode()
    return [ROOT / name for name in listed.split("\0") if name and (ROOT / name).is_file()]


def test_constraints_name_no_address() -> None:
    """`constraints.txt` is universal: exact pins, no hashes, no index, no address."""
    text = (ROOT / "constraints.txt").read_text(encoding="utf-8")
    assert "://" not in text
    assert "--" not in text
    assert all("==" in line for line in text.splitlines() if line)


def test_readme_opens_with_the_job_and_the_two_commands() -> None:
    """One paragraph that states the job, then `make demo` and `make test`, within a screen and a half."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    head = text.split("\n## ")[0]
    assert "make demo" in head
    assert "make test" in head
    assert text.index("fingerstick") < text.index("make demo")
    assert len(text.splitlines()) <= 75


def test_readme_carries_the_safety_lines() -> None:
    """The usual cautions stand where a stranger first reads."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for line in ("no dose", "Treat first", "care team"):
        assert line in text


def test_decisions_are_short_pages() -> None:
    """Each decision is numbered once, titled, and at most a page."""
    pages = sorted((ROOT / "docs" / "decisions").glob("*.md"))
    numbers = [page.name[:4] for page in pages if page.name != "README.md"]
    assert len(numbers) == len(set(numbers))
    assert all(re.fullmatch(r"\d{4}", number) for number in numbers)
    for page in pages:
        text = page.read_text(encoding="utf-8")
        assert text.startswith("# ")
        assert len(text.splitlines()) <= 60, page.name


def test_no_page_fetches_from_outside() -> None:
    """No template, style or script of ours names an address a browser would fetch."""
    for path in tracked():
        if path.suffix in (".html", ".css", ".js") and "src" in path.parts:
            text = path.read_text(encoding="utf-8").replace("http://www.w3.org/", "")
            assert not re.search(r"(?:https?:)?//[a-z0-9.-]+\.[a-z]{2,}", text), path


def test_health_data_cannot_be_committed_by_accident() -> None:
    """Trial files are ignored by git, but for the small ones kept as fixtures."""
    trials = [path for path in tracked() if path.suffix == ".trial"]
    assert all("tests" in path.parts for path in trials)

"""The line that follows a low stick."""

import subprocess
import sys

import pytest
from tests.cli.running import ROOT

from evenhand.say.low import LOW_STICK, VERY_LOW_STICK, after_stick
from evenhand.units import Unit, parse_glucose


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("70 mg/dL", None), ("69 mg/dL", LOW_STICK), ("54 mg/dL", LOW_STICK), ("53 mg/dL", VERY_LOW_STICK),
        ("3.9 mmol/L", None), ("3.8 mmol/L", LOW_STICK), ("3.0 mmol/L", LOW_STICK), ("2.9 mmol/L", VERY_LOW_STICK),
        ("low", VERY_LOW_STICK), ("high", None),
    ],
)  # fmt: skip
def test_the_limits_are_the_consensus_pairs(text, line):
    """Below 70 mg/dL or 3.9 mmol/L, below 54 or 3.0, in the unit recorded (Battelino et al. 2019, Table 1)."""
    assert after_stick(parse_glucose(text, Unit.MG_DL)) == line


def test_the_words_are_those_agreed():
    """Exactly these, wherever they are shown."""
    assert LOW_STICK == "Treat first. This can wait."
    assert VERY_LOW_STICK == "Serious low. Treat now; get help if you need it."


def test_it_waits_for_nothing():
    """Importing it imports neither findings nor anything slow."""
    code = (
        f"import sys; sys.path.insert(0, {str(ROOT / 'src')!r}); import evenhand.say.low; print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"evenhand.findings.findings", "msgspec", "numpy"} & set(done.stdout.split())

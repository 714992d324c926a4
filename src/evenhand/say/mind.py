"""Which cautions stand in sight, and which in a fold because they bear less on the answer or are said elsewhere."""

from __future__ import annotations

from evenhand.findings.findings import Findings

_FOLDED = frozenset(
    {
        "alarms-rehearsed", "by-level-selection", "exploratory-looks", "few-days-for-ranges", "few-readings-for-ranges", "gaps-unexplained",
        "identical-kinds", "next-priors", "no-policy", "one-wear", "other-pairs-unanswered", "sealed", "sensor-lot-unknown",
        "pressure-lows-open", "reconstruction-limits", "shared-lag", "sticks-left-out", "sticks-outside-hours", "strays-from-sticks", "three-sensors", "two-wears",
        "undeclared", "unknown-interval", "unknown-life", "unknown-limits", "unknown-price", "zones-from-memory",
        "zone-from-computer",
    }
)  # fmt: skip


def minded(findings: Findings) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The cautions' sentences: in sight, and in the fold. A code that is not known stays in sight."""
    folded = [_folded(caution.code) for caution in findings.cautions]
    sentences = [caution.text for caution in findings.cautions]
    return (
        tuple(text for text, away in zip(sentences, folded, strict=True) if not away),
        tuple(text for text, away in zip(sentences, folded, strict=True) if away),
    )


def at_look(findings: Findings) -> bool:
    """Whether the answer alone is open, on the day of a declared look."""
    return any(caution.code == "at-look" for caution in findings.cautions)


def answer_sealed(findings: Findings) -> bool:
    """Whether what each sensor was off by is held back: under seal, and at a declared look."""
    return findings.sealed or at_look(findings)


def _folded(code: str) -> bool:
    return code in _FOLDED

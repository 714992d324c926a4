"""A picture: the figure, its title and the words that stand in for it; and its files."""

from __future__ import annotations

import io
from dataclasses import dataclass

from matplotlib import rc_context
from matplotlib.figure import Figure

from evenhand.charts.look import Size


@dataclass(frozen=True, slots=True)
class Picture:
    """A finished picture. `title` is its finding; `alternative` says the finding, then the numbers."""

    name: str
    figure: Figure
    title: str
    alternative: str
    size: Size

    def svg(self) -> str:
        """The picture as SVG with text as text, the same bytes for the same picture."""
        out = io.StringIO()
        nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
        with rc_context({"svg.fonttype": "none", "svg.hashsalt": f"{self.name}-{self.size.name}"}):
            self.figure.savefig(
                out, format="svg", dpi=72, metadata=nothing, facecolor=self.figure.get_facecolor()
            )
        return out.getvalue()

    def png(self) -> bytes:
        """The picture as PNG, one px for each px of its size."""
        out = io.BytesIO()
        with rc_context({"savefig.bbox": None}):
            self.figure.savefig(
                out,
                format="png",
                dpi=72,
                facecolor=self.figure.get_facecolor(),
                metadata={"Description": self.alternative, "Software": None},
            )
        return out.getvalue()

"""Reading a picture back: artists by their gid, texts with their boxes."""

from __future__ import annotations

from collections.abc import Iterator

from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text
from matplotlib.transforms import Bbox


def lines(figure: Figure, gid: str) -> list[Line2D]:
    """The lines with that gid, in drawing order."""
    return [artist for artist in figure.findobj(Line2D) if artist.get_gid() == gid]


def patches(figure: Figure, gid: str) -> list[Artist]:
    """Other artists with that gid."""
    return [artist for artist in figure.findobj(Artist) if artist.get_gid() == gid]


def texts(figure: Figure) -> list[Text]:
    """Every text that says something."""
    return [text for text in figure.findobj(Text) if text.get_text().strip()]


def boxes(figure: Figure) -> Iterator[tuple[Text, Bbox]]:
    """Every text with its box in px, from the lower left corner."""
    renderer = FigureCanvasAgg(figure).get_renderer()
    for text in texts(figure):
        yield text, text.get_window_extent(renderer)

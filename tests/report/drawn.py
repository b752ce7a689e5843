"""What a matplotlib figure holds, for the tests of pictures: texts that are seen, the ink of each, and lines as points."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text


def all_axes(figure: Figure) -> Iterator[Axes]:
    for axes in figure.axes:
        yield axes
        yield from axes.child_axes


def texts(figure: Figure) -> list[Text]:
    """Every text that is drawn: the figure's, those in its axes, and those in legends."""
    found = list(figure.texts)
    for axes in all_axes(figure):
        found += axes.texts
        legend = axes.get_legend()
        if legend is not None:
            found += legend.get_texts()
    return [text for text in found if text.get_text().strip() and text.get_visible()]


def words(figure: Figure) -> list[str]:
    return [text.get_text().strip() for text in texts(figure)]


def text_saying(figure: Figure, said: str) -> Text:
    """The one text that says just this."""
    (found,) = [text for text in texts(figure) if text.get_text().strip() == said]
    return found


def rendered(figure: Figure) -> RendererAgg:
    """The renderer that has drawn the figure; until then a legend has no place."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return canvas.get_renderer()


def inks(figure: Figure) -> list[tuple[Text, npt.NDArray[np.bool_]]]:
    """Every text with the pixels that it alone would ink, box included, as Agg draws them."""
    renderer = rendered(figure)
    found = []
    for text in texts(figure):
        renderer.clear()
        text.draw(renderer)
        found.append((text, np.asarray(renderer.buffer_rgba())[..., 3] > 0))
    return found


def points(line: Line2D) -> npt.NDArray[np.float64]:
    """Points of a line in data coordinates, shape (n, 2)."""
    return np.asarray(line.get_xydata(), dtype=float)


def line_through(axes: Axes, colour: str, width: float | None = None) -> list[Line2D]:
    return [line for line in axes.lines if line.get_color() == colour and (width is None or line.get_linewidth() == width)]


def horizontal(axes: Axes, colour: str) -> list[tuple[float, float, float]]:
    """Level lines of a colour: left end, right end, height. A line across all the axes has ends 0 and 1."""
    found = []
    for line in line_through(axes, colour):
        drawn = points(line)
        if len(drawn) == 2 and drawn[0, 1] == drawn[1, 1]:
            found.append((float(drawn[0, 0]), float(drawn[1, 0]), round(float(drawn[0, 1]), 9)))
    return found

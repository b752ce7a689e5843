"""What a drawing holds, for the tests of pictures: texts, the ink of each as matplotlib sets it, lines as points, and signs."""

import numpy as np
import numpy.typing as npt
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.text import Text

from analyzer.report.pictures.drawing import Drawing, Line, Marker, Panel, Words
from analyzer.report.pictures.figures import figure_of, look


def marks(of: Drawing | Panel) -> list[object]:
    """All marks of a drawing or of one of its panels."""
    panels = (of,) if isinstance(of, Panel) else of.panels
    return [mark for panel in panels for mark in panel.marks]


def texts(of: Drawing | Panel) -> list[Words]:
    return [mark for mark in marks(of) if isinstance(mark, Words)]


def lines(of: Drawing | Panel) -> list[Line]:
    return [mark for mark in marks(of) if isinstance(mark, Line)]


def signs(of: Drawing | Panel, shape: str) -> list[Marker]:
    """The markers of a shape."""
    return [mark for mark in marks(of) if isinstance(mark, Marker) and mark.shape == shape]


def words(of: Drawing | Panel) -> list[str]:
    return [text.text.strip() for text in texts(of)]


def text_saying(of: Drawing | Panel, said: str) -> Words:
    """The one text that says just this."""
    (found,) = [text for text in texts(of) if text.text.strip() == said]
    return found


def panel_of(drawing: Drawing, quantity: str) -> Panel:
    (found,) = [panel for panel in drawing.panels if panel.frame.quantity == quantity]
    return found


def rendered(drawing: Drawing) -> tuple[Figure, RendererAgg]:
    """The drawing as a figure, and the renderer that has drawn it."""
    with look():
        figure = figure_of(drawing)
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        return figure, canvas.get_renderer()


def set_texts(figure: Figure) -> list[Text]:
    """Every text of a figure that is seen."""
    return [text for axes in figure.axes for text in axes.texts if text.get_text().strip()]


def figure_words(figure: Figure) -> list[str]:
    """What the texts of a figure say."""
    return [text.get_text().strip() for text in set_texts(figure)]


def inks(drawing: Drawing) -> list[tuple[str, npt.NDArray[np.bool_]]]:
    """What every text says with the pixels that it alone would ink, box included, as Agg draws them."""
    figure, renderer = rendered(drawing)
    found = []
    with look():
        for text in set_texts(figure):
            renderer.clear()
            text.draw(renderer)
            found.append((text.get_text().strip(), np.asarray(renderer.buffer_rgba())[..., 3] > 0))
    return found


def points(line: Line) -> npt.NDArray[np.float64]:
    """Points of a line in the coordinates of its frame, shape (n, 2)."""
    return np.column_stack([line.x, line.y])


def line_through(of: Drawing | Panel, colour: str, width: float | None = None) -> list[Line]:
    """Lines of a colour, without those that point to faults."""
    return [
        line for line in lines(of) if line.name != "fault" and line.colour == colour and (width is None or line.width == width)
    ]


def horizontal(of: Drawing | Panel, colour: str) -> list[tuple[float, float, float]]:
    """Level lines of a colour inside the frame: left end, right end, height."""
    found = []
    for line in line_through(of, colour):
        drawn = points(line)
        if line.clipped and len(drawn) == 2 and drawn[0, 1] == drawn[1, 1]:
            found.append((float(drawn[0, 0]), float(drawn[1, 0]), round(float(drawn[0, 1]), 9)))
    return found

"""Small pictures of a few flights as they should look, and how far one is from another.

``python tests/report/golden_pictures.py`` draws those of `golden/` anew; look at each before it is committed.
"""

import io
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
from matplotlib.figure import Figure
from matplotlib.image import imread

GOLDEN = Path(__file__).parent / "golden"
FLIGHTS = ("clean.csv", "strong_wind.csv", "early_descent.gpx", "straight_in.csv")
KINDS = ("plan", "profile", "final", "strips")
NAMES = tuple(f"{flight.rsplit('.', 1)[0]}-{kind}" for flight in FLIGHTS for kind in KINDS)
_DPI = 40

Pixels = npt.NDArray[np.float64]


def drawn(flight: str, debrief) -> Iterator[tuple[str, bytes]]:
    """The pictures of a flight by name, as PNG."""
    from analyzer.report.pictures.figures import figure_of, look
    from analyzer.report.pictures.layout import WIDE
    from analyzer.report.pictures.page_pictures import drawings_of
    from analyzer.report.pictures.subject import Subject

    with look():
        for kind, drawing in drawings_of(Subject(debrief, debrief.approaches[0]), WIDE):
            yield f"{flight.rsplit('.', 1)[0]}-{kind}", picture(figure_of(drawing))


def picture(figure: Figure) -> bytes:
    """A figure as a small PNG."""
    content = io.BytesIO()
    figure.savefig(content, format="png", dpi=_DPI, metadata={"Software": None})
    return content.getvalue()


def pixels(content: bytes) -> Pixels:
    """Red, green and blue of every pixel, 0 to 255."""
    return np.asarray(imread(io.BytesIO(content)), dtype=float)[..., :3] * 255.0


def farthest_tile(one: Pixels, other: Pixels) -> float:
    """How far two pictures are apart where they differ most: the mean difference of a tile of 8 by 8 pixels, 0 to 255.

    The edge of a letter that falls a fraction of a pixel elsewhere hardly counts in a tile; a line in another place does.
    """
    height, width = (side // 8 * 8 for side in one.shape[:2])
    off = np.abs(one - other)[:height, :width].mean(axis=2)
    return float(off.reshape(height // 8, 8, width // 8, 8).mean(axis=(1, 3)).max())


def _renew() -> None:
    sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]
    from tempfile import TemporaryDirectory

    from report_flights import LOGS, PROCEDURE, cut_logs

    import analyzer

    with TemporaryDirectory() as folder:
        for flight in FLIGHTS:
            log = LOGS.get(flight, Path(folder) / flight)
            if flight not in LOGS:
                header, rows = cut_logs()[flight]
                log.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
            debrief = analyzer.debrief(analyzer.read_track(log), analyzer.read_procedure(PROCEDURE))
            for name, content in drawn(flight, debrief):
                (GOLDEN / f"{name}.png").write_bytes(content)


if __name__ == "__main__":
    _renew()

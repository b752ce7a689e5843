"""Pictures against those that were looked at once: nothing has moved, changed its colour or gone.

Where a change is meant, ``python tests/report/golden_pictures.py`` draws them anew; look at each before it is committed.
"""

import numpy as np
import pytest
from golden_pictures import FLIGHTS, GOLDEN, NAMES, drawn, farthest_tile, picture, pixels
from matplotlib.transforms import Affine2D

from analyzer.report.pictures.figures import figure_of, look
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.subject import Subject

# of 255, in the tile that differs most; the tests below say what that lets pass and what not
MOST_OFF = 18.0


@pytest.fixture(scope="module")
def now(debriefs) -> dict[str, bytes]:
    return {name: content for flight in FLIGHTS for name, content in drawn(flight, debriefs[flight])}


def test_they_are_these(now):
    assert set(now) == set(NAMES) == {path.stem for path in GOLDEN.glob("*.png")}
    assert sum(path.stat().st_size for path in GOLDEN.glob("*.png")) < 400_000


@pytest.mark.parametrize("name", NAMES)
def test_it_looks_as_it_did(now, name):
    one, golden = pixels(now[name]), pixels((GOLDEN / f"{name}.png").read_bytes())
    assert one.shape == golden.shape
    assert farthest_tile(one, golden) < MOST_OFF


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_that_moved_would_be_seen(name):
    """By a pixel, a fortieth of an inch on paper."""
    golden = pixels((GOLDEN / f"{name}.png").read_bytes())
    for axis in (0, 1):
        assert farthest_tile(np.roll(golden, 1, axis=axis), golden) > 2.0 * MOST_OFF


def test_a_single_line_that_moved_would_be_seen(debriefs):
    """Each curve of the strips by itself, by two points. (Thin dashed limits are looked for in the tests of the strips.)"""
    debrief = debriefs["clean.csv"]
    with look():
        figure = figure_of(strips(Subject(debrief, debrief.approaches[0]), WIDE))
        before = pixels(picture(figure))
        for axes in figure.axes:
            curve = max(axes.lines, key=lambda line: line.get_linewidth() if len(line.get_xdata()) > 100 else 0.0)
            as_it_was = curve.get_transform()
            curve.set_transform(as_it_was + Affine2D().translate(0.0, 2.0 / 72.0 * figure.dpi))
            assert farthest_tile(pixels(picture(figure)), before) > MOST_OFF, axes.get_label()
            curve.set_transform(as_it_was)


@pytest.mark.parametrize("name", NAMES)
def test_letters_a_quarter_of_a_pixel_elsewhere_would_not(name):
    """As where another rasteriser sets them."""
    golden = pixels((GOLDEN / f"{name}.png").read_bytes())
    assert farthest_tile(0.75 * golden + 0.25 * np.roll(golden, 1, axis=1), golden) < MOST_OFF

"""Sketches: words keep clear of what is drawn, inside the frame, and text is text."""

from xml.etree import ElementTree as ET

import numpy as np
import pytest

from analyzer.report.paper.sketch import Sketch

FRAME = (200.0, 100.0)


def sketch():
    return Sketch(*FRAME, scale=0.01, middle_m=(0.0, 0.0))


def test_places_are_to_scale_with_north_up():
    x, y = sketch().at(np.array([[1000.0, 0.0], [0.0, 2000.0]])).T
    assert x.tolist() == [100.0, 120.0]  # 20 points east of the middle
    assert y.tolist() == [40.0, 50.0]  # 10 points above it


def test_words_take_the_place_that_hides_nothing():
    drawn = sketch()
    drawn.avoid(np.array([[50.0, 50.0], [100.0, 50.0]]), 3.0)
    assert drawn.clearest([(50.0, 50.0), (100.0, 50.0), (150.0, 50.0)], 20.0, 10.0) == (150.0, 50.0)
    # and it is taken from then on
    assert drawn.clearest([(150.0, 50.0), (150.0, 70.0)], 20.0, 10.0) == (150.0, 70.0)


def test_words_stay_in_the_frame_whatever_they_hide():
    drawn = sketch()
    drawn.avoid(np.array([[30.0, 50.0]]), 10.0)
    assert drawn.clearest([(5.0, 50.0), (30.0, 50.0)], 40.0, 10.0) == (30.0, 50.0)


def test_of_equal_places_the_first_is_taken_and_corners_come_before_edges():
    drawn = sketch()
    assert drawn.clearest([(60.0, 50.0), (140.0, 50.0)], 20.0, 10.0) == (60.0, 50.0)
    assert sketch().free(40.0, 20.0) == (20.0, 10.0)


@pytest.mark.parametrize("seed", range(20))
def test_of_many_places_with_a_cost_the_best_is_taken(seed):
    """None is left untried that would be better: each place alone, in a sketch of its own, hides and costs no less."""
    rng = np.random.default_rng(seed)
    marks, places = rng.uniform((0.0, 0.0), FRAME, (60, 2)), rng.uniform((20.0, 10.0), (180.0, 90.0), (100, 2))
    cost = rng.uniform(0.0, 80.0, len(places))

    def hidden(place):
        """How much a box of 20 by 10 points about a place covers of squares of 3 points about the marks, each way."""
        depth = np.maximum(np.array([10.0, 5.0]) + 3.0 - np.abs(place - marks), 0.0)
        return float(depth.prod(axis=1).sum())

    drawn = sketch()
    drawn.avoid(marks, 3.0)
    taken = drawn.clearest([tuple(place) for place in places.tolist()], 20.0, 10.0, cost)
    total = [hidden(place) + one for place, one in zip(places, cost, strict=True)]
    assert taken == tuple(places[int(np.argmin(total))].tolist())


@pytest.mark.parametrize("text", ["<b>&", '"Q&A"', "]]>", "</text><script>"])
def test_names_are_text(text):
    drawn = sketch()
    drawn.label([(100.0, 50.0)], text, 10.0, "#000000")
    root = ET.fromstring(drawn.svg())  # noqa: S314 (our own)
    assert [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")] == [text]
    assert {element.tag.rpartition("}")[2] for element in root.iter()} == {"svg", "text"}

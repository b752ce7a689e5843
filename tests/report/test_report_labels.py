"""Every word in a picture can be read: it lies inside the picture, on no other word, and takes its text as it is."""

import itertools

import matplotlib as mpl
import pytest
from drawn import inks, rendered, set_texts, texts
from labelled import boxes

from analyzer.report.pictures.layout import NARROW
from analyzer.report.pictures.page_pictures import draw_pictures
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.subject import Subject

KINDS = ("plan", "profile", "strips")


@pytest.fixture(params=KINDS)
def kind(request) -> str:
    return str(request.param)


def test_words_lie_inside_the_picture(figures, sample, kind):
    figure = figures[sample, kind]
    drawn, renderer = rendered(figure)
    for text in set_texts(drawn):
        box = text.get_window_extent(renderer)
        inside = box.x0 >= 0 and box.y0 >= 0 and box.x1 <= drawn.bbox.width and box.y1 <= drawn.bbox.height
        assert inside, (text.get_text(), box.extents)


def test_no_word_is_cut_off_on_a_phone(debriefs, sample):
    """The strong wind's log ends 18 s after 15:55, whose label reaches beyond the end of the curves."""
    debrief = debriefs[sample]
    drawing = strips(Subject(debrief, debrief.approaches[0]), NARROW)
    for text, box in boxes(drawing):
        assert box[:, 0].min() >= 0.0, text
        assert box[:, 0].max() <= drawing.width, text


def test_no_word_lies_on_another(figures, sample, kind):
    """By ink, so that a text at an angle counts for no more than it covers."""
    drawn = inks(figures[sample, kind])
    assert len(drawn) > 15
    assert all(ink.any() for _, ink in drawn)
    for (one, ink), (other, other_ink) in itertools.combinations(drawn, 2):
        assert not (ink & other_ink).any(), (one, other)


def test_words_are_not_too_small(figures, sample, kind):
    """8 points at the width of a page of 8.4 inches: that of the smallest print on a chart is not less."""
    assert min(text.size for text in texts(figures[sample, kind])) >= 8.0


def test_matplotlib_s_settings_stay_the_caller_s(debriefs):
    before = dict(mpl.rcParams)
    debrief = debriefs["clean.csv"]
    draw_pictures(Subject(debrief, debrief.approaches[0]), "a1")
    assert dict(mpl.rcParams) == before

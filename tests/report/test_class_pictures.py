"""The small pictures of a class: the numbers on the scale of a figure."""

import re

import pytest

from analyzer.gradebook.sample import Sample
from analyzer.report.pictures.class_pictures import draw_spreads


def numbers(*values: float) -> list[str]:
    sample: Sample[float] = Sample()
    for value in values:
        sample.add(value)
    (picture,) = draw_spreads({"mark_percent": sample})
    return re.findall(r"<text[^>]*>([^<]*)</text>", picture.svg)


@pytest.mark.parametrize(("value", "word"), [(0.0, "0"), (100.0, "100"), (87.5, "88")])
@pytest.mark.parametrize("count", [2, 11])
def test_where_all_have_one_value_it_is_the_only_number(value: float, word: str, count: int):
    assert numbers(*[value] * count) == [word]


def test_where_they_differ_the_scale_has_several_numbers():
    assert len(numbers(0.0, 40.0, 100.0)) > 2

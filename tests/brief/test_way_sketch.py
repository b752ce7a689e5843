"""The small plan of a knee card: no word or number over another, nor a word over the limit, by the metrics of the font."""

import itertools
import re
from functools import cache
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from after_final import DAY, SAMPLE, briefed
from matplotlib import font_manager
from PIL import ImageFont

from analyzer.procedure.charted import resolve
from analyzer.procedure.read import read_procedure
from analyzer.report.paper.knee_steps import missed_steps, steps
from analyzer.report.paper.way_sketch import way_sketch
from analyzer.report.pictures.style import WARN

SVG = "{http://www.w3.org/2000/svg}"
ROOMS = ((195.0, 130.0), (195.0, 165.0), (230.0, 230.0))  # as on the back of a card, and on its front
_CAPITAL, _APART_PT = 0.73, 0.5  # height of DejaVu's capitals, as a share of the size; by which two may touch
STEP_DOWN = '[[fixes]]\nname = "{}"\nrole = "step-down"\ndistance_nm = {}\nminimum_ft = {}\n\n'


@cache
def _font(bold):
    weight = "bold" if bold else "normal"
    return ImageFont.truetype(font_manager.findfont(font_manager.FontProperties(family="DejaVu Sans", weight=weight)), 100)


def crowded(folder):
    """The sample with seven step-down fixes in two and a half miles."""
    text = SAMPLE.read_text(encoding="utf-8")
    begin, end = text.index("[[fixes]]"), text.index("[[fixes]]", text.index("[[fixes]]") + 1)
    fixes = "".join(STEP_DOWN.format(f"FIX{k}", round(0.5 + 0.4 * k, 1), 1640 - 130 * k) for k in range(7))
    path = folder / "crowded.toml"
    path.write_text(text[:begin] + fixes + text[end:], encoding="utf-8")
    return resolve(read_procedure(path), DAY)


def boxes(root):
    """The words and numbers with their boxes: left, top, right, bottom. A number takes its disc or pill."""
    under = [
        (float(one.get("x")), float(one.get("y")), float(one.get("width")), float(one.get("height")))
        for one in root.iter(f"{SVG}rect")
    ]
    found = []
    for one in root.iter(f"{SVG}text"):
        size, x, y = (float(one.get(key)) for key in ("font-size", "x", "y"))
        half = _font(one.get("font-weight") == "bold").getlength(one.text) / 200.0 * size
        box = (x - half, y - _CAPITAL * size, x + half, y)
        pill = next((p for p in under if p[0] < x < p[0] + p[2] and p[1] < box[1] and box[3] < p[1] + p[3]), None)
        found.append((one.text, box if pill is None else (pill[0], pill[1], pill[0] + pill[2], pill[1] + pill[3])))
    return found


def limit_points(root):
    """Points along the limit, close to each other."""
    (path,) = [one.get("d") for one in root.iter(f"{SVG}path") if one.get("stroke") == WARN]
    places = np.array([[float(number) for number in pair.split()] for pair in re.split("[ML]", path)[1:]])
    share = np.linspace(0.0, 1.0, 4)[:-1, None, None]
    return (places[:-1] + share * np.diff(places, axis=0)).reshape(-1, 2)


@pytest.fixture(scope="module")
def charts(tmp_path_factory):
    return {"plain": resolve(read_procedure(SAMPLE), DAY), "crowded": crowded(tmp_path_factory.mktemp("charts"))}


@pytest.mark.parametrize("room", ROOMS)
@pytest.mark.parametrize("wind", ["240/15", "330/30", "060/40"])
@pytest.mark.parametrize("chart", ["plain", "crowded"])
def test_words_and_numbers_keep_off_each_other_and_words_off_the_limit(chart, wind, room, charts):
    made = briefed(charts[chart], missed=True, winds=[wind])
    way = (*steps(made), *missed_steps(made))
    root = ET.fromstring(way_sketch(made, way, *room))  # noqa: S314 (our own)
    placed = boxes(root)
    over = [
        (a, b)
        for (a, one), (b, other) in itertools.combinations(placed, 2)
        if min(one[2], other[2]) - max(one[0], other[0]) > _APART_PT
        and min(one[3], other[3]) - max(one[1], other[1]) > _APART_PT
    ]
    assert over == []
    x, y = limit_points(root).T
    crossed = [
        text
        for text, (left, top, right, bottom) in placed
        if text.strip("0123456789-") and ((x > left) & (x < right) & (y > top) & (y < bottom)).any()
    ]
    assert crossed == []


@pytest.mark.parametrize("chart", ["plain", "crowded"])
def test_every_step_has_its_number_by_itself_or_with_its_neighbours(chart, charts):
    made = briefed(charts[chart], missed=True)
    way = (*steps(made), *missed_steps(made))
    root = ET.fromstring(way_sketch(made, way, *ROOMS[0]))  # noqa: S314 (our own)
    shown = []
    for one in root.iter(f"{SVG}text"):
        if re.fullmatch(r"\d+(-\d+)?", one.text) and one.get("fill") == "#ffffff":
            first, _, last = one.text.partition("-")
            shown += range(int(first), int(last or first) + 1)
    assert sorted(shown) == list(range(1, len(way) + 1))

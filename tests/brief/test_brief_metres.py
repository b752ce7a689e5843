"""A brief of a chart in metres is in metres, and the same brief otherwise."""

import re

from after_final import DAY, SAMPLE, briefed

from analyzer.physics.units import FT
from analyzer.procedure.charted import resolve
from analyzer.procedure.read import read_procedure
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.pages.brief_page import brief_page
from analyzer.report.words.brief_text import brief_text


def metric(folder):
    """The sample with every altitude of its file in metres."""
    text = re.sub(r"_ft = (\d+)", lambda found: f"_m = {int(found[1]) * FT:.6f}", SAMPLE.read_text(encoding="utf-8"))
    title = 'title    = "Wendle Island VOR Z 24"\n'
    assert title in text
    path = folder / "metric.toml"
    path.write_text(text.replace(title, f'{title}units = {{ altitude = "m" }}\n'), encoding="utf-8")
    return resolve(read_procedure(path), DAY)


def test_the_card_and_the_page_are_in_metres(tmp_path):
    made = briefed(metric(tmp_path), missed=True, winds=["270/20@1000", "290/30@5000"])
    text = brief_text(made)
    assert not re.findall(r"\d ft\b(?!/)", text)
    assert "altitude ft" not in text
    assert "altitude m" in text
    assert "914-792" in text  # outbound from 3,000 to 2,600 ft
    assert "MDA 195" in text
    assert "195-366" in text  # straight ahead from 640 to 1,200 ft
    assert "kt at 305 m" in text
    page = re.sub(r"<svg.*?</svg>", "", brief_page(made), flags=re.DOTALL)
    assert not re.findall(r"\d ft\b(?!/)", page)
    assert max(map(len, text.splitlines())) <= 80


def test_its_json_is_the_same_but_for_words(tmp_path):
    metres, feet = brief_document(briefed(metric(tmp_path), missed=True)), brief_document(briefed(missed=True))
    assert metres["parts"] == feet["parts"]
    assert metres["holds"] == feet["holds"]
    assert metres["path"]["altitude_ft"] == feet["path"]["altitude_ft"]

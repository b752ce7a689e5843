"""What a brief is written as: card, JSON, page and PDF, and by the command line."""

import json
import math
import os
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from briefed import arc_chart, base_chart, briefed, hold_chart, turn_chart
from printed import read_pdf

from analyzer.brief.chances import Errors
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.exports.json_text import brief_json_text
from analyzer.report.pages.brief_page import brief_page
from analyzer.report.words.brief_text import brief_text

PROCEDURE = Path(__file__).resolve().parents[2] / "sample_tracks" / "wendle_island_vor24.toml"
TITLE, FIX = "Hook & <b>Spar</b> VOR", '<b>"Q&A"'
HOSTILE = {"title": TITLE, "fix": {"name": FIX, "kind": "vor", "latitude_deg": 41.2, "longitude_deg": -38.4}}
FEW = Errors(flights=200)
DOWN = {"outbound": 3000.0, "reversal": 2400.0, "inbound": 1800.0}
KINDS = ["45/180", "80/260", "racetrack", "teardrop", "base-turn", "hold-direct", "hold-teardrop", "hold-parallel", "arc"]
FLOWN = {"racetrack": "hold-direct", "teardrop": "base-turn"}  # what a debrief calls them


@pytest.fixture(scope="module")
def briefs():
    out, wind = 73.0, {"winds": ["130/20"]}
    return {
        "45/180": briefed(turn_chart(), errors=FEW, arrival_deg=20.0, **wind),
        "80/260": briefed(turn_chart("left"), errors=FEW, shape="80/260", bank_deg=25.0),
        "racetrack": briefed(replace(turn_chart("left"), floors_ft=DOWN), errors=FEW, shape="racetrack", **wind),
        "teardrop": briefed(turn_chart(), errors=FEW, shape="teardrop", arrival_deg=120.0),
        "base-turn": briefed(replace(base_chart("left", 18.0), floors_ft=DOWN), errors=FEW, **wind),
        "hold-direct": briefed(replace(hold_chart(), floors_ft=DOWN), errors=FEW, **wind),
        "hold-teardrop": briefed(hold_chart(leg_length_nm=4.0), errors=FEW, arrival_deg=(out + 310.0) % 360.0),
        "hold-parallel": briefed(hold_chart("left"), errors=FEW, arrival_deg=(out - 55.0) % 360.0, **wind),
        "arc": briefed(arc_chart(12.0), **wind),
    }


def table_of(text: str) -> list[dict[str, str]]:
    """The rows of the card's table by heading; cells may be empty, so columns are cut where the headings end."""
    lines = text.splitlines()
    rule = next(k for k, line in enumerate(lines) if line and set(line) == {"-"})
    ends = [found.end() for found in re.finditer(r"\S+(?: \S+)*", lines[rule - 1])]
    names, rows = re.split(r"\s{2,}", lines[rule - 1]), []
    width = len(lines[rule])
    for line in lines[rule + 1 :]:
        if line.startswith("Magnetic"):
            break
        padded = line.ljust(width)
        starts = [0, len(padded[: ends[1]]) - len("heading"), *ends[1:-1]]
        rows.append({name: padded[a:b].strip() for name, a, b in zip(names, starts, [starts[1], *ends[1:]], strict=True)})
    return rows


IN_WORDS = {
    "base-turn": "base turn",
    "hold-direct": "hold, direct entry",
    "hold-teardrop": "hold, teardrop entry",
    "hold-parallel": "hold, parallel entry",
}


@pytest.mark.parametrize("kind", KINDS)
def test_the_card(briefs, kind):
    text = brief_text(briefs[kind])
    assert max(map(len, text.splitlines())) <= 80
    # as the knee card has it: words, and not the name that the JSON has
    assert f"| {IN_WORDS.get(kind, kind)} | brief" in text
    assert "Training aid, never for navigation" in text
    for group in {number.group for number in briefs[kind].numbers}:
        assert f"\n{group.capitalize()}\n" in text


@pytest.mark.parametrize("kind", KINDS[:-1])
def test_the_values_of_the_json_are_those_of_the_card(briefs, kind):
    text, document = brief_text(briefs[kind]), json.loads(brief_json_text(briefs[kind]))
    assert document["shape"] == FLOWN.get(kind, kind)
    rows = table_of(text)
    assert len(rows) == len(document["parts"])
    before = None
    for row, part in zip(rows, document["parts"], strict=True):
        turn = part["part"] == before and part["bank_deg"] is not None  # the second of a part: onto what was closed with
        assert row["part"] == part["part"].replace("_", " ") + (", turn" if turn else "")
        before = part["part"]
        assert re.fullmatch(r"([LR] )?\d{3}°", row["heading"])
        assert row["heading"][:-4].strip() == {"left": "L", "right": "R", None: ""}[part["turn"]]
        assert (part["turn"] is None) == (part["bank_deg"] is None)
        assert math.remainder(int(row["heading"][-4:-1]) - part["heading_deg_magnetic"], 360.0) == pytest.approx(0.0, abs=0.56)
        assert 1 <= int(row["heading"][-4:-1]) <= 360
        assert (row["course"] == "") == (part["course_deg_magnetic"] is None)
        for name, key, half in (("GS kt", "ground_speed_kt", 0.56), ("s", "duration_s", 0.56), ("NM", "length_nm", 0.056),
                                ("from fix", "end_distance_nm", 0.056)):  # fmt: skip
            assert float(row[name]) == pytest.approx(part[key], abs=half)
        ends = f"{part['altitude_start_ft']:.0f}", f"{part['altitude_end_ft']:.0f}"
        assert row["altitude ft"] == (ends[0] if ends[0] == ends[1] else "-".join(ends))
    for number in document["numbers"]:
        line = next(line for line in text.splitlines() if line.startswith(f"  {number['name']}  "))
        printed = float(re.sub(r"[^\d.-]", "", line[38:].split("NM")[0].split("ft")[0].split("°")[0].split(" s")[0]))
        assert printed == pytest.approx(number["value"], abs=0.56 if number["unit"] in ("s", "ft/min", "° mag") else 0.056)


def test_headings_are_magnetic(briefs):
    # in still air the heading out is the charted course: 62° true and 11° of westerly declination
    first, *_ = table_of(brief_text(briefs["80/260"]))
    assert (first["heading"], first["course"]) == ("073°", "073°")
    assert brief_document(briefs["80/260"])["variation_deg_east"] == -11.0


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.text: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag, attrs) -> None:
        self.names.add(tag)
        self.links += [value or "" for name, value in attrs if name in ("src", "href", "xlink:href", "action")]

    def handle_data(self, data) -> None:
        self.text.append(data)


@pytest.mark.parametrize("chart", [base_chart("left", 18.0), arc_chart(10.0)], ids=["turn", "arc"])
def test_the_page_stands_by_itself_and_escapes_names(chart):
    hostile = {**HOSTILE, "fix": {**HOSTILE["fix"], "variation_deg_east": -11.0}}
    page = brief_page(briefed(replace(chart, floors_ft=DOWN, tables={**chart.tables, **hostile}), errors=FEW, shape=None))
    tags = Tags()
    tags.feed(page)
    assert not tags.names & {"script", "b", "iframe", "object", "embed", "link", "form", "img", "base"}
    assert all(link.startswith("#") for link in tags.links)
    names_only = re.sub(r'\sxmlns(:\w+)?="[^"]*"', "", page)  # the names of SVG's own vocabularies, which nobody asks for
    assert not re.search(r"https?:|@import|\burl\((?!#)|\son\w+=", names_only)
    assert "<b>" not in page
    assert TITLE in "".join(tags.text)
    assert "Training aid" in page
    assert "svg" in tags.names


def test_the_page_is_the_same_bytes_twice(briefs):
    assert brief_page(briefs["base-turn"]) == brief_page(briefs["base-turn"])


ARGUMENTS = {
    "written": ["--speed", "110", "--wind", "250/20", "--shape", "80/260", "-o", "out", "--json", "out/brief.json"],
    "on paper": ["--speed", "110", "--paper", "half-letter"],
    "no paper": ["--speed", "110", "--paper", "a3"],
    "json": ["--speed", "110", "--wind", "250/20", "--shape", "80/260", "--json", "-"],
    "no speed": [],
    "wind": ["--speed", "110", "--wind", "calm"],
    "word": ["--speed", "110", "--bank", "steep"],
}


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    folder = tmp_path_factory.mktemp("briefs")

    def run(item):
        name, given = item
        command = [sys.executable, "-m", "analyzer", "brief", str(PROCEDURE), "--date", "2026-06-01", *given]
        environment = {**os.environ, "PYTHONWARNINGS": "error", "COLUMNS": "80"}
        done = subprocess.run(  # noqa: S603 (our own program)
            command, cwd=folder, env=environment, capture_output=True, encoding="utf-8", timeout=120, check=False
        )
        return name, done

    with ThreadPoolExecutor(2) as pool:
        return folder, dict(pool.map(run, ARGUMENTS.items()))


def test_the_command_prints_and_writes(outcomes):
    folder, done = outcomes
    written = done["written"]
    assert (written.returncode, written.stderr) == (0, "")
    assert written.stdout.startswith("Wendle Island VOR 24 | 80/260 | brief\n")
    assert max(map(len, written.stdout.splitlines())) <= 80
    names = {path.name for path in (folder / "out").iterdir()}
    assert names == {"wendle_island_vor24-brief.html", "wendle_island_vor24-brief.pdf", "brief.json"}
    assert (folder / "out" / "wendle_island_vor24-brief.pdf").read_bytes().startswith(b"%PDF-")
    page, card = written.stdout.splitlines()[-2:]
    assert page.endswith("wendle_island_vor24-brief.html")
    assert card.endswith("wendle_island_vor24-brief.pdf")


def test_the_knee_card_is_for_the_paper_asked_for(outcomes):
    """A5 unless another is named (ISO 216); half a letter sheet is 5.5 by 8.5 inches. Without a folder it goes into reports."""
    folder, done = outcomes
    assert (done["on paper"].returncode, done["on paper"].stderr) == (0, "")
    for place, size_mm in (("out", (148.0, 210.0)), ("reports", (139.7, 215.9))):
        card = read_pdf((folder / place / "wendle_island_vor24-brief.pdf").read_bytes())
        assert all((sheet.width_mm, sheet.height_mm) == pytest.approx(size_mm, abs=0.1) for sheet in card.sheets)
        assert card.title == "Wendle Island VOR 24: knee card"


def test_json_alone_is_the_same_as_written(outcomes):
    folder, done = outcomes
    assert (done["json"].returncode, done["json"].stderr) == (0, "")
    assert json.loads(done["json"].stdout)["shape"] == "80/260"
    assert done["json"].stdout == (folder / "out" / "brief.json").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("name", "said"),
    [("no speed", "--speed"), ("wind", "--wind calm"), ("word", "--bank"), ("no paper", "--paper a3")],
)
def test_what_is_wrong_is_told_in_two_lines(outcomes, name, said):
    done = outcomes[1][name]
    assert done.returncode == 2
    assert "Traceback" not in done.stdout + done.stderr
    lines = done.stderr.splitlines()
    assert len(lines) in (1, 2)
    assert lines[0].startswith("analyzer: ")
    assert said in done.stderr

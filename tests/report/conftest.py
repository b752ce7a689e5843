"""Flights debriefed once for all tests of reports, with their pictures and pages."""

import json
from collections.abc import Mapping
from pathlib import Path

import pytest
from report_flights import CUT_NAMES, LOGS, PROCEDURE, SAMPLE_NAMES, Json, cut_logs

import analyzer
from analyzer import Debrief
from analyzer.report.exports.json_text import json_text
from analyzer.report.pages.debrief_page import debrief_page
from analyzer.report.pictures.drawing import Drawing
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.page_pictures import Picture, draw_pictures
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.profile import profile
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.subject import Subject
from analyzer.track.options import ReadOptions


@pytest.fixture(scope="session")
def debriefs(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Debrief]:
    """By name: the three samples, and the logs cut from one of them."""
    folder = tmp_path_factory.mktemp("cut")
    procedure = analyzer.read_procedure(PROCEDURE)
    logs = dict(LOGS)
    for name, (header, rows) in cut_logs().items():
        logs[name] = folder / name
        logs[name].write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    options = {"no_altitude.csv": ReadOptions(altitude_required=False)}
    return {name: analyzer.debrief(analyzer.read_track(path, options.get(name)), procedure) for name, path in logs.items()}


@pytest.fixture(scope="session")
def documents(debriefs: Mapping[str, Debrief]) -> Mapping[str, Json]:
    """What the JSON text of each says, read back; NaN and Infinity, which are no JSON, are refused."""

    def refuse(constant: str) -> float:
        raise AssertionError(f"{constant} is no JSON")

    return {name: json.loads(json_text(debrief), parse_constant=refuse) for name, debrief in debriefs.items()}


@pytest.fixture(scope="session")
def pictures(debriefs: Mapping[str, Debrief]) -> Mapping[str, list[tuple[Picture, ...]]]:
    """The pictures of every approach of each flight, and those of the flight where there is none."""
    return {
        name: [
            draw_pictures(Subject(debrief, approach), f"a{number}")
            for number, approach in enumerate(debrief.approaches or (None,), 1)
        ]
        for name, debrief in debriefs.items()
    }


@pytest.fixture(scope="session")
def pages(debriefs: Mapping[str, Debrief], pictures: Mapping[str, list[tuple[Picture, ...]]]) -> Mapping[str, str]:
    return {name: debrief_page(debrief, pictures[name]) for name, debrief in debriefs.items()}


@pytest.fixture(scope="session")
def figures(debriefs: Mapping[str, Debrief]) -> Mapping[tuple[str, str], Drawing]:
    """The drawings of the samples by flight and kind, to look at what is drawn."""
    drawn: dict[tuple[str, str], Drawing] = {}
    for name in SAMPLE_NAMES:
        debrief = debriefs[name]
        for kind, draw in (("plan", plan_view), ("profile", profile), ("strips", strips)):
            figure = draw(Subject(debrief, debrief.approaches[0]), WIDE)
            assert figure is not None
            drawn[name, kind] = figure
    return drawn


@pytest.fixture(params=SAMPLE_NAMES)
def sample(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(params=SAMPLE_NAMES + CUT_NAMES)
def flight(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def entry(documents: Mapping[str, Json], sample: str) -> Json:
    """What the JSON says of a sample's approach."""
    return documents[sample]["reversals"][0]


@pytest.fixture
def side_view(figures: Mapping[tuple[str, str], Drawing], sample: str) -> Drawing:
    return figures[sample, "profile"]


@pytest.fixture(scope="session")
def page_files(pages: Mapping[str, str], tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Path]:
    """The page of each flight as a file."""
    folder = tmp_path_factory.mktemp("pages")
    files = {name: folder / f"{name.rsplit('.', 1)[0]}.html" for name in pages}
    for name, file in files.items():
        file.write_text(pages[name], encoding="utf-8")
    return files

"""A chart in metres: what is said of a flight by it has its heights in metres, and rates and published gates in feet."""

import re
from pathlib import Path

import pytest
from sampled import SAMPLES
from synthetic import FT

from analyzer import debrief, read_procedure, read_track

FLOWN = {
    "early_descent.gpx": "wendle_island_vor24.toml",
    "missed_and_hold.csv": "wendle_island_vorz24.toml",
    "step_down.csv": "wendle_island_rnav06.toml",
}


@pytest.mark.parametrize("log", FLOWN)
def test_no_finding_says_a_height_in_feet(log: str, tmp_path: Path):
    text = (SAMPLES / FLOWN[log]).read_text(encoding="utf-8")
    metric = re.sub(r"_ft(\s*)= (\d+)", lambda found: f"_m{found[1]}= {int(found[2]) * FT:.6f}", text)
    chart = tmp_path / "metric.toml"
    chart.write_text(
        re.sub(r"^title", 'units = { altitude = "m" }\ntitle', metric, count=1, flags=re.MULTILINE), encoding="utf-8"
    )
    result = debrief(read_track(SAMPLES / log), read_procedure(chart))
    approaches = [*result.approaches, *(laps for hold in result.holds for laps in hold.approaches)]
    findings = [finding for approach in approaches for finding in approach.findings]
    assert any(" m" in finding.sentence for finding in findings)
    for finding in findings:
        lesson = finding.lesson
        words = [finding.sentence, finding.reason or "", (lesson and lesson.cause) or "", (lesson and lesson.advice) or ""]
        said = " ".join(words).replace("1,000 ft above the threshold", "").replace("500 ft above the threshold", "")
        assert re.findall(r"[\d,]+ ft\b(?!/)", said) == [], finding.check

"""Briefs of the sample approach with its missed approach and hold, and of the same with other tables."""

import datetime as dt
from pathlib import Path
from typing import Any

from briefed import _ASKED

from analyzer.brief.briefing import Brief, brief
from analyzer.brief.chances import Errors
from analyzer.brief.conditions import asked_for
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.read import read_procedure

SAMPLE = Path(__file__).resolve().parents[2] / "sample_tracks" / "wendle_island_vorz24.toml"
DAY, FEW = dt.date(2026, 6, 1), Errors(flights=50)
HOLD = """[[holds]]                           # southwest of WND, one minute
name = "WND"
role = "missed-approach"
inbound_course_deg = 31
turn = "right"
leg_time_s = 60
minimum_ft = 3000
"""


def charted(folder: Path, *changes: tuple[str, str]) -> Charted:
    """The sample with texts of its file replaced."""
    text = SAMPLE.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "changed.toml"
    path.write_text(text, encoding="utf-8")
    return resolve(read_procedure(path), DAY)


def briefed(chart: Charted | None = None, *, missed: bool = False, **given: Any) -> Brief:
    """At 100 kt true unless a speed is given."""
    chart = chart if chart is not None else resolve(read_procedure(SAMPLE), DAY)
    if not {"speeds", "true_speeds"} & set(given):
        given["true_speeds"] = ["100"]
    return brief(chart, asked_for(chart, **{**_ASKED, **given}), FEW, missed=missed)

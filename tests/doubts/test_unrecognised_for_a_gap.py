"""A log without the seconds of its turn back: nothing is recognised, and the gap is named as what may hide it."""

import re
from pathlib import Path

import pytest

import analyzer
from analyzer.errors import FlownError
from analyzer.report.words.unrecognised import nothing_found

SAMPLES = Path(__file__).parents[2] / "sample_tracks"
CHART = SAMPLES / "wendle_island_vor24.toml"
GAP = "the log has a gap from 09:16:50 to 09:18:20"


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """The sample without the seconds between 09:16:50 and 09:18:20, from its offset leg into the inbound one."""
    head, *rows = (SAMPLES / "clean.csv").read_text(encoding="utf-8").splitlines()
    kept = [row for row in rows if not "09:16:50" < row[11:19] < "09:18:20"]
    assert len(rows) - len(kept) == 89
    written = tmp_path / "gap.csv"
    written.write_text("\n".join([head, *kept]) + "\n", encoding="utf-8")
    return written


def test_the_gap_is_named_as_what_may_hide_the_reversal(log: Path):
    result = analyzer.debrief(analyzer.read_track(log), analyzer.read_procedure(CHART))
    assert not result.approaches
    (doubt,) = result.to_dict()["doubts"]
    assert GAP in doubt
    assert GAP[1:] in nothing_found(result)  # with a capital letter there


def test_what_is_named_and_lies_in_a_gap_is_refused_for_the_gap(log: Path):
    with pytest.raises(FlownError, match=re.escape(GAP)):
        analyzer.debrief(analyzer.read_track(log), analyzer.read_procedure(CHART), flown="45/180")

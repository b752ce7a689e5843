"""Causes of what is only too close to call: that it happened may not be true, so they are worded as possible."""

from dataclasses import replace
from pathlib import Path

import pytest

import analyzer
from analyzer.checks.finding import CLOSE, OUTSIDE, Context
from analyzer.debriefs.data import DebriefData
from analyzer.lessons.teach import teach

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
FLOWN = {"early_descent.gpx": ("vor24", "altitude_floor"), "step_down.csv": ("rnav06", "step_down")}


def debriefed(log: str, procedure: str) -> DebriefData:
    return analyzer.debrief(
        analyzer.read_track(SAMPLES / log), analyzer.read_procedure(SAMPLES / f"wendle_island_{procedure}.toml")
    )


@pytest.mark.parametrize("log", FLOWN)
def test_the_same_cause_is_a_fact_outside_and_possible_where_it_is_close(log: str) -> None:
    procedure, check = FLOWN[log]
    made = debriefed(log, procedure)
    (approach,) = made.approaches
    context = Context(made.motion, approach.reversal, approach.figures, made.standard)
    finding = next(one for one in approach.findings if one.check == check and one.verdict == OUTSIDE)
    (sure,) = teach(context, (finding,))
    (close,) = teach(context, (replace(finding, verdict=CLOSE),))
    assert sure.lesson is not None
    assert close.lesson is not None
    assert " may " not in str(sure.lesson.cause)
    assert " may have " in str(close.lesson.cause)
    assert close.lesson.advice == sure.lesson.advice

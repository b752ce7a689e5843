"""Hostile names, a flight across 180° and other hard cases, for the tests of what reports export."""

import re
from dataclasses import replace
from functools import cache

from patterns import Pattern, fly_approach
from report_flights import LOGS, PROCEDURE, charted
from synthetic import CHARTED, Log, Place

import analyzer
from analyzer import Debrief
from analyzer.checks.finding import Lesson
from analyzer.procedure.schema import Procedure

# Each is a name that a format could take for something else: a formula, a tag, a link, a table, the end of a section, a colour
# of the terminal, or writing turned around.
HOSTILE = (
    "=cmd()",
    "+1+1",
    "-2",
    "@SUM(A1)",
    "<script>alert(1)</script>",
    "]]> & <b>x</b> &lt;",
    "a | b | c",
    "[x](https://evil.example/) ![y](z)",
    "**bold** _it_ `code` ~~no~~",
    "https://evil.example www.evil.example a@evil.example",
    "# heading",
    "1. item",
    "\u202eturned\u202c \u2066round\u2069",
    "line\u2028break \x85 next",
)
DIRECTING = re.compile("[\u202a-\u202e\u2066-\u2069]")


@cache
def debriefed_anew(sample: str) -> Debrief:
    """A sample read and debriefed once more, apart from the fixtures."""
    return analyzer.debrief(analyzer.read_track(LOGS[sample]), analyzer.read_procedure(PROCEDURE))


def named(name: str) -> Debrief:
    """The windy sample by a procedure whose title, fix and runway have that name, also one that no file may hold."""
    procedure = Procedure.model_validate(charted())
    changed = {
        "title": name,
        "fix": procedure.fix.model_copy(update={"name": name}),
        "runway": procedure.runway.model_copy(update={"name": name}),
    }
    return analyzer.debrief(analyzer.read_track(LOGS["strong_wind.csv"]), procedure.model_copy(update=changed))


def saying(debrief: Debrief, text: str) -> Debrief:
    """The same debrief with that text as the first finding's sentence, source and lesson, and as the log's name."""
    approach = debrief.approaches[0]
    finding = replace(approach.findings[0], sentence=text, source=text, lesson=Lesson(text, text), reason=text)
    curves = debrief.motion.curves
    motion = replace(debrief.motion, curves=replace(curves, track=replace(curves.track, file=text)))
    return replace(
        debrief,
        motion=motion,
        approaches=(replace(approach, findings=(finding, *approach.findings[1:])), *debrief.approaches[1:]),
    )


# The fix lies on 180° itself, so that legs, limit and courses lie on both sides of it; invented, in the open ocean.
ACROSS = Place(latitude_deg=-17.3, longitude_deg=180.0, outbound_true_deg=62.0, variation_deg=11.0)


def across_180() -> Debrief:
    return analyzer.debrief(Log(noise_m=1.0).of(fly_approach(Pattern(roll_deg_s=5.0)).flown, ACROSS), CHARTED.at(ACROSS))

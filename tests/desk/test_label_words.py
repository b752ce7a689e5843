"""Sentences about a chart at the desk: labels of the form, and never a table or key of the file."""

import re
import tomllib

import pytest
from test_charting import EVERY_KEY

from analyzer.desk.chart_questions import ROWS, SECTIONS, RowsOf
from analyzer.desk.label_words import in_labels
from analyzer.procedure.schema import Procedure

_AS_IN_THE_FILE = re.compile(r"\[[a-z_.\[\]]+\]|\b[a-z]+_[a-z_]+\b| = ")


@pytest.mark.parametrize(
    ("said", "worded"),
    [
        (
            "[reversal] outbound_course_deg = 90 is 31° off the reciprocal of inbound_course_deg = 241.",
            "“Outbound course” (090°) is 31° off the reciprocal of “Course reversal: Inbound course” (241°).",
        ),
        (
            '[reversal] leg_by = "dme": no station to read: [fix] kind = "ndb" is no VOR; give [dme] with its position',
            ("“Course reversal: How that is measured” (dme): no station to read: “Kind of fix” (ndb) is no "
            "VOR; give “DME station” with its position"),
        ),
        (
            "[[holds]] 1 (WND) has neither leg_time_s nor leg_length_nm: its legs are not judged.",
            "Hold 1 (WND) has neither “Leg, by time” nor “by length”: its legs are not judged.",
        ),
        (
            "[speeds] outbound = 150 is above [reversal] maximum_speed_kias = 140; correct one.",
            "“Outbound” (150 kt) is above “Course reversal: Maximum speed” (140 kt); correct one.",
        ),
        (
            "[altitudes] final_m = 150 is below [runway] threshold_elevation_m = 160.",
            "“Minimum descent altitude” (150 m) is below “Elevation of the threshold” (160 m).",
        ),
        (
            "[[arrivals]] 1 (WEST) course_deg = 61 with reversal = false is 20° off.",
            "“Course to the fix” of arrival 1 (WEST) (061°) with “Reversal from there” (no) is 20° off.",
        ),
        ("[reversal] a base turn to the right needs an outbound course.", "A base turn to the right needs an outbound course."),
        ("Drawn with 061 for “Outbound course”.", "Drawn with 061 for “Outbound course”."),
    ],
)  # fmt: skip
def test_labels_stand_for_tables_and_keys(said, worded):
    assert in_labels(said) == worded


def test_rows_are_called_as_in_the_form():
    """The file has no empty rows; the form may."""
    said = '[[fixes]] 2 role = "final-approach-fix": INNER is the second one: [[fixes]] 1 (OUTER) has that role too'
    assert in_labels(said, {"fixes 1": "fixes 1", "fixes 2": "fixes 4"}) == (
        "“What it is” of fix 4 (final-approach-fix): INNER is the second one: fix 1 (OUTER) has that role too"
    )


def test_every_key_of_a_file_has_a_label_that_the_form_shows():
    labels = [
        field.words
        for section in SECTIONS
        for part in section.parts
        for field in (part.fields if isinstance(part, RowsOf) else (part,))
    ]
    tables = Procedure.model_validate(tomllib.loads(EVERY_KEY)).model_dump(exclude_none=True)
    places = [(name, key) for name, table in tables.items() if isinstance(table, dict) for key in table]
    places += [(name, key) for name in ROWS for row in tables[name] for key in row]
    assert len(places) > 60
    for table, key in places:
        if isinstance(tables[table], dict) and isinstance(tables[table][key], dict):
            continue  # a table in a table
        heading = f"[[{table}]] 1" if table in ROWS else f"[{table}]"
        said = in_labels(f"{heading} {key} = 1")
        assert not _AS_IN_THE_FILE.search(said), said
        shown = re.search("“(?:[^”]*: )?(.*?)”", said)
        assert shown is not None, said
        assert any(shown[1] in label for label in labels), said


def test_what_a_chart_says_of_itself_has_no_key_in_it():
    """All that is odd with the invented chart that has every key, which is a lot."""
    odd = Procedure.model_validate(tomllib.loads(EVERY_KEY)).warnings
    assert len(odd) > 3
    for sentence in odd:
        assert not _AS_IN_THE_FILE.search(in_labels(sentence)), in_labels(sentence)

"""A debrief in a notebook: what it says of itself, its tables, and pictures in axes of the reader's own."""

import re

import numpy as np
import pandas as pd
import pytest
from drawn import words
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from missed_flights import whole
from report_flights import CUT_NAMES, SAMPLE_NAMES
from test_report_page import Page
from test_report_summary import expected_verdict

import analyzer
from analyzer.errors import AnalyzerError

QUANTITIES = ("distance", "deviation", "altitude", "vertical_speed", "speed", "bank", "turn_rate")


def own_axes(count: int = 1):
    figure = Figure(figsize=(9.0, 4.0))
    FigureCanvasAgg(figure)
    return figure.subplots(1, count)


def test_it_says_what_it_is(debriefs, documents, flight):
    said = repr(debriefs[flight])
    assert said.startswith(f"<Debrief of {flight} by Wendle Island VOR 24: ")
    assert "\n" not in said
    for entry in documents[flight]["reversals"]:
        assert f"{entry['flown']}: {expected_verdict(entry)}" in said
    if not documents[flight]["reversals"]:
        assert "no approach recognised" in said


@pytest.mark.parametrize(("table", "key"), [("legs", "parts"), ("findings", "findings")])
def test_tables_hold_the_rows_of_the_json(debriefs, documents, flight, table, key):
    rows = getattr(debriefs[flight], table)
    expected = [(n, row) for n, entry in enumerate(documents[flight]["reversals"], 1) for row in entry[key]]
    assert [row["reversal"] for row in rows] == [number for number, _ in expected]
    assert {row["hold"] for row in rows} <= {None}
    assert [{k: v for k, v in row.items() if k not in ("reversal", "hold")} for row in rows] == [row for _, row in expected]
    frame = rows.to_frame()
    assert len(frame) == len(rows) == len(expected)
    if expected:
        assert list(frame.columns) == ["reversal", "hold", *expected[0][1]]
        instants = frame["start" if table == "legs" else "time"].dropna()
        assert str(instants.dt.tz) == "UTC"
        first = expected[0][1]["start" if table == "legs" else "time"]
        if first is not None:
            assert instants.iloc[0] == pd.Timestamp(first)


def test_a_table_shows_itself_as_text_and_html(debriefs):
    legs = debriefs["clean.csv"].legs
    lines = repr(legs).splitlines()
    assert len(lines) == 1 + len(legs)
    assert lines[0].split()[:3] == ["reversal", "hold", "part"]
    page = Page(legs._repr_html_())
    assert page.text_of("th") == list(legs.rows[0])
    assert len([tag for tag, *_ in page.elements if tag == "tr"]) == 1 + len(legs)


def test_a_table_escapes_what_it_holds():
    from analyzer.library.table import Table

    page = Page(Table(({"<b>": "<script>alert(1)</script>"},))._repr_html_())
    assert {tag for tag, *_ in page.elements} == {"table", "thead", "tbody", "tr", "th", "td"}


@pytest.mark.parametrize("name", SAMPLE_NAMES + CUT_NAMES)
def test_a_debrief_shows_itself_as_html(debriefs, documents, name):
    """Well-formed, without script, request or a style that reaches beyond it; names in it are its own."""
    shown = debriefs[name]._repr_html_()
    page = Page(shown)
    entries = documents[name]["reversals"]
    assert not {"script", "link", "style", "iframe"} & {tag for tag, *_ in page.elements if tag != "style"}
    assert len(page.all("svg")) == len(entries)
    assert "never for navigation" in page.text("div")
    for entry in entries:
        assert f"{expected_verdict(entry).capitalize()}:" in page.text("div")
    used = set(re.findall(r"var\(--([\w-]+)\)", shown))
    assert used <= set(re.findall(r"--([\w-]+):", shown))


def test_two_flights_in_one_notebook_keep_their_names_apart(debriefs):
    ids = [set(re.findall(r'\bid="([^"]+)"', debriefs[name]._repr_html_())) for name in ("clean.csv", "strong_wind.csv")]
    assert ids[0]
    assert ids[1]
    assert not ids[0] & ids[1]


def test_pictures_are_drawn_into_axes_of_ones_own(debriefs):
    debrief = debriefs["strong_wind.csv"]
    left, right = own_axes(2)
    assert analyzer.plot_plan_view(debrief, ax=left) is left.figure
    assert analyzer.plot_profile(debrief, ax=right) is left.figure
    said = words(left.figure)
    assert "farthest 11.48 NM" in said
    assert "altitude, ft MSL" in said
    (x0, x1), (y0, y1), box = left.get_xlim(), left.get_ylim(), left.get_window_extent()
    assert (x1 - x0) / box.width == pytest.approx((y1 - y0) / box.height)  # a mile is a mile both ways


def test_the_final_is_drawn_as_in_the_report(debriefs):
    debrief = debriefs["clean.csv"]
    axes = own_axes()
    assert analyzer.plot_final(debrief, ax=axes) is axes.figure
    assert {"runway 24", "distance to the threshold, NM; beyond it at the right"} <= set(words(axes.figure))
    assert set(words(analyzer.plot_final(debrief))) >= {"runway 24", "MDA 640"}
    for name in ("no_altitude.csv", "cut_short.csv"):
        with pytest.raises(AnalyzerError, match="no final approach to draw"):
            analyzer.plot_final(debriefs[name])


def test_numbers_of_approaches_holds_and_laps_are_whole(debriefs):
    for debrief in (debriefs["two_approaches.csv"], whole().debrief()):
        for table in (debrief.legs, debrief.findings):
            frame = table.to_frame()
            for column in ("reversal", "hold", "lap"):
                assert str(frame[column].dtype) == "Int64"
                assert [None if pd.isna(value) else int(value) for value in frame[column]] == [row[column] for row in table]


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_every_quantity_has_a_strip_of_its_own(debriefs, quantity):
    axes = own_axes()
    assert analyzer.plot_strip(debriefs["clean.csv"], quantity, ax=axes) is axes.figure
    assert "time, UTC" in words(axes.figure)
    alone = analyzer.plot_strip(debriefs["clean.csv"], quantity)
    assert words(alone) == words(axes.figure)
    drawn = max(axes.lines, key=lambda line: np.isfinite(np.asarray(line.get_ydata(), dtype=float)).sum())
    assert len(drawn.get_xdata()) > 60


def test_all_strips_in_one_figure(debriefs):
    assert [axes.get_label() for axes in analyzer.plot_strips(debriefs["clean.csv"]).axes] == list(QUANTITIES)


def test_the_readers_own_settings_stay(debriefs):
    import matplotlib as mpl

    before = dict(mpl.rcParams)
    analyzer.plot_strips(debriefs["clean.csv"])
    assert dict(mpl.rcParams) == before


@pytest.mark.parametrize(
    ("name", "draw", "said"),
    [
        ("arrival_only.csv", lambda d: analyzer.plot_plan_view(d), "approach 1: none was recognised in arrival_only.csv"),
        ("clean.csv", lambda d: analyzer.plot_plan_view(d, 2), "approach 2: there are 1 in clean.csv"),
        ("no_altitude.csv", lambda d: analyzer.plot_profile(d), "no_altitude.csv: the log has no altitude"),
        ("no_altitude.csv", lambda d: analyzer.plot_strip(d, "altitude"), "altitude: not known from no_altitude.csv"),
        ("clean.csv", lambda d: analyzer.plot_strip(d, "pitch"), "pitch: not a quantity that is drawn; choose from distance"),
    ],
)
def test_what_cannot_be_drawn_is_said(debriefs, name, draw, said):
    with pytest.raises(AnalyzerError, match=re.escape(said)):
        draw(debriefs[name])


def test_axes_that_are_in_no_figure_are_refused(debriefs):
    axes = Figure().add_subplot()
    axes.remove()
    with pytest.raises(AnalyzerError, match="the axes are in no figure; add them to one first"):
        analyzer.plot_plan_view(debriefs["clean.csv"], ax=axes)

"""A flight with a missed approach and a hold in every report: each names the hold, its laps by number, in the order flown.

Reversal, final leg, missed approach, three laps, a second approach that lands: by construction (`missed_flights`).
"""

import csv
import io
import json
import re
from html import unescape
from itertools import pairwise

import numpy as np
import pytest
from browsing import needs_chromium, opened
from drawn import horizontal, line_through, points, texts, words
from lxml import etree
from missed_flights import chart, gone_around, hold_nm, laid, missed_into_hold, whole
from report_flights import NM, instant, seconds
from test_page_colours import leg_contrasts
from test_report_page import Page
from test_report_schema import faults

from analyzer import Debrief
from analyzer.report.exports.csv_tables import findings_csv, parts_csv, track_csv
from analyzer.report.exports.geojson import debrief_geojson
from analyzer.report.exports.kml import debrief_kml
from analyzer.report.exports.markdown import debrief_markdown
from analyzer.report.pages.debrief_page import debrief_page
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.page_pictures import draw_pictures, drawings_of
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.strips import strip_panel
from analyzer.report.pictures.style import LEG_COLOUR, WARN
from analyzer.report.pictures.subject import Subject
from analyzer.report.words.summary import summary_text, where_text

TITLES = ["Approach 1 of 2", "Hold at WND", "Approach 2 of 2"]
LAP = ["entry turn", "outbound", "turn inbound", "inbound"]
LATER = ["turn outbound", *LAP[1:]]  # the hold is entered once
LAPS = [f"{part} {lap}" for lap in (1, 2, 3) for part in (LAP if lap == 1 else LATER)]
KML = "{http://www.opengis.net/kml/2.2}"


@pytest.fixture(scope="module")
def debriefed() -> Debrief:
    return whole().debrief()


@pytest.fixture(scope="module")
def document(debriefed):
    return json.loads(json.dumps(debriefed.to_dict(), allow_nan=False))


@pytest.fixture(scope="module")
def page_text(debriefed):
    pictures = [
        draw_pictures(Subject(one.seen, one.approach), f"a{number}") for number, one in enumerate(debriefed.sections, 1)
    ]
    return debrief_page(debriefed, pictures)


def in_order(text: str, words: list[str]) -> bool:
    """Whether words come one after the other in a text."""
    places = [text.find(words[0])]
    for word in words[1:]:
        places.append(text.find(word, places[-1] + 1))
    return all(place >= 0 for place in places)


def test_a_part_has_one_name_in_tables_findings_and_explanations(debriefed):
    """What the table of parts calls the turn outbound of a later lap, no finding calls another entry."""
    text = summary_text(debriefed)
    for lap in (2, 3):
        assert f"turn outbound {lap}" in text
        assert f"entry turn {lap}" not in text
    held = debriefed.sections[1].approach.findings
    turned = [finding for finding in held if finding.part == "entry_turn" and finding.lap is not None]
    assert {where_text(finding) for finding in turned} == {"entry turn 1", "turn outbound 2", "turn outbound 3"}


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_the_speed_limit_of_a_hold_is_drawn_throughout(debriefed):
    """AIM 5-3-8 j.2: 200 kt to 6,000 ft, in all of every lap, wherever in it the greatest speed was flown."""
    hold = debriefed.sections[1]
    subject = Subject(hold.seen, hold.approach)
    panel = strip_panel(subject, WIDE, (0.0, 0.0, 600.0, 100.0), "speed")
    limits = sorted((begin, end) for begin, end, height in horizontal(panel, WARN) if height == 200.0)
    laps = [span for leg, _, span in subject.named_spans() if leg == "hold"]
    assert np.array(limits) == pytest.approx(np.array(laps), abs=1.0)


def test_the_json_is_valid_and_of_version_2(document):
    assert faults(document) == []
    assert document["version"] == 2
    assert [entry["flown"] for entry in document["reversals"]] == ["45/180", "45/180"]
    assert [entry["hold"] for entry in document["reversals"]] == [None, None]
    (held,) = document["holds"]
    assert held["hold"] == {"name": "WND", "laps": 3}
    assert (held["charted"], held["entry"], held["turn"]) == ("hold", "direct", "right")
    assert [(part["part"], part["lap"]) for part in held["parts"]] == [
        (part.replace(" ", "_"), lap) for lap in (1, 2, 3) for part in LAP
    ]
    assert {part["leg"] for part in held["parts"]} == {"hold"}
    assert {part["lap"] for entry in document["reversals"] for part in entry["parts"]} == {None}
    assert {finding["lap"] for finding in held["findings"]} == {None, 1, 2, 3}
    assert {finding["lap"] for entry in document["reversals"] for finding in entry["findings"]} == {None}
    assert [entry["parts"][-1]["part"] for entry in document["reversals"]] == ["missed", "final"]


def test_a_log_without_a_hold_has_none_in_its_json(documents):
    assert documents["clean.csv"]["holds"] == []


def test_laps_follow_each_other_after_the_missed_approach(document):
    parts = [*document["reversals"][0]["parts"], *document["holds"][0]["parts"]]
    assert all(part["end"] == then["start"] for part, then in pairwise(parts))
    assert document["holds"][0]["parts"][-1]["end"] <= document["reversals"][1]["parts"][0]["start"]


def test_the_summary(debriefed, document):
    text = summary_text(debriefed)
    assert in_order(text, [f"\n{title}\n" for title in TITLES])
    mine = text[text.index("\nHold at WND\n") : text.index("\nApproach 2 of 2\n")]
    assert "Hold flown: direct entry, right turns, 3 laps" in mine
    assert in_order(mine, [f"\n{part}" for part in LAPS])
    assert in_order(text[: text.index("\nHold at WND\n")], ["\nfinal ", "\nmissed "])
    assert max(len(line) for line in text.splitlines()) <= 80
    for finding in document["holds"][0]["findings"]:
        if finding["lap"] is not None:
            part = (
                finding["part"].replace("_", " ")
                if finding["lap"] == 1
                else LATER[LAP.index(finding["part"].replace("_", " "))]
            )
            assert f"  {finding['check'].replace('_', ' '):<19}{part} {finding['lap']}" in mine


def test_the_summary_says_a_distance_before_the_point_without_a_sign():
    """The words tell on which side."""
    (row,) = [line for line in summary_text(whole().debrief()).splitlines() if line.startswith("  missed point ")]
    assert row.split()[-5:] == ["0.00", "NM", "before", "the", "point"]


def test_markdown(debriefed):
    text = debrief_markdown(debriefed)
    assert [line[3:] for line in text.splitlines() if line.startswith("## ")][:3] == TITLES
    mine = text[text.index("## Hold at WND") : text.index("## Approach 2 of 2")]
    assert in_order(mine, [f"| {part} |" for part in LAPS])
    assert "3 laps" in mine


def test_the_page(page_text):
    page = Page(page_text)
    headings = [heading for heading in page.text_of("h2") if heading.split(":")[0] in TITLES]
    assert [heading.split(":")[0] for heading in headings] == TITLES
    # plan view, profile and strips of two approaches and a hold, and the final of each approach, in two layouts
    assert len([one for one in page.all("svg") if one.get("data-layout")]) == 2 * 11
    text = page.text()
    assert in_order(text[text.index("Hold at WND") :], LAPS)


def test_a_finding_of_a_lap_marks_that_lap_on_the_page(page_text, document):
    """Whatever it is about: its part in the lap, or the lap."""
    (held,) = document["holds"]
    spans = {}
    for part in held["parts"]:
        spans.setdefault(part["lap"], []).extend((seconds(part["start"]), seconds(part["end"])))
    of_laps = {finding["sentence"]: finding["lap"] for finding in held["findings"] if finding["lap"] is not None}
    row = r'<li id="finding-[^"]+" data-from="([\d.]+)" data-to="([\d.]+)".*?</a>(?: <span>|<p>)([^<]+)'
    marked = re.findall(row, page_text)
    found = {unescape(sentence).strip(): (float(start), float(end)) for start, end, sentence in marked}
    assert {of_laps[sentence] for sentence in found if sentence in of_laps} == {1, 2, 3}
    for sentence, lap in of_laps.items():
        start, end = found[sentence]
        assert min(spans[lap]) - 0.01 <= start < end <= max(spans[lap]) + 0.01


def test_kml(debriefed):
    document = etree.fromstring(debrief_kml(debriefed).encode()).find(f"{KML}Document")
    assert document is not None
    folders = {str(folder.findtext(f"{KML}name")): folder for folder in document.findall(f"{KML}Folder")}
    assert [name.split(":")[0] for name in folders if name.split(":")[0] in TITLES] == TITLES
    (held,) = (folder for name, folder in folders.items() if name.startswith("Hold at WND"))
    names = [folder.findtext(f"{KML}name") for folder in held.findall(f"{KML}Folder")]
    assert names == [*LAPS, "Findings"]
    (first,) = (folder for name, folder in folders.items() if name.startswith("Approach 1"))
    assert [folder.findtext(f"{KML}name") for folder in first.findall(f"{KML}Folder")][-2:] == ["missed", "Findings"]


def test_tables_of_parts_and_findings(debriefed, document):
    parts, findings = rows(parts_csv(debriefed)), rows(findings_csv(debriefed))
    for kind, read in (("parts", parts), ("findings", findings)):
        numbers = [("1", "")] * len(document["reversals"][0][kind]) + [("2", "")] * len(document["reversals"][1][kind])
        numbers += [("", "1")] * len(document["holds"][0][kind])
        assert [(row["reversal"], row["hold"]) for row in read] == numbers
    assert [(row["part"], row["lap"]) for row in parts if row["hold"]] == [
        (part.replace(" ", "_"), str(lap)) for lap in (1, 2, 3) for part in LAP
    ]
    assert {row["lap"] for row in findings if not row["hold"]} == {""}


def test_the_table_of_the_track(debriefed, document):
    """Each sample in the part that the JSON has it in, by its instants."""
    spans = [
        (instant(part["start"]), instant(part["end"]), *number, part["part"], part["leg"], str(part["lap"] or ""))
        for number, entry in (
            (("1", ""), document["reversals"][0]), (("", "1"), document["holds"][0]), (("2", ""), document["reversals"][1])
        )
        for part in entry["parts"]
    ]  # fmt: skip
    seen = []
    for row in rows(track_csv(debriefed))[:-1]:
        place = row["reversal"], row["hold"], row["part"], row["leg"], row["lap"]
        inside = [span[2:] for span in spans if span[0] <= instant(row["time"]) < span[1]] or [("",) * 5]
        assert place == inside[0]
        seen += [place] if not seen or seen[-1] != place else []
    assert [place for place in seen if any(place)] == [span[2:] for span in spans]


def test_geojson(debriefed, document):
    features = json.loads(debrief_geojson(debriefed))["features"]
    tracks = [f["properties"] for f in features if f["properties"]["feature"] == "track"]
    placed = [(t["reversal"], t["hold"], t["part"], t["lap"]) for t in tracks if t["part"] is not None]
    wanted = [
        (*number, part["part"], part["lap"])
        for number, entry in (
            ((1, None), document["reversals"][0]), ((None, 1), document["holds"][0]), ((2, None), document["reversals"][1])
        )
        for part in entry["parts"]
    ]  # fmt: skip
    assert placed == wanted
    times = [time for t in tracks for time in (t["times"][0], t["times"][-1])]
    assert times == sorted(times)
    found = [f["properties"] for f in features if f["properties"]["feature"] == "finding"]
    assert {f["lap"] for f in found if f["hold"] == 1} >= {1, 2, 3}
    assert all(f["lap"] is None for f in found if f["hold"] is None)


def test_the_tables_in_a_notebook(debriefed):
    legs = list(debriefed.legs)
    assert [(row["part"], row["lap"]) for row in legs if row["hold"] == 1] == [
        (part.replace(" ", "_"), lap) for lap in (1, 2, 3) for part in LAP
    ]
    assert {row["hold"] for row in legs} == {None, 1}
    assert {row["reversal"] for row in debriefed.findings} == {1, 2, None}


def test_a_debrief_says_of_itself_what_was_flown(debriefed):
    said = repr(debriefed)
    assert in_order(said, ["45/180", "hold-direct", "45/180"])
    shown = Page(debriefed._repr_html_())
    assert in_order(shown.text("div"), TITLES)


def test_an_approach_alone_and_its_hold_need_no_number():
    """One approach and one hold: `Approach`, not `Approach 1 of 1`."""
    text = summary_text(missed_into_hold().debrief())
    assert in_order(text, ["\nApproach\n", "\nHold at WND\n"])
    assert "of 1" not in text


def test_the_hold_is_drawn_where_it_is_charted(debriefed):
    """Its plan view is about its own fix, which the debrief of the hold has as its own."""
    (held,) = debriefed.holds
    fix = held.motion.charted.procedure.fix
    assert fix.name == "WND"
    here = laid(*hold_nm())
    assert (fix.latitude_deg, fix.longitude_deg) == pytest.approx((here["latitude_deg"], here["longitude_deg"]), abs=1e-9)
    plan = draw_pictures(Subject(held, held.approaches[0]), "h")[0]
    assert plan.name == "plan"
    assert all(word in plan.views[0].svg for word in ("WND", "lap 1", "lap 2", "lap 3"))
    assert "Each lap has its own line style" in plan.caption


def laps_of(debriefed):
    """The lines of a hold in its plan view, and the texts that name its laps."""
    (held,) = debriefed.holds
    plan = plan_view(Subject(held, held.approaches[0]), WIDE)
    lines = [line for line in line_through(plan, LEG_COLOUR["hold"]) if not line.name]
    names = {text.text: np.array([text.x, text.y]) for text in texts(plan) if text.text.startswith("lap ")}
    return held, [points(line) for line in lines], [(line.width, line.dash) for line in lines], names


def test_each_lap_is_a_line_of_its_own_that_is_told_without_colour():
    # legs of 40, 100 and 60 s: three racetracks of different lengths
    held, lines, styles, names = laps_of(missed_into_hold((40.0, 100.0, 60.0)).debrief())
    assert len(set(styles)) == len(lines) == 3
    assert set(names) == {"lap 1", "lap 2", "lap 3"}
    parts = held.approaches[0].figures.parts
    for number, line in enumerate(lines, 1):
        flown = sum(figures.length_m for figures in parts if figures.part.lap == number) / NM
        assert np.hypot(*np.diff(line, axis=0).T).sum() == pytest.approx(flown, rel=0.02)


def test_the_number_of_a_lap_stands_at_its_line_where_it_is_apart_from_the_others():
    _, lines, _, names = laps_of(missed_into_hold((40.0, 100.0, 60.0)).debrief())
    # the longest and the shortest lap lie apart in their far turns: no other line is nearly as near to their numbers
    for lap in (1, 2):
        away = [float(np.hypot(*(line - names[f"lap {lap}"]).T).min()) for line in lines]
        own = away.pop(lap - 1)
        assert min(away) > 2.0 * own


def test_strips_and_profile_name_the_laps(debriefed):
    held = debriefed.holds[0]
    figures = dict(drawings_of(Subject(held, held.approaches[0]), WIDE))
    for name in ("strips", "profile"):
        said = words(figures[name])
        assert [word for word in said if word.startswith("lap ")] == ["lap 1", "lap 2", "lap 3"]
        assert "hold" not in said


def test_a_procedure_with_a_hold_that_was_not_flown_has_no_entry():
    document = gone_around().debrief(chart()).to_dict()
    assert document["holds"] == []
    assert "Hold at" not in summary_text(gone_around().debrief(chart()))


@needs_chromium
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_lines_of_missed_approach_and_hold_can_be_seen(browser, page_text, tmp_path, scheme):
    """WCAG 2.2, 1.4.11: 3:1 against the page."""
    file = tmp_path / "whole.html"
    file.write_text(page_text, encoding="utf-8")
    with opened(browser, file, color_scheme=scheme) as seen:
        found = leg_contrasts(seen.page)
        assert seen.all_complaints() == []
    assert {"missed", "hold"} <= set(found)
    assert min(found.values()) >= 3.0

"""The knee card as it is printed: read back from its PDF, side by side with the numbers of the brief."""

import math
import re
from dataclasses import replace

import after_final
import numpy as np
import pytest
from briefed import HERE, arc_chart, base_chart, briefed, hold_chart, turn_chart
from printed import in_order, read_pdf

from analyzer.brief.chances import Errors
from analyzer.errors import AnalyzerError
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.paper.knee_card import knee_card
from analyzer.report.paper.knee_steps import missed_steps, steps
from analyzer.report.paper.sizes import A5, CARDS, SHEETS, paper_named
from analyzer.report.paper.way_sketch import way_sketch

FEW = Errors(flights=200)
DOWN = {"outbound": 3000.0, "reversal": 2400.0, "inbound": 1800.0}
OUT = 73.0  # the outbound course of the charts here, magnetic
DRAWN = turn_chart(offset_course_deg=118.0)  # with its 45° procedure turn: 118° out, 298° back
WIND = {"winds": ["130/20"]}
# ISO 216 for A4 and A5; a letter sheet is 8.5 by 11 inches, and half of it is folded across
SIZES_MM = {"a5": (148.0, 210.0), "a4": (210.0, 297.0), "letter": (215.9, 279.4), "half-letter": (139.7, 215.9)}
FLY_PT, READ_PT, LEAST_PT = 16.0, 11.0, 9.5  # what is flown by is read at arm's length: common practice, no source
ASKED = {
    "45/180": (DRAWN, {"arrival_deg": 20.0, **WIND}),
    "80/260": (turn_chart("left"), {"shape": "80/260", "bank_deg": 25.0}),
    "racetrack": (replace(turn_chart("left"), floors_ft=DOWN), {"shape": "racetrack", **WIND}),
    "teardrop": (turn_chart(), {"shape": "teardrop", "arrival_deg": 120.0}),
    "base turn": (replace(base_chart("left", 18.0), floors_ft=DOWN), WIND),
    "hold, direct entry": (replace(hold_chart(), floors_ft=DOWN), WIND),
    "hold, teardrop entry": (hold_chart(leg_length_nm=4.0), {"arrival_deg": (OUT + 310.0) % 360.0}),
    "hold, parallel entry": (hold_chart("left"), {"arrival_deg": (OUT - 55.0) % 360.0, **WIND}),
    "arc": (arc_chart(12.0), WIND),
}


# a step as it is printed: side, heading, time, altitude at its end, descent
ROW = re.compile(r"(?:([LR→]) )?(\d{3})° (\d+):(\d\d) (\d+)(?: ↓(\d+))?")


@pytest.fixture(scope="module")
def briefs():
    return {kind: briefed(chart, errors=FEW, **asked) for kind, (chart, asked) in ASKED.items()}


@pytest.fixture(scope="module")
def cards(briefs):
    return {kind: knee_card(brief, A5) for kind, brief in briefs.items()}


@pytest.fixture(scope="module")
def read(cards):
    return {kind: read_pdf(card) for kind, card in cards.items()}


@pytest.mark.parametrize("kind", ASKED)
def test_one_side_holds_what_is_flown_in_its_order(kind, briefs, read):
    card, document = read[kind], brief_document(briefs[kind])
    assert len(card.sheets) == 2
    front = card.sheets[0].text
    rows = ROW.findall(front[front.index(f" {kind} ") :])
    assert len(rows) == len(document["parts"])
    for (side, heading, minutes, seconds, altitude, rate), part in zip(rows, document["parts"], strict=True):
        assert side == {"left": "L", "right": "R", None: "→" if part["part"] == "arc" else ""}[part["turn"]]
        assert math.remainder(int(heading) - part["heading_deg_magnetic"], 360.0) == pytest.approx(0.0, abs=0.56)
        assert 60 * int(minutes) + int(seconds) == pytest.approx(part["duration_s"], abs=0.56)
        assert int(altitude) == pytest.approx(part["altitude_end_ft"], abs=0.56)
        down = (part["altitude_start_ft"] - part["altitude_end_ft"]) / part["duration_s"] * 60.0
        assert int(rate or 0) == pytest.approx(down, rel=0.01, abs=1.5)
    assert all(label in front for label in ("minimum", "ATIS", "QNH", "runway", "actual", "missed approach"))
    assert "Training aid, never for navigation." in front


@pytest.mark.parametrize("kind", ASKED)
def test_the_other_side_says_how_and_how_likely(kind, briefs, read):
    back = read[kind].sheets[1].text
    assert in_order(back, "How it was worked out", f"Of {len(briefs[kind].chances.farthest_m)} simulated flights")
    for number in brief_document(briefs[kind])["numbers"]:
        assert number["name"] in back


def test_speeds_are_those_asked_for():
    card = read_pdf(knee_card(briefed(DRAWN, errors=FEW, speeds=["110", "inbound=90"], true_speeds=[]), A5)).sheets[0].text
    assert in_order(card, "outbound 110 kt, GS", "offset leg 110 kt, GS", "inbound 90 kt, GS")


def test_what_is_flown_by_is_large(read, briefs):
    for kind, card in read.items():
        letters = card.sheets[0].letters
        large = "".join(letter.text for letter in letters if letter.size >= FLY_PT - 0.1)
        for _, heading, minutes, seconds, altitude, _ in ROW.findall(card.sheets[0].text):
            assert f"{heading}°{minutes}:{seconds}{altitude}" in large
        words = "".join(letter.text for letter in letters if letter.size >= READ_PT - 0.1)
        for step in steps(briefs[kind]):
            assert f"{step.name}{step.speeds}".replace(" ", "") in words


def test_the_charted_intercept_is_on_the_card_where_one_is_drawn(read, briefs):
    """The turn back of a 45° procedure turn is drawn to the reciprocal of its offset course (AIM 5-4-9, fig. 5-4-16)."""
    assert "or as charted intercept 253° L 298°" in read["45/180"].sheets[0].text
    assert next(n.value for n in briefs["45/180"].numbers if n.name == "intercept heading as charted") == pytest.approx(298.0)
    undrawn = briefed(turn_chart(), errors=FEW)
    assert "as charted" not in read_pdf(knee_card(undrawn, A5)).sheets[0].text
    assert all("intercept heading" not in number.name for number in undrawn.numbers)
    other = briefed(DRAWN, errors=FEW, shape="80/260")  # not flown so
    assert all("intercept heading" not in number.name for number in other.numbers)


@pytest.mark.parametrize("kind", [kind for kind in ASKED if kind != "arc"])
def test_the_farthest_point_stands_in_the_plan(kind, briefs, read):
    far, limit = brief_document(briefs[kind])["farthest_nm"], briefs[kind].charted.procedure.reversal.within_nm
    of = f" of {limit:g}" if limit is not None else ""
    assert f"farthest {far:.1f}{of} NM" in read[kind].sheets[0].text
    if limit is not None:
        assert f"{far:.1f} NM away; the limit is {limit:g} NM" in read[kind].sheets[0].alternatives[0]


def test_an_arc_is_flown_by_distance_and_radials(read, briefs):
    front = read["arc"].sheets[0].text
    onto = next(number for number in briefs["arc"].numbers if number.name == "turn onto it at")
    assert f"begin {onto.value:.2f} NM from the arc's centre" in front
    assert len(re.findall(r"\d{3}→\d{3}", front)) >= 5
    assert "begin at radial 070°" in front


def test_the_plan_is_to_scale(briefs):
    """The bar of miles against the radius of the limit, 10 NM as charted."""
    brief = briefs["80/260"]
    svg = way_sketch(brief, steps(brief), 240.0, 200.0)
    bar_nm = float(re.search(r">([\d.]+) NM</text>", svg).group(1))
    bar = _places(re.search(r'd="([^"]+)" fill="none" stroke="#595959" stroke-width="1.1"', svg).group(1))
    limit = _places(re.search(r'd="([^"]+)" fill="none" stroke="#b00020"', svg).group(1))
    nm_pt = float(np.ptp(bar[:, 0])) / bar_nm
    middle = (limit.max(axis=0) + limit.min(axis=0)) / 2.0
    assert np.hypot(*(limit - middle).T) / nm_pt == pytest.approx(10.0, rel=0.01)
    # the fix is its centre, and the way out leaves it on the outbound course, 62° true
    way = _places(re.search(r'd="([^"]+)" fill="none" stroke="#0061a8"', svg).group(1))
    assert way[0] == pytest.approx(middle, abs=0.3)
    step = way[-1] - way[0]
    assert math.degrees(math.atan2(step[0], -step[1])) == pytest.approx(HERE.outbound_true_deg, abs=0.5)


def _places(path):
    return np.array([[float(number) for number in place.split()] for place in re.split(r"[ML]", path)[1:]])


@pytest.mark.parametrize("name", SIZES_MM)
def test_sheets_have_the_size_asked_for_and_keep_their_margins(name, briefs, read):
    card = read["45/180"] if name == "a5" else read_pdf(knee_card(briefs["45/180"], paper_named(name, CARDS)))
    small = min(SIZES_MM[name][0] / 139.7, SIZES_MM[name][1] / 210.0)
    for sheet in card.sheets:
        assert (sheet.width_mm, sheet.height_mm) == pytest.approx(SIZES_MM[name], abs=0.1)
        margin = 8.0 * small - 0.7  # a letter may reach over its line a little
        for letter in sheet.letters:
            assert margin <= letter.left < letter.right <= sheet.width_mm - margin, letter
            assert margin <= letter.bottom < letter.top <= sheet.height_mm - margin, letter
    large = {letter.size for letter in card.sheets[0].letters}
    assert max(large) >= FLY_PT * small  # larger paper, larger type


def test_papers_are_offered_by_name():
    assert {paper.name for paper in CARDS} == set(SIZES_MM)
    assert paper_named("A5", CARDS) == A5
    with pytest.raises(AnalyzerError, match="--paper a3: no paper of that name; choose from a5, half-letter, a4, letter"):
        paper_named("a3", CARDS)
    with pytest.raises(AnalyzerError, match="choose from a4, letter"):
        paper_named("a5", SHEETS)


@pytest.mark.parametrize("kind", ["45/180", "hold, direct entry"])
def test_it_is_a_document_that_can_be_searched_and_read_out(kind, cards, read, briefs):
    card = read[kind]
    assert card.tagged
    assert card.title == f"{briefs[kind].charted.procedure.title}: knee card"
    assert card.author.startswith("approach-analyzer ")
    assert card.language == "en"
    assert card.made == ""  # no clock: the same brief gives the same bytes
    assert card.fonts
    assert all(card.fonts.values())
    assert not any(sheet.images for sheet in card.sheets)
    assert {"H1", "Table", "TH", "Figure"} <= set(card.sheets[0].kinds)
    assert len(card.sheets[0].alternatives) == 1
    assert in_order(card.sheets[0].alternatives[0], *(step.name for step in steps(briefs[kind])))
    assert knee_card(briefs[kind], A5) == cards[kind]


def test_names_are_text_and_nothing_else():
    title, fix = "#panic() $x$ *Spar* </text> \\u{41}", '<b>"Q&A"'
    tables = {"title": title, "fix": {"name": fix, "kind": "vor", "latitude_deg": 41.2, "longitude_deg": -38.4,
                                      "variation_deg_east": -11.0}}  # fmt: skip
    card = read_pdf(knee_card(briefed(replace(turn_chart(), tables=tables), errors=FEW), A5))
    assert title in card.sheets[0].text
    assert fix in card.sheets[0].text
    assert card.title == f"{title}: knee card"


def test_names_of_any_length_stay_on_the_sheet():
    name = "Quorl" * 20
    tables = {"title": f"{name} VOR", "fix": {"name": name, "kind": "vor", "latitude_deg": 41.2, "longitude_deg": -38.4,
                                              "variation_deg_east": -11.0}}  # fmt: skip
    for sheet in read_pdf(knee_card(briefed(replace(turn_chart(), tables=tables), errors=FEW), A5)).sheets:
        assert all(7.5 <= letter.left < letter.right <= sheet.width_mm - 7.5 for letter in sheet.letters)


def test_cautions_stand_on_the_first_side(read):
    assert "Note: No arrival is given: the arc is joined from outside" in read["arc"].sheets[0].text


SAMPLE = after_final.SAMPLE.read_text(encoding="utf-8")
CHARTED = SAMPLE[SAMPLE.index("[reversal]") : SAMPLE.index("[altitudes]")]
HOLD = '[reversal]\nkind = "hold"\nturn = "left"\ninbound_course_deg = 241\nleg_time_s = 60\n\n'
BASE = '[reversal]\nkind = "base-turn"\nturn = "left"\noutbound_course_deg = 77\ninbound_course_deg = 241\nwithin_nm = 10\n\n'
ARC = (
    '[reversal]\nkind = "arc"\nturn = "right"\ninbound_course_deg = 241\n\n'
    "[arc]\nlatitude_deg = 48.35\nlongitude_deg = -24.70\nradius_nm = 12\n\n"
)
# the sample with its missed approach and hold, behind a reversal of each kind
WITH_MISSED = {
    "45/180": (CHARTED, {}),
    "45/180, joined over the fix": (CHARTED, {"arrival_deg": 300.0}),
    "80/260": (CHARTED, {"shape": "80/260"}),
    "racetrack": (CHARTED, {"shape": "racetrack"}),
    "teardrop": (CHARTED, {"shape": "teardrop"}),
    "base turn": (BASE, {}),
    "hold, direct entry": (HOLD, {}),
    "hold, other entry": (HOLD, {"arrival_deg": 300.0}),
    "arc": (ARC, {}),
}


def on_papers(kinds, longest):
    """Each kind on the small papers, and the one with the most to say on the large, where all is set larger."""
    small = [(kind, paper_named(name, CARDS)) for kind in kinds for name in ("a5", "half-letter")]
    return [*small, *((longest, paper_named(name, CARDS)) for name in ("a4", "letter"))]


@pytest.fixture(scope="module")
def missed_briefs(tmp_path_factory):
    folder = tmp_path_factory.mktemp("charts")
    asked = {"missed": True, "winds": ["240/15"], "climb_fpm": 600.0, "speeds": ["100"], "true_speeds": []}
    return {
        kind: after_final.briefed(after_final.charted(folder, (CHARTED, reversal)), **asked, **given)
        for kind, (reversal, given) in WITH_MISSED.items()
    }


@pytest.mark.parametrize(("kind", "paper"), on_papers(WITH_MISSED, "45/180, joined over the fix"))
def test_a_missed_approach_and_a_hold_need_no_third_side(kind, paper, missed_briefs):
    """What is flown stands on the front in its order, the missed approach and the hold among it; nothing is set small."""
    brief = missed_briefs[kind]
    card = read_pdf(knee_card(brief, paper))
    assert len(card.sheets) == 2
    front, back = (sheet.text for sheet in card.sheets)
    names = [step.name for step in steps(brief)]
    numbers = "".join(f"{heading}° {time}" for heading, time in re.findall(r"(\d{3})° (\d+:\d\d)", front))
    assert in_order(front, *names, "Hold at WND of the missed approach", "1, direct entry", "2 and on")
    assert in_order(numbers, *(f"{step.heading} {step.time}" for step in (*steps(brief), *missed_steps(brief))))
    assert "climb on the final course to 1200 ft" in front + back
    assert all(number["name"] in back for number in brief_document(brief)["numbers"])
    assert len([words for sheet in card.sheets for words in sheet.alternatives]) == 1  # the plan, on one side or the other
    _check_set_to_be_read(card)


@pytest.mark.parametrize(("kind", "paper"), on_papers(ASKED, "arc"))
def test_no_type_is_small(kind, paper, briefs, read):
    card = read[kind] if paper == A5 else read_pdf(knee_card(briefs[kind], paper))
    assert len(card.sheets) == 2
    _check_set_to_be_read(card)


def _check_set_to_be_read(card):
    """No type below 9.5 points, all of it on the sheet, and no letter over another but its neighbour, where type is kerned."""
    for sheet in card.sheets:
        assert min(letter.size for letter in sheet.letters) >= LEAST_PT - 0.05
        boxes = np.array([(one.left, one.bottom, one.right, one.top) for one in sheet.letters if one.text.strip()])
        assert boxes[:, 0].min() > 7.0
        assert boxes[:, 2].max() < sheet.width_mm - 7.0
        across = np.minimum(boxes[:, None, 2], boxes[None, :, 2]) - np.maximum(boxes[:, None, 0], boxes[None, :, 0])
        up = np.minimum(boxes[:, None, 3], boxes[None, :, 3]) - np.maximum(boxes[:, None, 1], boxes[None, :, 1])
        over = (across > 0.4) & (up > 0.4)  # millimetres
        order = np.arange(len(boxes))
        over &= np.abs(order[:, None] - order) > 1
        pairs = [(sheet.letters[i].text, sheet.letters[j].text) for i, j in np.argwhere(over)]
        assert len(pairs) == 0, pairs[:6]


def test_column_heads_can_be_read(read):
    for card in read.values():
        sheet = card.sheets[0]
        whole = "".join(letter.text for letter in sheet.letters)
        for head in ("heading°M", "actual"):
            at = whole.index(head)
            assert min(letter.size for letter in sheet.letters[at : at + len(head)]) >= 9.9

"""A flight compared with its brief: read back from JSON, paired part by part, shown in text, page, pictures and JSON."""

import json
import math
from dataclasses import replace
from importlib import resources

import pytest
from briefed import OUT_MAGNETIC, base_chart, briefed, everywhere, fly_by_numbers, hold_chart, turn_chart, wind_text
from jsonschema import Draft202012Validator

import analyzer
from analyzer.brief.brief_file import read_card
from analyzer.brief.chances import Errors
from analyzer.brief.planned_track import planned_track
from analyzer.errors import BriefError
from analyzer.library.debrief import debrief
from analyzer.physics.units import wrap
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.exports.json_text import brief_json_text
from analyzer.report.pages.debrief_page import debrief_page
from analyzer.report.pictures.page_pictures import draw_pictures
from analyzer.report.pictures.subject import Subject
from analyzer.report.words.summary import summary_text

FEW = Errors(flights=10)
SCHEMA = json.loads(resources.files("analyzer.report").joinpath("brief.schema.json").read_text(encoding="utf-8"))
DOWN = {"outbound": 3000.0, "reversal": 2400.0, "inbound": 1800.0}
CHARTS = {
    "45/180": (replace(turn_chart("left"), floors_ft=DOWN), {"winds": ["240/20"]}),
    "80/260": (turn_chart(), {"shape": "80/260"}),
    "racetrack": (replace(turn_chart("left"), floors_ft=DOWN), {"shape": "racetrack", "winds": ["240/20"]}),
    "teardrop": (turn_chart(), {"shape": "teardrop", "winds": ["240/10"]}),
    "base-turn": (base_chart("right", 20.0), {"winds": ["100/15"]}),
    "hold-direct": (hold_chart(), {"winds": ["150/15"]}),
    "hold-teardrop": (hold_chart("right"), {"arrival_deg": (73.0 + 310.0) % 360.0}),
}


def written(made, folder):
    path = folder / "card.json"
    path.write_text(brief_json_text(made), encoding="utf-8")
    return path


@pytest.fixture(params=CHARTS)
def made(request):
    chart, given = CHARTS[request.param]
    return briefed(chart, errors=FEW, **given)


def test_the_json_is_valid_by_its_schema(made):
    Draft202012Validator.check_schema(SCHEMA)
    assert list(Draft202012Validator(SCHEMA).iter_errors(brief_document(made))) == []


def test_the_planned_path_flown_differs_from_its_brief_in_nothing(made, tmp_path):
    """The path itself debriefed: the comparison is closed when both sides are the same flight."""
    card = read_card(written(made, tmp_path))
    (approach,) = debrief(planned_track(made.plan), made.charted.procedure, card=card).to_dict()["reversals"]
    against = approach["against_brief"]
    assert against["shape"] == approach["flown"]
    assert against["farthest_nm"] == pytest.approx(approach["farthest"]["distance_nm"], abs=0.02)
    parts = {part["part"]: part for part in against["parts"]}
    cuts = [part.course_rad for part in made.plan.parts if part.part == "intercept" and part.course_rad is not None]
    # an overshot course is met from the other side: the turn back is planned to go on beyond it by the angle of the intercept
    beyond_deg = max((abs(math.degrees(wrap(cut - made.charted.inbound_true_rad))) for cut in cuts), default=0.0)
    for name in ("outbound", "reversal_turn"):
        part = parts[name]
        late = part["duration_s"]["briefed"] - part["duration_s"]["flown"]
        # inbound begins when established, within 15 degrees of the course: the last of the turn and its roll-out lie in it
        assert -2.0 <= late <= (2.0 if name == "outbound" else (15.0 + beyond_deg) / 3.0 + 5.0)
        assert part["ground_speed_kt"]["flown"] == pytest.approx(part["ground_speed_kt"]["briefed"], abs=2.5)
        inward = (
            late * part["ground_speed_kt"]["flown"] / 3600.0 if name == "reversal_turn" else 0.0
        )  # flown by then, for the most
        assert part["end_distance_nm"]["flown"] == pytest.approx(part["end_distance_nm"]["briefed"] + inward, abs=0.15)
    assert parts["reversal_turn"]["bank_deg"]["flown"] == pytest.approx(parts["reversal_turn"]["bank_deg"]["briefed"], abs=1.0)


@pytest.mark.parametrize("arrival_deg", [None, 283.0, 23.0])
@pytest.mark.parametrize("wind", ["062/0", "062/24", "242/24", "332/24"])
def test_a_hold_in_lieu_flown_as_briefed_is_on_time(wind, arrival_deg):
    """Brief and debrief start the clock at the same place: over or abeam the fix (AIM 5-3-8 j.4)."""
    made = briefed(hold_chart(), errors=FEW, winds=[wind], arrival_deg=arrival_deg)
    (approach,) = debrief(planned_track(made.plan), made.charted.procedure).to_dict()["reversals"]
    timing = next(one for one in approach["findings"] if one["check"] == "hold_timing")
    if any("The outbound leg is 75 s, not the 60 s charted" in caution for caution in made.cautions):
        assert timing["measured"] == pytest.approx(75.0, abs=3.0)
        return
    assert timing["verdict"] == "inside"
    assert timing["measured"] == pytest.approx(60.0, abs=3.0)


def test_another_wind_is_told_apart(tmp_path):
    """Briefed for calm, flown in 25 kt from abeam: the vectors are 25 kt apart."""
    chart = turn_chart()
    card = read_card(written(briefed(chart, errors=FEW), tmp_path))
    flown = briefed(chart, errors=FEW, winds=[wind_text((90.0, 25.0))])
    text = summary_text(debrief(planned_track(flown.plan), flown.charted.procedure, card=card))
    assert "Wind: briefed calm" in text
    (apart,) = [int(line.split(";")[-1].split()[0]) for line in text.splitlines() if "kt apart" in line]
    assert apart == pytest.approx(25, abs=2)


def test_another_shape_shows_what_was_not_flown(tmp_path):
    chart = turn_chart()
    card = read_card(written(briefed(chart, errors=FEW), tmp_path))
    flown = briefed(chart, errors=FEW, shape="80/260", winds=[wind_text((0.0, 15.0))])
    result = debrief(planned_track(flown.plan), flown.charted.procedure, card=card)
    assert "Briefed as 45/180, flown as 80/260." in summary_text(result)
    parts = {part["part"]: part for part in result.to_dict()["reversals"][0]["against_brief"]["parts"]}
    assert parts["offset_leg"]["duration_s"]["flown"] is None
    assert parts["offset_leg"]["duration_s"]["briefed"] > 20.0


def test_a_leg_that_was_closed_with_keeps_its_course(tmp_path):
    made = briefed(turn_chart(), errors=FEW, arrival_deg=(OUT_MAGNETIC + 150.0) % 360.0)
    whole = next(part for part in read_card(written(made, tmp_path)).whole_parts if part.part == "outbound")
    assert whole.course_deg_magnetic == pytest.approx(OUT_MAGNETIC % 360.0, abs=0.2)


def test_a_leg_and_the_turn_at_its_end_are_one_part(tmp_path):
    """A teardrop entry in a wind needs an intercept: briefed as a leg and a turn under one name."""
    chart, given = CHARTS["hold-teardrop"]
    made = briefed(chart, errors=FEW, winds=["20/25"], **given)
    run = [part for part in brief_document(made)["parts"] if part["part"] == "intercept"]
    assert len(run) > 1
    whole = [part for part in read_card(written(made, tmp_path)).whole_parts if part.part == "intercept"]
    assert len(whole) == 1
    assert whole[0].duration_s == pytest.approx(sum(part["duration_s"] for part in run))
    assert whole[0].end_distance_nm == run[-1]["end_distance_nm"]


def test_page_pictures_and_text_show_it(tmp_path):
    chart, given = CHARTS["45/180"]
    made = briefed(chart, errors=FEW, **given)
    result = debrief(planned_track(made.plan), made.charted.procedure, card=read_card(written(made, tmp_path)))
    text = summary_text(result)
    assert "Compared with the brief" in text
    assert max(map(len, text.splitlines())) <= 80
    pictures = draw_pictures(Subject(result, result.approaches[0]), "a1")
    page = debrief_page(result, [pictures])
    assert "Compared with the brief" in page
    assert [picture.name for picture in pictures if "as briefed" in picture.views[0].svg] == ["plan", "profile"]
    without = debrief(planned_track(made.plan), made.charted.procedure)
    assert "Compared with the brief" not in summary_text(without)
    assert without.to_dict()["reversals"][0]["against_brief"] is None


def test_a_brief_of_another_procedure_is_refused(tmp_path):
    card = read_card(written(briefed(turn_chart(), errors=FEW), tmp_path))
    other = briefed(turn_chart(), errors=FEW).charted.procedure
    moved = other.model_copy(update={"fix": other.fix.model_copy(update={"latitude_deg": other.fix.latitude_deg + 0.1})})
    track = planned_track(briefed(turn_chart(), errors=FEW).plan)
    with pytest.raises(BriefError, match="not this procedure"):
        analyzer.debrief(track, moved, card=card)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("{", "not JSON"),
        ("[" * 100_000, "not JSON"),
        ("[]", "no brief of this version"),
        ('{"version": 2}', "no brief of this version"),
        (None, "No such file"),
        (" " * 10_000_001, "over 10,000,000 bytes, too long for a brief"),
    ],
)
def test_what_is_no_brief_is_refused_with_the_mend(tmp_path, content, said):
    path = tmp_path / "card.json"
    if content is not None:
        path.write_text(content, encoding="utf-8")
    with pytest.raises(BriefError, match=said) as refusal:
        read_card(path)
    assert "brief PROCEDURE --json FILE" in str(refusal.value)


@pytest.mark.parametrize(
    "wrong",
    [
        {"parts": []},
        {"farthest_nm": None},
        {"path": {"latitude_deg": [91, 0], "longitude_deg": [0, 0]}},
        {"path": {"latitude_deg": [1, 0, 2], "longitude_deg": [0, 0]}},
        {"shape": 7},
    ],
)
def test_values_that_cannot_be_are_refused(tmp_path, wrong):
    document = {**brief_document(briefed(turn_chart(), errors=FEW)), **wrong}
    path = tmp_path / "card.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(BriefError):
        read_card(path)


def test_a_flight_by_the_told_numbers_is_paired_with_its_brief(tmp_path):
    """Flown by this tree's own simulation from the rounded numbers: the turn back ends where the brief said."""
    chart, wind = turn_chart(), (60.0, 25.0)
    made = briefed(chart, errors=FEW, winds=[wind_text(wind)])
    flown = fly_by_numbers(brief_document(made), -1, everywhere(wind))
    card = read_card(written(made, tmp_path))
    turn = next(part for part in card.whole_parts if part.part == "reversal_turn")
    x, y = flown.upto("reversal_turn")
    assert (x[-1] ** 2 + y[-1] ** 2) ** 0.5 == pytest.approx(turn.end_distance_nm, abs=0.05)

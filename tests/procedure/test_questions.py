"""Which questions are asked of the whole approach: each may be skipped, and what it leads to is then not asked."""

from typing import Any

import pytest

from analyzer.errors import ProcedureError
from analyzer.procedure.ask import answered, procedure_of, what_is_wrong
from analyzer.procedure.questions import QUESTIONS, questions

REVERSAL = {
    ("", "title"): "Quorl Bank VOR 18",
    ("fix", "name"): "QRL",
    ("fix", "kind"): "vor",
    ("fix", "latitude_deg"): "41.2",
    ("fix", "longitude_deg"): "-38.4",
    ("reversal", "kind"): "procedure-turn",
    ("reversal", "side"): "left",
    ("reversal", "outbound_course_deg"): "005",
    ("reversal", "inbound_course_deg"): "185",
    ("reversal", "within_nm"): "10",
}


def ask(said: dict[tuple[str, str], str]):
    """The answers to all questions that are asked, and which those are beyond the reversal."""
    answers: dict[tuple[str, str], Any] = {}
    beyond = []
    for question in questions(answers):
        answers[question.table, question.key] = answered(question, (REVERSAL | said).get((question.table, question.key), ""))
        if question not in QUESTIONS:
            beyond.append(f"{question.table} {question.key}")
    return answers, beyond


def test_all_of_it_may_be_skipped():
    answers, beyond = ask({})
    assert beyond == [
        "fixes 1 name",
        "minimum kind",
        "missed_approach altitude_ft",
        *("speeds outbound", "speeds inbound", "speeds final"),
        "arrivals 1 name",
    ]
    procedure = procedure_of(answers)
    assert (procedure.fixes, procedure.minimum, procedure.missed_approach, procedure.holds) == ((), None, None, ())


def test_fixes_are_asked_for_until_there_are_no_more():
    answers, beyond = ask(
        {
            ("fixes 1", "name"): "TARRO",
            ("fixes 1", "role"): "final-approach-fix",
            ("fixes 1", "distance_nm"): "4.2",
            ("fixes 2", "name"): "KESTA",
            ("fixes 2", "role"): "step-down",
            ("fixes 2", "distance_nm"): "6",
            ("fixes 2", "minimum_ft"): "1300",
        }
    )
    assert [fix.name for fix in procedure_of(answers).fixes] == ["TARRO", "KESTA"]
    assert procedure_of(answers).fixes[1].minimum_ft == 1300.0
    assert "fixes 3 name" in beyond
    assert "fixes 3 role" not in beyond
    assert "fixes 1 latitude_deg" not in beyond  # it is placed by its distance


def test_a_fix_without_a_distance_is_placed_by_its_position():
    _, beyond = ask({("fixes 1", "name"): "MAPAR", ("fixes 1", "role"): "missed-approach-point",
                     ("fixes 1", "latitude_deg"): "41.1", ("fixes 1", "longitude_deg"): "-38.5"})  # fmt: skip
    assert {"fixes 1 latitude_deg", "fixes 1 longitude_deg"} <= set(beyond)


def test_a_minimum_descent_altitude_stands_for_the_minimum():
    """A procedure has one: `[altitudes] final_ft` is the short form of it."""
    answers, beyond = ask({("altitudes", "final_ft"): "640"})
    assert not [name for name in beyond if name.startswith("minimum ")]
    assert procedure_of(answers).altitudes.final_ft == 640.0


@pytest.mark.parametrize(("point", "asked"), [("step-down", True), ("missed-approach-point", False)])
def test_the_time_to_the_missed_approach_point_is_asked_where_none_is_charted(point, asked):
    _, beyond = ask(
        {
            ("fixes 1", "name"): "TARRO",
            ("fixes 1", "role"): "final-approach-fix",
            ("fixes 1", "distance_nm"): "1",
            ("fixes 2", "name"): "MAPAR",
            ("fixes 2", "role"): point,
            ("fixes 2", "distance_nm"): "5",
            ("missed_approach", "altitude_ft"): "3000",
        }
    )
    assert ("missed_approach time_s" in beyond) == asked


def test_a_turn_leads_on_a_course_or_to_a_fix():
    missed = {("missed_approach", "altitude_ft"): "3000", ("missed_approach", "turn"): "right"}
    _, by_course = ask(missed | {("missed_approach", "course_deg"): "031"})
    assert "missed_approach to" not in by_course
    answers, direct = ask(missed | {("missed_approach", "to"): "QRL"})
    assert "missed_approach to" in direct
    assert procedure_of(answers).missed_approach.to == "QRL"


def test_straight_ahead_it_may_lead_to_a_fix_as_well():
    answers, _ = ask({("missed_approach", "altitude_ft"): "3000", ("missed_approach", "to"): "QRL"})
    missed = procedure_of(answers).missed_approach
    assert (missed.turn, missed.to) == (None, "QRL")


@pytest.mark.parametrize(
    "straight", [{("altitudes", "final_ft"): "640"}, {("minimum", "kind"): "da", ("minimum", "altitude_ft"): "640"}]
)
def test_a_circling_minimum_stands_beside_the_straight_in_one(straight):
    answers, _ = ask({**straight, ("minimums 1", "altitude_ft"): "900"})
    procedure = procedure_of(answers)
    assert [(line.line, line.altitude_ft) for line in procedure.minimums] == [("straight-in", 640.0), ("circling", 900.0)]
    assert (procedure.minimum, procedure.altitudes.final_ft) == (None, None)
    # each of the two is asked for again where it was
    runway = {
        ("runway", "name"): "18",
        ("runway", "threshold_latitude_deg"): 41.1,
        ("runway", "threshold_longitude_deg"): -38.4,
        ("runway", "threshold_elevation_ft"): 700.0,
        ("runway", "true_heading_deg"): 180.0,
    }
    asked = "altitudes" if ("altitudes", "final_ft") in straight else "minimum"
    assert [wrong.table for wrong in what_is_wrong({**answers, **runway})] == [asked]
    runway["runway", "threshold_elevation_ft"] = 950.0
    assert [wrong.table for wrong in what_is_wrong({**answers, **runway})] == [asked, "minimums 1"]


def test_a_base_turn_is_limited_by_time_or_distance():
    answers, _ = ask(
        {
            ("reversal", "kind"): "base turn",
            ("reversal", "outbound_course_deg"): "340",
            ("reversal", "turn"): "right",
            ("reversal", "leg_time_s"): "2 min",
            ("reversal", "maximum_time_s"): "2:30",
            ("reversal", "leg_length_nm"): "9 DME",
            ("reversal", "leg_by"): "dme",
            ("reversal", "entry_within_deg"): "30°",
        }
    )
    reversal = procedure_of(answers).reversal
    assert (reversal.kind, reversal.leg_time_s, reversal.maximum_time_s) == ("base-turn", 120.0, 150.0)
    assert (reversal.leg_length_nm, reversal.leg_by, reversal.entry_within_deg) == (9.0, "dme", 30.0)


def test_fixes_by_dme_and_arrivals():
    answers, beyond = ask(
        {
            ("dme", "name"): "QRD",
            ("dme", "latitude_deg"): "N41 00.0",
            ("dme", "longitude_deg"): "W038 24.0",
            ("fixes 1", "name"): "TARRO",
            ("fixes 1", "role"): "FAF",
            ("fixes 1", "dme_nm"): "8",
            ("arrivals 1", "name"): "DORVA",
            ("arrivals 1", "course_deg"): "185",
            ("arrivals 1", "reversal"): "no",
            ("arrivals 2", "name"): "GERRI",
            ("arrivals 2", "course_deg"): "040",
            ("arrivals 2", "reversal"): "yes",
        }
    )
    procedure = procedure_of(answers)
    assert (procedure.dme.latitude_deg, procedure.dme.longitude_deg) == (41.0, -38.4)
    assert (procedure.fixes[0].dme_nm, procedure.fixes[0].role) == (8.0, "final-approach-fix")
    assert "fixes 1 latitude_deg" not in beyond
    assert [(route.name, route.reversal) for route in procedure.arrivals] == [("DORVA", False), ("GERRI", True)]


@pytest.mark.parametrize(
    ("key", "said", "value"),
    [
        ("latitude_deg", "N44 06.0", 44.1),
        ("latitude_deg", "44°06'30\"S", -(44 + 6 / 60 + 30 / 3600)),
        ("latitude_deg", "44,25", 44.25),
        ("latitude_deg", "-44 30", -44.5),
        ("latitude_deg", "N4406.5", 44 + 6.5 / 60),  # without anything between, as aeronautical publications print them
        ("latitude_deg", "440630.5N", 44 + 6 / 60 + 30.5 / 3600),
        ("longitude_deg", "W02918.0", -29.3),
        ("longitude_deg", "0291800W", -29.3),
        ("longitude_deg", "W029", -29.0),
        ("longitude_deg", "W000-30.0", -0.5),
        ("longitude_deg", "29 18 00 west", -29.3),
        ("variation_deg_east", "8W", -8.0),
        ("variation_deg_east", "8.5° East", 8.5),
        ("elevation_ft", "1,250 ft", 1250.0),
        ("elevation_ft", "1 250'", 1250.0),
        ("elevation_ft", "100 m", 328.1),  # 100 / 0.3048 = 328.084
    ],
)
def test_numbers_as_charts_print_them(key, said, value):
    (question,) = [one for one in QUESTIONS if (one.table, one.key) == ("fix", key)]
    assert answered(question, said) == pytest.approx(value, abs=1e-7)


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("latitude_deg", "N44 66.0"),
        ("latitude_deg", "N-44"),
        ("latitude_deg", "N4466.0"),
        ("latitude_deg", "4406.5"),
        ("longitude_deg", "W2918.0"),  # a longitude has three digits of degrees
        ("latitude_deg", "W024 42.0"),
        ("latitude_deg", "24 42.0 E"),
        ("longitude_deg", "N48 21.0"),
        ("longitude_deg", "48 21 south"),
        ("variation_deg_east", "8N"),
        ("elevation_ft", "210 NM"),
        ("elevation_ft", "yes"),
        ("variation_deg_east", "y"),
    ],
)
def test_numbers_that_are_none_are_not_guessed(key, said):
    (question,) = [one for one in QUESTIONS if (one.table, one.key) == ("fix", key)]
    with pytest.raises(ProcedureError, match=said):
        answered(question, said)


def test_a_thousand_is_not_read_as_one():
    (floor,) = [one for one in QUESTIONS if one.key == "inbound_ft"]
    assert answered(floor, "2,600") == answered(floor, "2.600") == answered(floor, "2.600 ft") == 2600.0
    assert answered(floor, "98.5") == 98.5
    assert answered(floor, "none") is None


def test_distances_in_words():
    limit = next(one for one in QUESTIONS if one.key == "within_nm")
    assert answered(limit, "10 nautical miles") == answered(limit, "10 NM") == answered(limit, "10") == 10.0


@pytest.mark.parametrize(
    ("key", "said", "value"),
    [
        ("turn", "Right turns", "right"),
        ("turn", "L", "left"),
        ("kind", "Hold in lieu", "hold"),
        ("kind", "PT", "procedure-turn"),
    ],
)
def test_choices_in_other_words(key, said, value):
    question = next(one for one in QUESTIONS if (one.table, one.key) == ("reversal", key))
    assert answered(question, said) == value


def test_a_name_of_digits_stays_as_it_is():
    (question,) = [one for one in QUESTIONS if (one.table, one.key) == ("runway", "name")]
    assert answered(question, "06") == "06"


def test_a_hold_at_the_fix_needs_no_position():
    hold = {("missed_approach", "altitude_ft"): "3000", ("holds 1", "name"): "QRL", ("holds 1", "turn"): "left",
            ("holds 1", "inbound_course_deg"): "185", ("holds 1", "leg_time_s"): "60"}  # fmt: skip
    answers, beyond = ask(hold)
    assert not {"holds 1 latitude_deg", "holds 1 leg_length_nm"} & set(beyond)
    (made,) = procedure_of(answers).holds
    assert (made.name, made.role, made.leg_time_s) == ("QRL", "missed-approach", 60.0)


def test_what_contradicts_is_named_by_its_question():
    answers, _ = ask({("missed_approach", "altitude_ft"): "3000", ("missed_approach", "climb_ft"): "4000"})
    (wrong,) = what_is_wrong(answers)
    assert (wrong.table, wrong.key) == ("missed_approach", "climb_ft")
    assert what_is_wrong({**answers, ("missed_approach", "climb_ft"): 1200.0}) == ()


def test_what_contradicts_in_a_list_is_named_by_its_number():
    named = {("fixes 1", "name"): "TARRO", ("fixes 1", "role"): "step-down", ("fixes 1", "distance_nm"): "1",
             ("fixes 2", "name"): "TARRO", ("fixes 2", "role"): "step-down", ("fixes 2", "distance_nm"): "2"}  # fmt: skip
    answers, _ = ask(named)
    assert [(wrong.table, wrong.key) for wrong in what_is_wrong(answers)] == [("fixes 2", "name")]

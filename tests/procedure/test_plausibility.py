"""What is odd but possible: warned about, never refused."""

import pytest

from analyzer.procedure.schema import Procedure


def warnings(tables) -> list[str]:
    return list(Procedure.model_validate(tables).warnings)


def only(tables) -> str:
    (warning,) = warnings(tables)
    return warning


def test_an_ordinary_procedure_has_no_warnings(tables):
    assert warnings(tables) == []


@pytest.mark.parametrize(("outbound", "inbound"), [(61, 241), (0, 180), (360, 180), (180, 0), (60.2, 241), (359.5, 180.4)])
def test_reciprocal_within_a_degree(tables, outbound, inbound):
    tables["reversal"] |= {"outbound_course_deg": outbound, "inbound_course_deg": inbound}
    assert warnings(tables) == []


@pytest.mark.parametrize("kind", ["procedure-turn", "hold"])
def test_courses_that_are_not_reciprocal(tables, kind):
    tables["reversal"] |= {"kind": kind, "inbound_course_deg": 239}
    if kind == "hold":
        tables["reversal"] |= {"turn": "right", "leg_time_s": 60}
    assert "2° off the reciprocal" in only(tables)


def test_a_base_turn_is_not_reciprocal(tables):
    # Out on 006, back on 158 by the left: the outbound course lies on the right of 338.
    tables["reversal"] = {"kind": "base-turn", "turn": "left", "outbound_course_deg": 6, "inbound_course_deg": 158}
    assert warnings(tables) == []
    tables["reversal"]["turn"] = "right"
    assert "a base turn to the right needs an outbound course on the left" in only(tables)


@pytest.mark.parametrize(("within", "odd"), [(4.9, True), (5, False), (10, False), (15, False), (15.5, True)])
def test_published_distances_run_from_5_to_15_miles(tables, within, odd):
    # FAA Aeronautical Information Manual 5-4-9 a.3.
    tables["reversal"]["within_nm"] = within
    assert bool(warnings(tables)) is odd


@pytest.mark.parametrize(
    ("side", "offset", "odd"), [("left", 16, False), ("left", 106, True), ("left", 196, True), ("right", 106, False)]
)
def test_offset_course_leaves_by_45_degrees_on_the_charted_side(tables, side, offset, odd):
    tables["reversal"] |= {"side": side, "offset_course_deg": offset}
    assert bool(warnings(tables)) is odd


def test_floors_that_rise(tables):
    tables["altitudes"]["inbound_ft"] = 2500
    assert "inbound_ft = 2500 is above reversal_ft = 2200" in only(tables)


def test_floors_are_compared_across_a_leg_without_one(tables):
    tables["altitudes"] = {"outbound_ft": 2000, "final_ft": 2100}
    assert "final_ft = 2100 is above outbound_ft = 2000" in only(tables)


@pytest.mark.parametrize(
    ("altitudes", "odd"),
    [
        ({"outbound_ft": 2600, "inbound_ft": 1800}, True),
        ({"outbound_ft": 2600}, True),
        ({"outbound_ft": 2600, "reversal_ft": 2600, "inbound_ft": 1800}, False),
        ({"outbound_ft": 2600, "final_ft": 640}, True),
        ({"outbound_ft": 2600, "inbound_ft": 2600}, False),  # nothing to descend to
        ({"arrival_ft": 2600, "inbound_ft": 1800}, False),
    ],
)
@pytest.mark.parametrize(("kind", "turned_early"), [("procedure-turn", True), ("hold", True), ("base-turn", False)])
def test_the_turn_back_without_a_minimum(tables, altitudes, odd, kind, turned_early):
    """FAA Aeronautical Information Manual 5-4-9 a: the altitude of a procedure turn is a minimum until established inbound."""
    tables["altitudes"] = altitudes
    if kind == "hold":
        tables["reversal"] |= {"kind": kind, "turn": "right", "leg_time_s": 60}
    elif kind == "base-turn":
        tables["reversal"] = {"kind": kind, "turn": "left", "outbound_course_deg": 6, "inbound_course_deg": 158}
    said = [words for words in warnings(tables) if "has no reversal_ft after it" in words]
    assert bool(said) is (odd and turned_early)


@pytest.mark.parametrize(
    ("kind", "key", "value"),
    [
        ("none", "leg_time_s", 60),
        ("none", "leg_length_nm", 4),
        ("none", "maximum_time_s", 60),
        ("none", "entry_within_deg", 30),
        ("none", "side", "left"),
        ("none", "turn", "left"),
        ("none", "offset_course_deg", 16),
    ],
)
def test_keys_that_mean_nothing_for_the_kind(tables, kind, key, value):
    tables["reversal"] |= {"kind": kind, key: value}
    tables["reversal"] = {
        name: item for name, item in tables["reversal"].items() if name != "side" or kind != "none" or key == "side"
    }
    assert f"{key} means nothing for kind {kind}" in only(tables)


def test_an_arc_table_for_another_kind(tables):
    tables["arc"] = {"latitude_deg": 47.25, "longitude_deg": -31.5, "radius_nm": 10}
    assert only(tables).startswith("[arc] means nothing")


def test_a_limit_point_without_a_limit(tables):
    tables["reversal"] = {"kind": "none", "inbound_course_deg": 241, "within_from": {"latitude_deg": 47, "longitude_deg": -31}}
    assert "within_from is ignored" in only(tables)


def test_guidance_that_cannot_be_told(tables):
    tables["guidance"] = {"kind": "localizer"}
    assert warnings(tables) == []  # a runway tells where the antenna is
    runway = tables.pop("runway")
    assert "no position of the localizer's antenna" in only(tables)
    tables["runway"] = runway
    tables["guidance"] = {"kind": "ndb"}
    assert "a ndb without a position, and the fix is a vor" in only(tables)
    del tables["guidance"]
    tables["fix"]["kind"] = "marker"
    assert "a marker gives no course" in only(tables)
    tables["fix"]["kind"] = "waypoint"
    assert warnings(tables) == []

"""The minimum that holds, the missed approach, holds, arrivals, DME and limits, resolved to SI and true."""

import datetime as dt
import math
import pickle
from typing import Any

import pytest
from wendle import Tables, whole

from analyzer.errors import ProcedureError
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import Line

FT, KT, NM = 0.3048, 1852.0 / 3600.0, 1852.0


def charted(tables: Tables, line: Line = "straight-in") -> Charted:
    return resolve(Procedure.model_validate(tables), dt.date(2026, 11, 25), line)


def degrees(angle_rad: float | None) -> float:
    assert angle_rad is not None
    return math.degrees(angle_rad) % 360.0


def minimum_ft(tables: Tables, line: Line = "straight-in") -> float | None:
    found = charted(tables, line).minimum
    return None if found is None else round(found.altitude_m / FT, 6)


def test_the_short_form_is_a_minimum_descent_altitude(tables):
    found = charted(tables)
    assert found.minimum is not None
    assert (found.minimum.kind, found.minimum.line, found.minimum.category) == ("mda", "straight-in", None)
    assert found.minimum.altitude_m == pytest.approx(640 * FT)
    assert found.minimums == (found.minimum,)
    assert "final" not in found.floors_m


def test_a_minimum_of_its_own(tables):
    del tables["altitudes"]["final_ft"]
    assert charted(tables).minimum is None
    tables["minimum"] = {"kind": "da", "altitude_ft": 430}
    found = charted(tables).minimum
    assert found is not None
    assert (found.kind, found.visual_descent_point_m) == ("da", None)
    tables["minimum"] = {"kind": "mda", "altitude_ft": 430, "visual_descent_point_nm": 1.1}
    found = charted(tables).minimum
    assert found is not None
    assert found.visual_descent_point_m == pytest.approx(1.1 * NM)


@pytest.mark.parametrize(("category", "feet"), [("A", 640.0), ("B", 640.0), ("C", 760.0), ("D", 760.0)])
def test_the_line_is_picked_by_category(category, feet):
    tables = whole() | {"category": category}
    assert minimum_ft(tables) == feet
    assert len(charted(tables).minimums) == 3


def test_circling_is_picked_by_asking_or_where_there_is_nothing_else():
    assert minimum_ft(whole(), "circling") == 900.0
    found = charted(whole() | {"category": "E"})
    assert found.minimum is not None
    assert found.minimum.line == "circling"
    assert any("no straight-in line for category E: the circling one is used" in warning for warning in found.warnings)


def test_where_no_line_holds_what_there_is_is_named():
    tables = whole() | {"category": "E"}
    tables["minimums"] = tables["minimums"][:2]
    with pytest.raises(ProcedureError) as refusal:
        charted(tables)
    assert "no straight-in line for category E" in str(refusal.value)
    assert "straight-in A-B mda altitude_ft = 640; straight-in C-D mda altitude_ft = 760" in str(refusal.value)
    with pytest.raises(ProcedureError, match="no circling line for category B"):
        charted(tables | {"category": "B"}, "circling")
    del tables["category"]
    with pytest.raises(ProcedureError, match="depend on the category, and none is given"):
        charted(tables)


def test_without_a_category_a_single_altitude_is_all_there_is():
    tables = whole()
    del tables["category"]
    tables["minimums"] = tables["minimums"][:1]
    assert minimum_ft(tables) == 640.0


def test_a_line_for_the_category_wins_over_one_for_all():
    tables = whole()
    tables["minimums"].append({"kind": "mda", "altitude_ft": 700})
    assert minimum_ft(tables) == 640.0
    assert minimum_ft(tables | {"category": "E"}) == 700.0


def test_of_a_decision_altitude_and_a_minimum_descent_altitude_the_glide_path_tells():
    tables = whole()
    tables["minimums"] = [{"kind": "mda", "altitude_ft": 640}, {"kind": "da", "altitude_ft": 300}]
    assert minimum_ft(tables) == 640.0
    assert any("the mda is used, since there is no [glide_path]" in warning for warning in charted(tables).warnings)
    tables["glide_path"] = {"angle_deg": 3.0}
    assert minimum_ft(tables) == 300.0


def on_the_field(tables: Tables) -> Tables:
    """The fix at the field: the threshold is some 0.3 NM from it."""
    tables["runway"] |= {"threshold_latitude_deg": 47.253, "threshold_longitude_deg": -31.494}
    return tables


def test_on_the_field_the_inbound_minimum_is_the_final_one_where_no_other_is_given(tables):
    tables = on_the_field(tables)
    found = charted(tables)
    assert found.on_field
    assert found.levels_m["inbound"] == pytest.approx(2200 * FT)
    assert minimum_ft(tables) == 640.0
    del tables["altitudes"]["final_ft"]
    found = charted(tables)
    assert minimum_ft(tables) == 2200.0
    assert found.minimum is not None
    assert found.minimum.kind == "mda"
    assert "inbound" not in found.floors_m
    assert found.levels_m["final"] == pytest.approx(2200 * FT)
    tables["fixes"] = [{"name": "KELVA", "role": "final-approach-fix", "distance_nm": -4.0}]
    assert charted(tables).minimum is None  # inbound ends at that fix, and final has a leg of its own
    assert "inbound" in charted(tables).floors_m


def test_elsewhere_the_inbound_minimum_stays_what_it_is(tables):
    del tables["altitudes"]["final_ft"]
    found = charted(tables)
    assert (found.on_field, found.minimum) == (False, None)
    assert found.floors_m["inbound"] == pytest.approx(2200 * FT)
    assert "final" not in found.levels_m


def test_the_missed_approach():
    found = charted(whole()).missed
    assert found is not None
    assert (found.time_s, found.turn, found.to, found.course_true_rad) == (168.0, 1, "WND", None)
    assert found.time_at_mps == pytest.approx(90 * KT)
    assert found.climb_m == pytest.approx(1200 * FT)
    assert found.altitude_m == pytest.approx(3000 * FT)
    tables = whole()
    tables["missed_approach"] = {"turn": "left", "course_deg": 31}
    found = charted(tables).missed
    assert found is not None
    assert (found.turn, found.to, found.altitude_m, found.time_s) == (-1, None, None, None)
    assert degrees(found.course_true_rad) == pytest.approx(31 - 8)


def test_holds_have_their_station_s_variation():
    wendle, pelto = charted(whole()).holds
    assert degrees(wendle.inbound_true_rad) == pytest.approx(241 - 9)  # the fix's, not the guidance's
    assert degrees(pelto.inbound_true_rad) == pytest.approx(225 - 9.5)
    assert (wendle.turn, pelto.turn) == (1, -1)
    assert math.degrees(wendle.latitude_rad) == pytest.approx(47.25)  # at the fix of its name
    assert math.degrees(pelto.latitude_rad) == pytest.approx(47.45)
    assert (wendle.leg_time_s, wendle.leg_length_m, pelto.leg_time_s, pelto.leg_by) == (60.0, None, None, "along-track")
    assert pelto.leg_length_m == pytest.approx(4 * NM)
    assert wendle.minimum_m == pytest.approx(3000 * FT)
    assert wendle.maximum_m == pytest.approx(5000 * FT)
    assert wendle.maximum_speed_mps == pytest.approx(200 * KT)
    assert (wendle.category, pelto.category, wendle.role, pelto.role) == ("A-B", None, "missed-approach", "published")


def test_a_hold_at_a_fix_of_the_final_course():
    tables = whole()
    tables["holds"][1]["name"] = "KESTA"
    del tables["holds"][1]["latitude_deg"], tables["holds"][1]["longitude_deg"]
    found = charted(tables)
    assert (found.holds[1].latitude_rad, found.holds[1].longitude_rad) == (
        found.fixes[1].latitude_rad, found.fixes[1].longitude_rad,
    )  # fmt: skip


def test_arrivals_ceilings_speeds_and_limits():
    found = charted(whole())
    pelto, gerri = found.arrivals
    assert (degrees(pelto.course_true_rad), pelto.reversal) == (pytest.approx(225 - 9), False)
    assert gerri.minimum_m == pytest.approx(3400 * FT)
    assert gerri.reversal
    assert found.ceilings_m == pytest.approx({"outbound": 3000 * FT, "reversal": 4000 * FT})
    assert found.target_speeds_mps == pytest.approx({"outbound": 110 * KT, "inbound": 100 * KT, "final": 90 * KT})
    assert (found.leg_time_s, found.maximum_time_s, found.leg_by) == (120.0, 180.0, "dme")
    assert found.leg_length_m == pytest.approx(7.5 * NM)
    assert degrees(found.entry_within_rad) == pytest.approx(30)
    assert found.within_by_dme
    assert found.dme is not None
    assert found.dme.elevation_m == pytest.approx(60 * FT)
    assert (found.limit_latitude_rad, found.limit_longitude_rad) == (found.dme.latitude_rad, found.dme.longitude_rad)
    assert found.runway is not None
    assert found.runway.length_m == pytest.approx(7000 * FT)
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - our own bytes


def test_what_is_not_charted_is_none(tables):
    found = charted(tables)
    assert (found.missed, found.dme, found.leg_by, found.maximum_time_s, found.entry_within_rad) == (None,) * 5
    assert (found.fixes, found.holds, found.arrivals) == ((), (), ())
    assert (found.within_by_dme, found.depicted_track, found.altitude_unit) == (False, False, "ft")
    assert (found.limit_latitude_rad, found.limit_longitude_rad) == (found.fix_latitude_rad, found.fix_longitude_rad)


def test_a_vor_that_is_read_is_its_own_station(tables):
    tables["reversal"]["within_by"] = "dme"
    found = charted(tables)
    assert found.dme is not None
    assert (found.dme.name, found.dme.latitude_rad) == ("WND", found.fix_latitude_rad)
    assert found.dme.elevation_m == pytest.approx(120 * FT)


def test_courses_are_magnetic_by_the_station_that_gives_them(tables):
    tables["guidance"] = {"kind": "vor", "variation_deg_east": -7.0}
    found = charted(tables)
    assert degrees(found.variation.east_rad) == pytest.approx(353.0)
    assert degrees(found.inbound_true_rad) == pytest.approx(241 - 7)
    assert degrees(found.outbound_true_rad) == pytest.approx(61 - 7)  # the reciprocal is flown by it too
    base_turn: dict[str, Any] = {"kind": "base-turn", "turn": "right", "outbound_course_deg": 45, "inbound_course_deg": 241}
    found = charted(tables | {"reversal": base_turn})
    assert degrees(found.inbound_true_rad) == pytest.approx(241 - 7)
    assert degrees(found.outbound_true_rad) == pytest.approx(45 - 9)  # a radial of the fix
    # where only the guidance tells, no model is needed
    del tables["fix"]["variation_deg_east"]
    assert degrees(resolve(Procedure.model_validate(tables), dt.date(2035, 1, 1)).inbound_true_rad) == pytest.approx(234)

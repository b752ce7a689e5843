"""A procedure drafted from a flight: courses, side and levels come back from flights whose procedure is known."""

import datetime as dt
import json
import math
from pathlib import Path

import pytest
import true_flights
from patterns import Pattern, fly_approach
from synthetic import HERE, Log, Place

import analyzer
from analyzer.brief.briefing import brief
from analyzer.brief.chances import Errors
from analyzer.brief.conditions import Conditions
from analyzer.brief.planned_track import planned_track
from analyzer.draft.drafting import FixGiven, draft
from analyzer.draft.fix import fix_given
from analyzer.errors import LogError, ProcedureError
from analyzer.physics.units import KT
from analyzer.procedure.charted import resolve
from analyzer.procedure.read import read_procedure
from analyzer.procedure.schema import Procedure
from analyzer.procedure.write import procedure_toml

TRUTH = Path(__file__).parents[3] / "shared" / "truth" / "dev"
SOUTH = Place(-33.4, 179.97, 281.0, 14.0)  # across the 180th meridian
SIDE = {1: "right", -1: "left"}


def given(place: Place = HERE) -> FixGiven:
    return FixGiven(place.latitude_deg, place.longitude_deg, variation_deg_east=place.variation_deg)


def off_deg(one: float | None, other: float) -> float:
    assert one is not None
    return abs(math.remainder(one - other, 360.0))


@pytest.mark.parametrize("place", [HERE, SOUTH], ids=["north", "south"])
@pytest.mark.parametrize("side", SIDE)
@pytest.mark.parametrize("shape", ["45/180", "80/260"])
def test_a_procedure_turn_is_drafted(shape, side, place):
    pattern = Pattern(side=side, shape=shape, wind=(70.0, 15.0), intercept=True, final_s=180.0)
    drafted = draft(Log(noise_m=3.0).of(fly_approach(pattern).flown, place), given(place))
    reversal, out = drafted.procedure.reversal, place.outbound_true_deg - place.variation_deg
    assert (drafted.flown, reversal.kind, reversal.side, reversal.within_nm) == (shape, "procedure-turn", SIDE[side], 10.0)
    assert off_deg(reversal.outbound_course_deg, out) <= 1.0
    assert off_deg(reversal.inbound_course_deg, out + 180.0) <= 1.0


def planned(table: dict[str, object], arrival_deg: float | None = None):
    """The flight that a brief plans for a chart at `HERE`."""
    fix = {"name": "QRL", "kind": "vor", "latitude_deg": HERE.latitude_deg, "longitude_deg": HERE.longitude_deg,
           "variation_deg_east": HERE.variation_deg}  # fmt: skip
    procedure = Procedure.model_validate(
        {"title": "Quorl Bank", "fix": fix, "reversal": table, "altitudes": {"outbound_ft": 3000.0, "inbound_ft": 2900.0}}
    )
    log_day = resolve(procedure, dt.date(2026, 1, 1))
    arrival = None if arrival_deg is None else math.radians(arrival_deg + HERE.variation_deg)
    made = brief(log_day, Conditions({"all": 120.0 * KT}, arrival_rad=arrival), Errors(flights=5))
    assert made.plan is not None
    return planned_track(made.plan)


@pytest.mark.parametrize(("turn", "inbound"), [("left", 231.0), ("right", 275.0)])
def test_a_base_turn_is_drafted_with_both_its_courses(turn, inbound):
    drafted = draft(
        planned({"kind": "base-turn", "turn": turn, "outbound_course_deg": 73.0, "inbound_course_deg": inbound}), given()
    )
    reversal = drafted.procedure.reversal
    assert (reversal.kind, reversal.turn) == ("base-turn", turn)
    assert off_deg(reversal.outbound_course_deg, 73.0) <= 1.0
    assert off_deg(reversal.inbound_course_deg, inbound) <= 1.0


@pytest.mark.parametrize("turn", ["left", "right"])
@pytest.mark.parametrize(("entry", "from_inbound"), [("direct", 20.0), ("parallel", -120.0)])
def test_a_hold_is_drafted_with_the_way_it_turns(turn, entry, from_inbound):
    sign = 1.0 if turn == "right" else -1.0
    track = planned(
        {"kind": "hold", "turn": turn, "inbound_course_deg": 140.0, "leg_time_s": 90.0}, 140.0 + sign * from_inbound
    )
    drafted = draft(track, given())
    assert (drafted.flown, drafted.procedure.reversal.kind) == (f"hold-{entry}", "hold")
    assert drafted.procedure.reversal.turn == turn
    assert off_deg(drafted.procedure.reversal.inbound_course_deg, 140.0) <= 2.0


def test_levels_are_those_flown_down_to_a_hundred():
    """Levels of 3,080 and 1,940 ft: the minima they were flown above are whole hundreds at or below."""
    pattern = Pattern(final_s=240.0, arrival_s=180.0)
    flown = fly_approach(pattern)
    down = flown.rolled_out_s + 20.0
    log = Log(altitude_ft=[(0.0, 3080.0), (down, 3080.0), (down + 90.0, 1940.0), (9999.0, 1940.0)])
    floors = draft(log.of(flown.flown), given()).procedure.altitudes.by_leg()
    assert floors["outbound"] == floors["reversal"] == 3000.0
    assert floors["final"] == 1900.0


def test_without_altitude_no_minimum_is_made_up():
    track = Log(altitude_ft=None).of(fly_approach(Pattern()).flown)
    assert draft(track, given()).procedure.altitudes.by_leg() == {}


def test_the_draft_judges_the_flight_that_it_was_made_from(tmp_path):
    """Written, read back and flown against itself: the reversal is found and everything charted is inside."""
    track = Log(noise_m=2.0).of(fly_approach(Pattern(final_s=180.0)).flown)
    drafted = draft(track, given())
    file = tmp_path / "draft.toml"
    file.write_text(procedure_toml(drafted.procedure, "A draft.", drafted.remarks), encoding="utf-8")
    read = read_procedure(file)
    assert read == drafted.procedure
    (approach,) = analyzer.debrief(track, read).approaches
    assert approach.reversal.flown == "45/180"
    verdicts = {finding.check: finding.verdict for finding in approach.findings}
    assert verdicts["distance_limit"] == verdicts["reversal_side"] == "inside"


def test_a_fix_that_was_not_flown_to_is_refused():
    track = Log().of(fly_approach(Pattern()).flown)
    with pytest.raises(LogError, match="--fix LAT,LON"):
        draft(track, FixGiven(HERE.latitude_deg + 0.5, HERE.longitude_deg))


def test_no_declination_where_no_model_reaches():
    track = Log(start_s=-3.0e9).of(fly_approach(Pattern()).flown)
    with pytest.raises(ProcedureError):
        draft(track, FixGiven(HERE.latitude_deg, HERE.longitude_deg))


@pytest.mark.parametrize("flight", [*true_flights.STORED, *true_flights.LIVE])
def test_the_chart_that_simulated_flights_were_flown_by(flight):
    """Within what pilots stray: two degrees."""
    if flight in true_flights.LIVE:
        pytest.importorskip("jsbsim")
    charted = true_flights.states(flight).procedure
    fix = FixGiven(charted.fix.latitude_deg, charted.fix.longitude_deg, variation_deg_east=charted.fix.variation_deg_east)
    drafted = draft(true_flights.log(flight, "noisy.csv"), fix).procedure.reversal
    assert (drafted.kind, drafted.side) == ("procedure-turn", charted.reversal.side)
    assert charted.reversal.inbound_course_deg is not None
    assert off_deg(drafted.inbound_course_deg, charted.reversal.inbound_course_deg) <= 2.0


@pytest.mark.skipif(not TRUTH.is_dir(), reason="the folder of truth flights is not next to the repository")
@pytest.mark.parametrize("flight", sorted(path.name for path in TRUTH.glob("d*")) if TRUTH.is_dir() else [])
def test_flights_whose_chart_is_known(flight):
    """Within what pilots stray: two degrees. A teardrop entry and a base turn are one path, and a straight-in has no turn."""
    charted = json.loads((TRUTH / flight / "procedure.json").read_text("utf-8"))
    flown = json.loads((TRUTH / flight / "truth.json").read_text("utf-8"))["type_flown"]
    variation = float(charted["station_declination_deg_east"])
    fix = FixGiven(charted["fix"]["lat"], charted["fix"]["lon"], variation_deg_east=variation)
    drafted = draft(analyzer.read_track(TRUTH / flight / "log_noisy.csv"), fix)
    reversal = drafted.procedure.reversal
    assert off_deg(reversal.inbound_course_deg, charted["inbound_course_mag"]) <= 2.0
    kinds = {"racetrack": ("hold", "base-turn"), "base_turn": ("base-turn",), "dme_arc": ("arc",), "none": ("none",)}
    assert reversal.kind in kinds.get(flown, ("procedure-turn",))
    if reversal.kind == "procedure-turn":
        side = json.loads((TRUTH / flight / "truth.json").read_text("utf-8"))["side_flown"]
        assert reversal.side == {"L": "left", "R": "right"}[side]
    elif reversal.kind in ("hold", "base-turn"):
        assert reversal.turn == {"L": "left", "R": "right"}[charted["turn_direction"]]
    elif reversal.kind == "arc":
        assert drafted.procedure.arc is not None
        assert drafted.procedure.arc.radius_nm == charted["arc"]["radius_nm"]
        assert reversal.turn == {"CW": "right", "CCW": "left"}[charted["arc"]["direction"]]


@pytest.mark.parametrize("place", ["48.35,-24.7", "N48 21.0, W024 42.0", "48°21'00\"N,24°42'00\"W", "N48°21.0′,W24°42.0′"])
def test_the_fix_may_be_given_as_charts_write_it(place):
    """21 minutes are 0.35 of a degree, 42 are 0.7."""
    made = fix_given(place, "WND", "vor", None)
    assert (made.latitude_deg, made.longitude_deg) == pytest.approx((48.35, -24.7), abs=1e-7)


@pytest.mark.parametrize("place", ["48.35", "N91 00.0,W024 42.0", "here,there", "48.35;-24.7", ""])
def test_a_fix_that_is_no_place_is_refused(place):
    with pytest.raises(ProcedureError, match="--fix"):
        fix_given(place, "WND", "vor", None)

"""What a brief tells, flown in a flight-dynamics model and debriefed: it comes out where the brief planned it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pytest
from briefed import Errors, base_chart, briefed, hold_chart, number, turn_chart, wind_text
from in_dynamics import AT_FIX, InDynamics, fly_in_dynamics
from synthetic import CALM, NM, START_S, Chart, Wind, holding

from analyzer import debrief, read_track
from analyzer.brief.briefing import Brief
from analyzer.brief.hold_pattern import hold_numbers
from analyzer.library.debrief import Debrief
from analyzer.report.documents.brief_document import brief_document

FEW = Errors(flights=10)
BOUND_NM = 0.15
OUT = AT_FIX.outbound_true_deg - AT_FIX.variation_deg  # magnetic
RIGHT, LEFT = 1, -1
WORD = {RIGHT: "right", LEFT: "left"}


@dataclass(frozen=True)
class Case:
    """A procedure and what it is flown in. Courses and where the wind is from count from the outbound course.

    `solved` tells whether something is left to the pilot that brings the reversing turn out on the inbound course.
    """

    airframe: str
    true_kt: int | None
    wind: Wind
    chart: Chart
    shape: str
    side: int
    given: Mapping[str, Any] = field(default_factory=dict)
    arrival_deg: float = 0.0
    inbound_deg: float = 180.0
    solved: bool = True

    def brief(self) -> Brief:
        speeds = {} if self.true_kt is None else {"true_speeds": [str(self.true_kt)]}
        return briefed(self.chart, AT_FIX, FEW, winds=[wind_text(self.wind, AT_FIX)], **speeds, **self.given)

    def fly(self, document: Mapping[str, Any]) -> InDynamics:
        return fly_in_dynamics(document, self.airframe, -self.side, self.wind, self.arrival_deg, self.inbound_deg)


def procedure_turn(airframe: str, true_kt: int, wind: Wind, side: int, **given: Any) -> Case:
    return Case(airframe, true_kt, wind, turn_chart(WORD[side]), given.get("shape", "45/180"), side, given)


def racetrack(airframe: str, true_kt: int, wind: Wind, side: int) -> Case:
    """A racetrack under a barb, the fix reached on the inbound course."""
    return Case(airframe, true_kt, wind, turn_chart(WORD[side]), "hold-direct", side, {"shape": "racetrack"}, arrival_deg=180.0)


def teardrop(airframe: str, true_kt: int, wind: Wind, side: int) -> Case:
    """A teardrop under a barb, the fix reached on the outbound course."""
    given = {"shape": "teardrop", "arrival_deg": OUT % 360.0}
    return Case(airframe, true_kt, wind, turn_chart(WORD[side]), "base-turn", side, given)


def base_turn(airframe: str, true_kt: int, wind: Wind, turn: int, **given: Any) -> Case:
    chart = base_chart(WORD[turn], 22.0, AT_FIX)
    return Case(airframe, true_kt, wind, chart, "base-turn", -turn, given, inbound_deg=180.0 + turn * 22.0)


def hold(airframe: str, true_kt: int, wind: Wind, turn: int, from_inbound: float, entry: str) -> Case:
    """A hold, the fix reached on a course so far from the inbound one in the direction of its turns."""
    arrival = 180.0 + turn * from_inbound
    given = {"arrival_deg": (OUT + arrival) % 360.0}
    shape, solved = f"hold-{entry}", entry == "direct"
    return Case(airframe, true_kt, wind, hold_chart(WORD[turn]), shape, -turn, given, arrival, solved=solved)


DESCENT = Case(
    "t6texan2",
    None,
    (200.0, 15.0),
    Chart(side="right", floors_ft={"outbound": 6000.0, "reversal": 4000.0}),
    "45/180",
    RIGHT,
    {"speeds": ["130"]},
)
CASES = {
    "45/180 right": procedure_turn("c172p", 95, CALM, RIGHT),
    "45/180 left, headwind": procedure_turn("t6texan2", 160, (0.0, 25.0), LEFT),
    "45/180 right, crosswind": procedure_turn("pa28", 110, (90.0, 30.0), RIGHT),
    "45/180 right, descending": DESCENT,
    "45/180 right, round over the fix": replace(
        procedure_turn("pa28", 105, (250.0, 20.0), RIGHT, arrival_deg=(OUT + 140.0) % 360.0), arrival_deg=140.0
    ),
    "45/180 left, round over the fix": replace(
        procedure_turn("c172p", 95, (100.0, 15.0), LEFT, arrival_deg=(OUT - 145.0) % 360.0), arrival_deg=-145.0
    ),
    "80/260 left": procedure_turn("c172p", 100, CALM, LEFT, shape="80/260", outbound="150s"),
    "80/260 right, quartering": replace(
        procedure_turn("t6texan2", 130, (45.0, 25.0), RIGHT, shape="80/260", outbound="120s"),
        solved=False,  # the wind asks for a pause of 17 s between the turns, longer than this shape has
    ),
    "racetrack right of the course": racetrack("pa28", 105, (90.0, 20.0), RIGHT),
    "racetrack left of the course": racetrack("t6texan2", 150, (310.0, 25.0), LEFT),
    "teardrop right of the course": teardrop("c172p", 95, (250.0, 15.0), RIGHT),
    "teardrop left of the course": teardrop("t6texan2", 140, CALM, LEFT),
    "base turn right": base_turn("c172p", 100, CALM, RIGHT),
    "base turn left, crosswind": base_turn("t6texan2", 150, (90.0, 30.0), LEFT),
    "base turn right, asked, tailwind": base_turn("pa28", 110, (180.0, 20.0), RIGHT, outbound="130s"),
    "base turn left, asked, headwind": base_turn("t6texan2", 140, (10.0, 25.0), LEFT, outbound="130s"),
    "hold right, direct": hold("pa28", 105, CALM, RIGHT, 0.0, "direct"),
    "hold left, direct, from aside": hold("t6texan2", 150, (90.0, 30.0), LEFT, -40.0, "direct"),
    "hold right, teardrop": hold("pa28", 110, (290.0, 20.0), RIGHT, 130.0, "teardrop"),
    "hold left, teardrop": hold("t6texan2", 150, (90.0, 30.0), LEFT, 130.0, "teardrop"),
    "hold right, parallel": hold("c172p", 95, (290.0, 20.0), RIGHT, 235.0, "parallel"),
    "hold left, parallel": hold("pa28", 105, CALM, LEFT, 235.0, "parallel"),
}


@dataclass(frozen=True, eq=False)
class Flown:
    """A case with its brief, its flight, and the debrief of its log."""

    case: Case
    made: Brief
    flight: InDynamics
    result: Debrief

    def cross_nm(self, name: str) -> float:
        """How far right of the inbound course the log is where a part ends."""
        states, inbound = self.result.motion.states, self.made.charted.inbound_true_rad
        ended_s = START_S + self.flight.end(name).time_s
        return float(np.interp(ended_s, states.time_s, states.cross_track_m(inbound))) / NM


@pytest.fixture(scope="module", params=CASES)
def flown(request, tmp_path_factory) -> Flown:
    case = CASES[request.param]
    made = case.brief()
    flight = case.fly(brief_document(made))
    log = flight.write_log(tmp_path_factory.mktemp("flown") / "log.csv")
    return Flown(case, made, flight, debrief(read_track(log), made.charted.procedure))


def planned_cross_nm(made: Brief) -> float:
    """How far right of the inbound course the plan has the end of the reversing turn."""
    plan = made.plan
    assert plan is not None
    end = next(end for part, end in zip(plan.parts, plan.path.ends, strict=True) if part.part == "reversal_turn")
    return float(plan.path.across_m(made.charted.inbound_true_rad)[end]) / NM


def test_the_airframe_flies_as_briefed(flown):
    """Not of the brief, but of what it is compared with: the true airspeed briefed, and the wind in full."""
    document, last = brief_document(flown.made), flown.flight.ends[-1][0]
    briefed_kt = [part["true_airspeed_kt"] for part in document["parts"]]
    speeds = [state.true_airspeed_kt for state in flown.flight.until(last)]
    assert min(briefed_kt) - 2.0 < min(speeds) <= max(speeds) < max(briefed_kt) + 2.0
    winds = [np.hypot(state.wind_to_north_kt, state.wind_to_east_kt) for state in flown.flight.until(last)]
    assert winds == pytest.approx([flown.case.wind[1]] * len(winds), abs=0.1)


def test_the_reversing_turn_comes_out_where_planned(flown):
    """On the inbound course where the brief solved for that, and off it as planned where not."""
    planned = planned_cross_nm(flown.made)
    assert (brief_document(flown.made)["solved"] is not None) == flown.case.solved
    if flown.case.solved:
        assert planned == pytest.approx(0.0, abs=0.01)
    assert flown.cross_nm("reversal_turn") == pytest.approx(planned, abs=BOUND_NM)


def test_the_last_turn_comes_out_on_the_inbound_course(flown):
    assert flown.cross_nm(flown.flight.ends[-1][0]) == pytest.approx(0.0, abs=BOUND_NM)


def test_the_outbound_leg_ends_where_planned(flown):
    plan = flown.made.plan
    end = next(end for part, end in reversed(list(zip(plan.parts, plan.path.ends, strict=True))) if part.part == "outbound")
    right_nm, out_nm = flown.flight.plane_nm("outbound")
    along = np.hypot(plan.path.north_m[end], plan.path.east_m[end])
    across = float(plan.path.across_m(np.radians(AT_FIX.outbound_true_deg))[end])
    assert right_nm == pytest.approx(across / NM, abs=BOUND_NM)
    assert np.hypot(right_nm, out_nm) == pytest.approx(float(along) / NM, abs=BOUND_NM)


def test_the_greatest_distance_is_as_briefed(flown):
    (approach,) = flown.result.approaches
    assert approach.figures.farthest is not None
    farthest_nm = approach.figures.farthest.distance_m / NM
    assert farthest_nm == pytest.approx(number(flown.made, "greatest distance").value, abs=BOUND_NM)


def test_the_shape_and_its_side_are_recognised(flown):
    (approach,) = flown.result.approaches
    assert approach.reversal.flown == flown.case.shape == brief_document(flown.made)["shape"]
    assert approach.reversal.side == flown.case.side


def test_true_airspeeds_are_of_the_indicated_one_asked_for():
    """In the simulator's standard atmosphere, at the height of each leg."""
    flight = DESCENT.fly(brief_document(DESCENT.brief()))
    for name, height_ft in (("outbound", 6000.0), ("reversal_turn", 4000.0)):
        state = flight.end(name)
        assert state.altitude_ft == pytest.approx(height_ft, abs=150.0)  # the autopilot levels off softly
        assert state.calibrated_airspeed_kt == pytest.approx(130.0, abs=1.0)


def circuit(made: Brief) -> dict[str, Any]:
    """The JSON of a direct entry with the heading and time outbound that it gives for a circuit."""
    document = brief_document(made)
    heading, seconds = (
        number(made, "outbound heading in circuits").value,
        hold_numbers(made.charted, made.conditions).outbound_s,
    )
    for part in document["parts"]:
        if part["part"] in ("entry_turn", "outbound"):
            part["heading_deg_magnetic"] = heading
        if part["part"] == "outbound":
            part["duration_s"] = seconds
    return document


@pytest.mark.parametrize(
    "case",
    [
        hold("c172p", 100, (240.0, 20.0), RIGHT, 0.0, "direct"),
        hold("t6texan2", 140, (60.0, 30.0), LEFT, 0.0, "direct"),
    ],
    ids=["right", "left"],
)
def test_a_circuit_makes_an_inbound_leg_of_its_time(case):
    across_nm, out_nm = case.fly(circuit(case.brief())).plane_nm("reversal_turn")
    assert across_nm == pytest.approx(0.0, abs=BOUND_NM)
    correction, ahead = np.radians([holding(180.0, case.true_kt, case.wind) - 180.0, case.wind[0] - 180.0])
    ground_kt = case.true_kt * np.cos(correction) - case.wind[1] * np.cos(ahead)
    assert out_nm == pytest.approx(ground_kt / 60.0, abs=BOUND_NM)  # the charted minute from the fix

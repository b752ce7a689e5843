"""Reversals flown again exactly as advised, by the tests' own simulation: the fault is gone, and no other takes its place."""

import math
import re
from dataclasses import dataclass, replace

import pytest
from checked import all_of, debriefed, one_of
from synthetic import CALM, Chart, Flown, Segment, Straight, Turn, Wind, fly, holding, standard_rate_bank

from analyzer.checks.finding import OUTSIDE, Finding
from analyzer.debriefs.data import Approach

LEG_S = {"45/180": 40.0, "80/260": 0.0}
CUTS_DEG = (30.0, 20.0, 10.0, 5.0, 2.0)
WINDS: list[Wind] = [CALM, (180.0, 15.0), (80.0, 20.0), (320.0, 25.0)]


@dataclass(frozen=True)
class Reversal:
    """Out, around to the left, and straight onto the heading that holds the inbound course, then back to the course if it
    rolled out elsewhere. `split_deg` is how far a base turn leaves the reciprocal of the inbound course; `stopped_s` how long
    the turn is stopped 40° short of the heading inbound."""

    shape: str = "45/180"
    speed_kt: float = 140.0
    wind: Wind = CALM
    outbound_s: float = 120.0
    leg_s: float = 40.0
    bank_deg: float = 21.0
    back_bank_deg: float = 21.0
    split_deg: float = 26.0
    stopped_s: float = 0.0

    @property
    def home_deg(self) -> float:
        return 180.0 - (self.split_deg if self.shape == "base-turn" else 0.0)


def flown(one: Reversal) -> Flown:
    def held(course_deg: float) -> float:
        return holding(course_deg, one.speed_kt, one.wind)

    out, home = held(0.0), held(one.home_deg)
    course = math.radians(one.home_deg)
    path: list[Segment] = [Straight("arrival", 90.0), Straight("outbound", one.outbound_s)]
    before = out
    if one.shape != "base-turn":
        before = 45.0 if one.shape == "45/180" else 80.0
        path.append(Turn("offset_turn", before - out, one.bank_deg))
    if one.leg_s > 0.0:
        path.append(Straight("offset_leg", one.leg_s))
    back = (before - home) % 360.0
    if one.stopped_s > 0.0:
        path += [Turn("stopped_turn", -(back - 40.0), one.back_bank_deg), Straight("stopped", one.stopped_s)]
        back = 40.0
    path.append(Turn("reversal_turn", -back, one.back_bank_deg))
    arrived = fly(path[:1], (0.0, 0.0), out, one.speed_kt, one.wind, 5.0)
    start = -float(arrived.x_nm[-1]), -float(arrived.y_nm[-1])

    def run(segments: list[Segment]) -> Flown:
        return fly(segments, start, out, one.speed_kt, one.wind, 5.0)

    def across(segments: list[Segment]) -> float:
        end = run(segments)
        return float(end.x_nm[-1]) * math.cos(course) - float(end.y_nm[-1]) * math.sin(course)

    if abs(across(path)) > 0.1:
        path = _back_to_course([*path, Straight("beyond", 10.0)], across, held, one.home_deg)
    end, second_later = run([*path, Straight("in", 0.1)]), run([*path, Straight("in", 1.1)])
    to_go, then = (-float(at.x_nm[-1] * math.sin(course) + at.y_nm[-1] * math.cos(course)) for at in (end, second_later))
    return run([*path, Straight("inbound", to_go / (to_go - then)), Straight("final", 90.0)])


def _back_to_course(path, across, held, home_deg: float) -> list[Segment]:  # type: ignore[no-untyped-def]
    """With an intercept of at most 30° that ends on the course."""
    side = math.copysign(1.0, across(path))
    for cut in CUTS_DEG:
        off = held(home_deg - side * cut) - held(home_deg)
        made = [
            [*path, Turn("to", off, min(20.0, abs(off) / 2.0)), Straight("cut", s), Turn("on", -off, min(20.0, abs(off) / 2.0))]
            for s in (10.0, 20.0)
        ]
        near, far = (across(one) for one in made)
        seconds = 10.0 - 10.0 * near / (far - near)
        if seconds > 0.0:
            return [*made[0][:-2], Straight("cut", seconds), made[0][-1]]
    raise ValueError("no intercept ends on the course")


def out_s(miles: float, speed_kt: float, wind: Wind) -> float:
    """Seconds that so many miles outbound take."""
    heading = math.radians(holding(0.0, speed_kt, wind))
    return miles / (speed_kt * math.cos(heading) - wind[1] * math.cos(math.radians(wind[0]))) * 3600.0


def charted(one: Reversal, within_nm: float = 10.0, leg_time_s: float | None = None) -> Chart:
    if one.shape != "base-turn":
        return Chart(side="right", within_nm=within_nm)
    inbound = {"inbound_course_deg": (62.0 + 11.0 + one.home_deg) % 360.0}
    leg = {} if leg_time_s is None else {"leg_time_s": leg_time_s}
    return Chart(side=None, within_nm=within_nm, reversal={"kind": "base-turn", "turn": "left", **inbound, **leg})


def of(one: Reversal, chart: Chart | None = None) -> Approach:
    return debriefed(flown(one), chart=chart or charted(one))


def advice(finding: Finding) -> str:
    assert finding.verdict == OUTSIDE, finding.sentence
    assert finding.lesson is not None
    return str(finding.lesson.advice)


def number(pattern: str, text: str) -> float:
    found = re.search(pattern, text)
    assert found is not None, text
    return float(found[1])


def clean(approach: Approach) -> None:
    """Nothing that the shape of the reversal decides is outside."""
    for check in ("distance_limit", "intercept", "turn_bank", "leg_limit", "established", "reversal_side"):
        assert not [finding.sentence for finding in all_of(approach, check) if finding.verdict == OUTSIDE]


@pytest.mark.parametrize("wind", WINDS)
@pytest.mark.parametrize("speed_kt", [105.0, 155.0])
def test_an_80_260_beyond_the_limit_is_begun_earlier(speed_kt, wind):
    """The turns follow each other at once, and the heading between them is held at no moment of the log."""
    bank = standard_rate_bank(speed_kt)
    far = Reversal("80/260", speed_kt, wind, out_s(9.5, speed_kt, wind), 0.0, bank_deg=bank, back_bank_deg=bank)
    said = advice(one_of(of(far), "distance_limit"))
    again = of(replace(far, outbound_s=far.outbound_s - number(r"\((\d+) s\) earlier", said)))
    assert one_of(again, "distance_limit").measured == pytest.approx(9.0, abs=0.25)
    clean(again)


@pytest.mark.parametrize("wind", WINDS)
@pytest.mark.parametrize("leg_time_s", [None, 120.0])
def test_a_base_turn_beyond_the_limit_is_begun_earlier_or_when_charted(leg_time_s, wind):
    far = Reversal("base-turn", 140.0, wind, out_s(10.0, 140.0, wind), 0.0)
    chart = charted(far, leg_time_s=leg_time_s)
    approach = of(far, chart)
    said = advice(one_of(approach, "distance_limit"))
    again = of(replace(far, outbound_s=far.outbound_s - number(r"(\d+) s\)? earlier", said)), chart)
    assert one_of(again, "distance_limit").verdict == "inside"
    assert not [f for f in all_of(again, "leg_limit") if f.verdict == OUTSIDE]
    if leg_time_s is not None:  # the same as the lesson on the leg says
        assert "at the end of the charted leg" in said
        assert number(r"(\d+) s\)? earlier", said) == pytest.approx(far.outbound_s - 120.0, abs=2.0)


@pytest.mark.parametrize(
    ("shape", "wind"), [*(("45/180", wind) for wind in WINDS[:3]), *(("80/260", wind) for wind in WINDS[:2])]
)
def test_a_turn_too_shallow_for_the_course_is_flown_at_more_bank(shape, wind):
    shallow = Reversal(shape, 150.0, wind, out_s(5.0, 150.0, wind), LEG_S[shape], bank_deg=22.0, back_bank_deg=10.0)
    said = advice(one_of(of(shallow), "intercept"))
    bank = number(r"Bank (\d+)° in the turn inbound, not 10°", said)
    # 3°/s at 150 kt is 22.4°
    assert 10.0 < bank <= 23.0
    clean(of(replace(shallow, back_bank_deg=bank)))


@pytest.mark.parametrize("from_deg", [80.0, 90.0])
def test_an_80_260_that_the_wind_carries_across_the_course_has_a_leg_between_its_turns(from_deg):
    bank = standard_rate_bank(160.0)
    carried = Reversal("80/260", 160.0, (from_deg, 31.0), 110.0, 0.0, bank_deg=bank, back_bank_deg=bank)
    finding = one_of(of(carried), "intercept")
    seconds = number(r"Hold the heading between the two turns for (\d+) s", advice(finding))
    assert "more than in still air" in str(finding.lesson)
    clean(of(replace(carried, leg_s=seconds)))


def test_a_speed_is_not_blamed_for_what_a_shallow_turn_takes():
    shallow = Reversal("45/180", 150.0, CALM, 170.0, bank_deg=22.0, back_bank_deg=10.0)
    said = advice(one_of(of(shallow), "distance_limit"))
    assert "Slow" not in said
    bank, begin_nm = number(r"^Bank (\d+)° in the turn inbound, not 10°", said), number(r"([\d.]+) NM from the fix", said)
    again = of(replace(shallow, back_bank_deg=bank, outbound_s=out_s(begin_nm, 150.0, CALM)))
    assert one_of(again, "distance_limit").measured == pytest.approx(9.0, abs=0.25)
    clean(again)


@pytest.mark.parametrize(
    ("shape", "leg_s", "wind"), [("45/180", 25.0, CALM), ("45/180", 6.0, CALM), ("80/260", 0.0, (80.0, 15.0))]
)
def test_a_turn_stopped_beyond_the_course_is_turned_on(shape, leg_s, wind):
    stopped = Reversal(shape, 150.0, wind, out_s(5.5, 150.0, wind), leg_s, bank_deg=22.0, back_bank_deg=19.0, stopped_s=25.0)
    finding = one_of(of(stopped), "intercept")
    said = advice(finding)
    assert number(r"was stopped (\d+)° short", str(finding.lesson)) == pytest.approx(40.0, abs=2.5)
    assert said.endswith("eep turning until the heading leads back to the course.")
    leg = re.search(r"(\d+) s on the offset leg", said)
    sooner = re.search(r"([\d.]+) NM earlier", said)
    seconds = stopped.outbound_s - (out_s(float(sooner[1]), 150.0, wind) if sooner is not None else 0.0)
    clean(of(replace(stopped, stopped_s=0.0, outbound_s=seconds, leg_s=float(leg[1]) if leg is not None else leg_s)))


def test_a_longer_offset_leg_is_not_advised_beyond_the_limit():
    short = Reversal("45/180", 175.0, CALM, 125.0, leg_s=6.0, bank_deg=25.0, back_bank_deg=19.0)
    assert one_of(of(short), "distance_limit").verdict == "inside"
    said = advice(one_of(of(short), "intercept"))
    leg = number(r"(\d+) s on the offset leg, not", said)
    sooner = number(r"([\d.]+) NM earlier", said) / 175.0 * 3600.0
    assert one_of(of(replace(short, leg_s=leg)), "distance_limit").verdict != "inside"
    clean(of(replace(short, leg_s=leg, outbound_s=short.outbound_s - sooner)))


def test_a_longer_outbound_leg_than_charted_is_not_advised():
    """The turn is too shallow for the area: after the charted two minutes it rolls out beyond the course."""
    shallow = Reversal("base-turn", 140.0, CALM, 120.0, 0.0, back_bank_deg=11.0, split_deg=20.0)
    approach = of(shallow, charted(shallow, leg_time_s=120.0))
    said = advice(one_of(approach, "intercept"))
    assert "outbound leg" not in said
    clean(of(replace(shallow, back_bank_deg=number(r"Bank (\d+)°", said)), charted(shallow, leg_time_s=120.0)))


def test_a_steep_turn_after_a_short_leg_is_given_the_leg_for_its_new_bank():
    steep = Reversal("45/180", 185.0, CALM, 60.0, leg_s=6.0, bank_deg=25.0, back_bank_deg=37.0)
    said = advice(one_of(of(steep), "turn_bank", "reversal_turn"))
    bank = number(r"Bank (\d+)°", said)
    assert one_of(of(replace(steep, back_bank_deg=bank)), "intercept").verdict == OUTSIDE
    clean(of(replace(steep, back_bank_deg=bank, leg_s=number(r"(\d+) s on the offset leg", said))))


@pytest.mark.parametrize("shape", ["45/180", "80/260"])
def test_a_steep_reversal_beyond_the_limit_has_one_place_to_begin_it(shape):
    """The lesson on the distance allows for the bank that the other advises, and the other names no second place."""
    far = Reversal(shape, 140.0, CALM, 240.0, LEG_S[shape], bank_deg=36.0, back_bank_deg=36.0)
    approach = of(far)
    said, of_bank = advice(one_of(approach, "distance_limit")), advice(one_of(approach, "turn_bank", "reversal_turn"))
    assert "earlier" not in of_bank
    bank = number(r"Bank (\d+)°", of_bank)
    assert number(r"at (\d+)° of bank", said) == bank
    again = replace(far, bank_deg=bank, back_bank_deg=bank, outbound_s=far.outbound_s - number(r"\((\d+) s\) earlier", said))
    clean(of(again))
    assert one_of(of(again), "distance_limit").measured == pytest.approx(9.0, abs=0.25)

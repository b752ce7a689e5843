"""What is asked for: how it is read, and what is said where it cannot be."""

import re
from dataclasses import replace

import pytest
from briefed import LEVEL, TURN, arc_chart, asked, base_chart, briefed, charted_at, hold_chart, number, turn_chart, wind_text
from synthetic import HERE, KT, NM, Chart

from analyzer.brief.briefing import brief
from analyzer.brief.chances import Errors
from analyzer.brief.conditions import parse_speeds, parse_winds
from analyzer.errors import AnalyzerError, BriefError

FEW = Errors(flights=10)


def refusal(chart=None, **given) -> str:
    with pytest.raises(BriefError) as caught:
        briefed(chart or turn_chart(), errors=FEW, **given)
    assert isinstance(caught.value, AnalyzerError)  # the command line turns those into exit 2
    said = str(caught.value)
    assert "\n" not in said
    return said


def test_speeds():
    assert parse_speeds(["110"]) == {"all": pytest.approx(110.0 * KT)}
    both = parse_speeds(["110", " outbound = 120.5"])
    assert both == {"all": pytest.approx(110.0 * KT), "outbound": pytest.approx(120.5 * KT)}
    assert parse_speeds(["30", "reversal=500"]) == {"all": pytest.approx(30.0 * KT), "reversal": pytest.approx(500.0 * KT)}


@pytest.mark.parametrize("text", ["", "29", "501", "nan", "inf", "-100", "outbound=", "1e9", "110kt"])
def test_what_is_no_speed(text):
    with pytest.raises(BriefError, match=re.escape("--true-speed") + r".*from 30 to 500, such as 110"):
        parse_speeds([text], "--true-speed")


def test_a_speed_of_no_leg_names_the_legs():
    with pytest.raises(BriefError, match=r"--speed base=100.*arrival, outbound, reversal, inbound, final"):
        parse_speeds(["base=100"])


def test_speeds_of_single_legs_only_need_all_of_them():
    assert "--speed" in refusal(true_speeds=["outbound=110"])
    given = asked(true_speeds=["outbound=110", "reversal=100", "inbound=100", "final=90"])
    assert given.leg(charted_at(), "final").true_airspeed_mps == pytest.approx(90.0 * KT)


def test_winds():
    (wind,) = parse_winds(["240/18"])
    assert (wind.altitude_m, wind.speed_mps) == (None, pytest.approx(18.0 * KT))
    assert wind.from_true_rad == pytest.approx(4.1887902)  # 240°
    low, high = parse_winds(["005/7.5@-200", " 360/40@9000 "])
    assert (low.altitude_m, high.altitude_m) == (pytest.approx(-60.96), pytest.approx(2743.2))
    assert parse_winds([]) == ()


@pytest.mark.parametrize(
    "text", ["", "calm", "240", "240/", "361/10", "240/18@", "240/-5", "240-18", "240/18@3000ft", "nan/10"]
)
def test_what_is_no_wind(text):
    with pytest.raises(BriefError, match=r"--wind .*such as 240/18, or 240/18@3000"):
        parse_winds([text])


@pytest.mark.parametrize("texts", [["240/18", "250/20"], ["240/18", "250/20@3000"], ["240/18@3000", "250/20@3000"]])
def test_several_winds_need_altitudes_of_their_own(texts):
    with pytest.raises(BriefError, match=r"--wind.*altitude, such as 240/18@3000"):
        parse_winds(texts)


@pytest.mark.parametrize(("altitude", "speed"), [(1000, 10.0), (2000, 10.0), (3500, 25.0), (5000, 40.0), (9000, 40.0)])
def test_a_wind_between_two_altitudes(altitude, speed):
    given = asked(winds=["270/10@2000", "270/40@5000"])
    leg = given.leg(charted_at(Chart(floors_ft={"outbound": altitude})), "outbound")
    assert leg.wind_mps == pytest.approx(speed * KT)
    north, east = leg.wind_north_east_mps  # from the west it blows to the east
    assert (north, east) == pytest.approx((0.0, speed * KT), abs=1e-9)


def test_a_wind_that_turns_through_north_with_height():
    leg = asked(winds=["350/20@2000", "10/20@4000"]).leg(charted_at(), "outbound")  # at 3,000 ft
    north, east = leg.wind_north_east_mps
    assert (north / KT, east / KT) == pytest.approx((-19.696, 0.0), abs=0.001)  # 20 cos 10°, from the north


@pytest.mark.parametrize(
    ("text", "metres", "seconds"), [("4.5", 4.5 * NM, None), ("5nm", 5.0 * NM, None), (" 120 S", None, 120.0)]
)
def test_outbound(text, metres, seconds):
    given = asked(outbound=text)
    assert (given.outbound_m, given.outbound_s) == (metres, seconds)


@pytest.mark.parametrize("text", ["", "0.4", "31", "far", "9s", "601s", "-4", "2min", "nan"])
def test_what_is_no_outbound_leg(text):
    said = refusal(outbound=text)
    assert said.startswith(f"--outbound {text}")
    assert "such as 4.5" in said
    assert "120s" in said


@pytest.mark.parametrize(
    ("given", "option", "remedy"),
    [
        ({"bank_deg": 60.0}, "--bank 60", "from 3 to 45"),
        ({"rate_deg_s": 0.1}, "--rate 0.1", "from 0.3 to 6"),
        ({"keep_nm": -1.0}, "--keep -1", "from 0 to 10"),
        ({"arrival_deg": 361.0}, "--arrival 361", "from 0 to 360"),
        ({"altitude_ft": 70_000.0}, "--altitude 70,000", "to 60,000"),
        ({"bank_deg": float("nan")}, "--bank", "from 3 to 45"),
        ({"shape": "figure-eight"}, "--shape figure-eight", "45/180, 80/260, racetrack or teardrop"),
        ({"speeds": ["100"], "true_speeds": ["110"]}, "--true-speed", "not both"),
        ({"speeds": [], "true_speeds": []}, "--speed 110", "--true-speed"),
        ({"keep_nm": 9.0}, "--keep", "fly slower"),
    ],
)
def test_refusals_name_the_option_and_the_remedy(given, option, remedy):
    said = refusal(**given)
    assert option in said
    assert remedy in said


def test_a_chart_without_altitudes_asks_for_one():
    assert "--altitude FT" in refusal(Chart())
    leg = asked(Chart(), speeds=["100"], altitude_ft=5000.0).leg(charted_at(Chart()), "outbound")
    assert leg.true_airspeed_mps / KT == pytest.approx(107.67, abs=0.01)  # standard atmosphere (ISO 2533)


@pytest.mark.parametrize("wind", ["332/130", "242/125", "62/121"])
def test_a_wind_stronger_than_the_airspeed(wind):
    said = refusal(winds=[wind])
    assert "true airspeed of 120 kt" in said
    assert wind.split("/")[1] in said
    assert "fly faster" in said


@pytest.mark.parametrize("given", [{"outbound": "8", "winds": ["242/30"]}])
def test_an_outbound_leg_beyond_the_limit_names_the_longest_inside(given):
    said = refusal(**given)
    assert "beyond the limit of 10 NM" in said
    nearest = re.search(r"--outbound ([\d.]+) keeps 1\.0 NM inside", said)
    assert nearest is not None
    again = briefed(errors=FEW, **{**given, "outbound": nearest[1]})
    assert number(again, "greatest distance").value == pytest.approx(9.0, abs=0.06)  # to the tenth of a mile given


def test_a_base_turn_that_no_bank_closes_is_told_the_time_that_does():
    said = refusal(base_chart("left", 18.0), outbound="30s")
    assert "no bank up to 30°" in said
    seconds = re.search(r"(\d+) s outbound does", said)
    assert seconds is not None
    # R/tan 9° at 30° of bank and 120 kt: 2,208 ft (FAA-H-8083-25C fig. 5-61) over 202.5 ft/s, 68.8 s; half of 6 s of rolls less
    assert float(seconds[1]) == pytest.approx(68.8 - 3.0, abs=2.0)
    longer = briefed(base_chart("left", 18.0), errors=FEW, outbound=f"{int(seconds[1]) + 3}s")
    assert number(longer, "bank of the turn").value == pytest.approx(29.0, abs=1.0)


def elsewhere(chart: Chart, degrees_north: float) -> Chart:
    """The chart with its arc's centre moved."""
    arc = {**chart.tables["arc"], "latitude_deg": HERE.latitude_deg + degrees_north}
    return replace(chart, tables={**chart.tables, "arc": arc})


@pytest.mark.parametrize(
    ("chart", "given", "said"),
    [
        (elsewhere(arc_chart(12.0), 1.0), {}, "the inbound course does not meet the charted arc before the fix; check"),
        (arc_chart(1.0), {"true_speeds": ["180"]}, "an arc of 1.0 NM is too narrow for turns of 1.0 NM radius; fly slower, or"),
        (arc_chart(1.76), {"true_speeds": ["151"], "winds": ["312/118.5"]}, "no turn from outside rolls out on an arc of"),
        (hold_chart(), {"outbound": "4"}, "--outbound in miles does not apply to a hold, whose leg is charted; give seconds"),
        (hold_chart(), {"true_speeds": ["70"], "winds": [wind_text((90.0, 65.0))]}, "no outbound leg makes an inbound leg of"),
        (hold_chart(), {"true_speeds": ["118"], "winds": ["143/86"], "arrival_deg": 226.0}, "met only at the fix or beyond"),
        (TURN, {"true_speeds": ["106"], "winds": ["153/91"]}, "the inbound course cannot be met from where the"),
        (Chart(), {"speeds": ["500"], "altitude_ft": 40_000.0}, "500 kt indicated at 40,000 ft is beyond the speed of sound"),
        (arc_chart(12.0), {"shape": "45/180"}, "--shape 45/180: this chart leaves no choice: arc"),
    ],
)  # fmt: skip
def test_what_cannot_be_flown_is_told_why(chart, given, said):
    assert said in refusal(chart, **given)


@pytest.mark.parametrize(
    ("chart", "without", "said"),
    [
        (arc_chart(12.0), {"arc_radius_m": None}, "the procedure charts no arc"),
        (arc_chart(12.0), {"arc_latitude_rad": None}, "the procedure charts no arc"),
        (hold_chart(), {"turn": None}, "the procedure does not chart the direction of turns of its hold"),
        (TURN, {"side": None}, "the procedure charts no side to manoeuvre on"),
    ],
)
def test_a_chart_that_was_not_read_from_a_file_may_lack_what_a_file_must_have(chart, without, said):
    with pytest.raises(BriefError, match=said):
        brief(replace(charted_at(chart), **without), asked(chart), FEW)


def test_an_altitude_beyond_the_standard_atmosphere():
    with pytest.raises(BriefError, match="72,178 ft on the outbound leg with this QNH lies beyond the standard atmosphere"):
        brief(charted_at(Chart()), replace(asked(Chart(), altitude_ft=5000.0), altitude_m=22_000.0), FEW)


def test_a_longest_leg_too_short_to_ask_for_is_not_told():
    said = refusal(true_speeds=["191"], outbound="86s", winds=["181/62"])
    assert said.endswith("beyond the limit of 10 NM")


def test_kinds_without_a_path():
    none = Chart(side=None, within_nm=None, floors_ft=LEVEL, reversal={"kind": "none"})
    assert "no reversal" in refusal(none)
    assert "--shape 45/180" in refusal(hold_chart(), shape="45/180")


@pytest.mark.parametrize(("bank_deg", "cautioned"), [(25.0, False), (30.0, False), (31.0, True), (45.0, True)])
@pytest.mark.parametrize("chart", [turn_chart(), hold_chart(), arc_chart(10.0)], ids=["turn", "hold", "arc"])
def test_a_bank_that_a_debrief_would_find_outside_is_cautioned(chart, bank_deg, cautioned):
    """FAA-H-8083-15B (2012), chapter 7, Procedure Turn: bank not above 30°."""
    cautions = briefed(chart, errors=FEW, bank_deg=bank_deg).cautions
    said = [text for text in cautions if "of bank is steeper than the 30°" in text]
    assert bool(said) == cautioned
    assert all(text.startswith(f"{bank_deg:.0f}° ") for text in said)

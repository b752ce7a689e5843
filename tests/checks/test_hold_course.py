"""The inbound course of a hold: laps flown along another course than is charted, intercepts, and legs too short to judge."""

from dataclasses import replace

import pytest
from checked import NOISY, all_of
from hold_flights import LEVEL_FT, SPEED_KT, chart, entered, held, laps_in, level
from missed_flights import BANK, Whole, course, laid
from synthetic import CALM, Chart, Flown, Segment, Straight, Turn, fly

from analyzer import debrief
from analyzer.checks.finding import Finding
from analyzer.debriefs.data import Approach

# FAA-S-ACS-8C, IR.III.B: S4 three quarters of full scale, a VOR's being 10° (IFH ch. 9); S2 headings ±10°
NEEDLE_DEG, HEADING_DEG = 7.5, 10.0


def off_course(off_deg: float, guidance: str = "far") -> Chart:
    """The hold charted on another course than the laps are flown on, right of it positive; by where its guidance stands."""
    charted = chart(inbound_course_deg=course(180.0 - off_deg))
    tables = {
        "far": {},  # the VOR of the approach, 30 NM away
        "at the fix": {"guidance": {"kind": "vor", **laid(0.0, 0.0)}},
        "gps": {"guidance": {"kind": "gps"}},
    }[guidance]
    return replace(charted, tables={**charted.tables, **tables})


def by_lap(approach: Approach) -> dict[int | None, Finding]:
    return {finding.lap: finding for finding in all_of(approach, "hold_course")}


@pytest.mark.parametrize("guidance", ["far", "at the fix", "gps"])
def test_the_charted_course_is_held(guidance):
    found = by_lap(held(entered("direct", 2), off_course(0.0, guidance)))
    assert {lap: finding.verdict for lap, finding in found.items()} == {1: "inside", 2: "inside", 3: "inside"}
    assert found[2].unit == ("NM" if guidance == "gps" else "deg")
    assert found[2].measured < 1.0
    assert found[2].leg == "hold"


@pytest.mark.parametrize(
    ("off_deg", "guidance", "limit_deg", "verdict"),
    [
        (5.0, "at the fix", NEEDLE_DEG, "inside"),
        (9.0, "at the fix", NEEDLE_DEG, "outside"),
        (-9.0, "at the fix", NEEDLE_DEG, "outside"),
        (9.0, "far", HEADING_DEG, "inside"),  # a few degrees in so short a leg hardly move the needle of a distant VOR
        (9.0, "gps", HEADING_DEG, "inside"),
        (12.0, "far", HEADING_DEG, "outside"),
        (-12.0, "far", HEADING_DEG, "outside"),
        (12.0, "gps", HEADING_DEG, "outside"),
    ],
)
def test_laps_along_another_course_to_the_fix(off_deg, guidance, limit_deg, verdict):
    found = by_lap(held(entered("direct", 2), off_course(off_deg, guidance)))
    assert {found[2].verdict, found[3].verdict} == {verdict}
    if verdict == "outside":
        for lap in (2, 3):
            assert found[lap].measured == pytest.approx(abs(off_deg), abs=0.7)
            assert found[lap].limit == pytest.approx(limit_deg)
            assert found[lap].sentence.startswith(f"Lap {lap}: the inbound course was not joined before the fix. ")


def test_the_entry_may_lead_to_the_course_at_the_fix():
    """AIM 5-3-8 j.3: an entry ends by intercepting the course or at the fix, so that only further laps show the course held."""
    found = by_lap(held(entered("direct", 2), off_course(12.0)))
    assert (found[1].verdict, found[1].reason) == ("not assessed", "the entry's inbound leg leads to the course")


def test_the_time_of_a_leg_off_its_course_is_not_another_fault():
    """It is measured from joining the course, which came late or never."""
    approach = held(entered("direct", 2), off_course(12.0))
    timed = {finding.lap: finding for finding in all_of(approach, "hold_timing") if finding.part == "inbound"}
    assert {finding.verdict for finding in timed.values()} == {"not assessed"}
    assert all("it follows from hold course" in (finding.reason or "") for finding in timed.values())


def test_a_cut_of_eighteen_degrees_is_an_intercept():
    """Up to the fix: there is no part of the leg along the course."""
    found = by_lap(held(entered("direct", 2), off_course(18.0)))
    assert "outside" not in {finding.verdict for finding in found.values()}
    assert found[2].verdict == "not assessed"
    assert found[2].reason == "the course was still being intercepted at the fix"


def test_a_course_that_is_intercepted_first_is_judged_from_there():
    """Out 20° to the outside of the outbound course, in again at 30° to the inbound one, and on it for half a minute."""

    def path(cut_s: float) -> list[Segment]:
        entry = [Straight("arrival", 150.0), Turn("away1", 180.0, BANK), Straight("out1", 60.0)]
        entry += [Turn("back1", 180.0, BANK), Straight("in1", 60.0)]
        lap = [Turn("away2", 160.0, BANK), Straight("out2", 75.0), Turn("back2", 170.0, BANK)]
        return [*entry, *lap, Straight("cut2", cut_s), Turn("join2", 30.0, BANK)]

    start = (0.0, 5.0)
    low, high = 0.0, 200.0
    for _ in range(40):
        middle = (low + high) / 2.0
        ends_nm = float(fly(path(middle), start, 180.0, SPEED_KT, CALM, 5.0).x_nm[-1])
        low, high = (middle, high) if ends_nm < 0.0 else (low, middle)
    joined = fly(path(low), start, 180.0, SPEED_KT, CALM, 5.0)
    home_s = float(joined.y_nm[-1]) / SPEED_KT * 3600.0
    assert home_s > 20.0
    flown = fly([*path(low), Straight("in2", home_s), Straight("on", 40.0)], start, 180.0, SPEED_KT, CALM, 5.0)
    found = by_lap(held(Whole(flown, level())))
    assert found[2].verdict == "inside"
    assert found[2].measured < 1.0


@pytest.mark.parametrize("wind", [(270.0, 25.0), (90.0, 25.0), (0.0, 20.0), (180.0, 20.0)])
def test_a_course_held_in_wind_is_inside(wind):
    flown = laps_in(wind, (60.0, 60.0))
    assert {finding.verdict for finding in by_lap(held(Whole(flown, level()))).values()} == {"inside"}


def test_too_short_a_leg_is_not_judged():
    flown = laps_in(CALM, (60.0, 18.0))
    finding = by_lap(held(Whole(flown, level()), off_course(12.0)))[2]
    assert finding.verdict == "not assessed"
    assert "too little of the inbound leg" in (finding.reason or "")


def test_a_gap_in_the_leg_makes_a_pass_not_assessed():
    whole = entered("direct", 2)
    begun = whole.flown.begins["in2"]
    log = replace(NOISY, hole_s=(begun + 10.0, begun + 40.0))
    (hold,) = whole.debrief(chart(), log).holds
    found = by_lap(hold.approaches[0])
    assert found[2].verdict == "not assessed"
    assert found[3].verdict == "inside"


def test_the_other_way_round_it_is_the_same():
    flown: Flown = entered("direct", 2).flown
    mirrored = chart(inbound_course_deg=course(180.0 + 12.0), turn="left")
    here, there = (
        by_lap(held(Whole(flown, level()), off_course(12.0))),
        by_lap(held(Whole(flown.mirrored(), level()), mirrored)),
    )
    assert {lap: finding.verdict for lap, finding in here.items()} == {lap: finding.verdict for lap, finding in there.items()}
    assert here[2].measured == pytest.approx(there[2].measured, abs=0.3)


def test_a_standard_of_half_a_scale_is_stricter():
    """ICAO Doc 8168 Vol I, as quoted of FAA-H-8261-1, p. 4-6: within half of full scale, 5° of a VOR's 10°."""
    track = replace(NOISY, altitude_ft=LEVEL_FT).of(entered("direct", 2).flown)
    procedure = off_course(6.5, "at the fix").at()
    verdicts = {}
    for standard in ("faa-instrument", "icao-ops"):
        (hold,) = debrief(track, procedure, standard).holds
        verdicts[standard] = by_lap(hold.approaches[0])[2].verdict
    assert verdicts == {"faa-instrument": "inside", "icao-ops": "outside"}

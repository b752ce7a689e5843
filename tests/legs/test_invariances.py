"""What must not change when a flight is moved, turned, mirrored or shifted in time, and what must change with it."""

from dataclasses import replace
from typing import Any

import pytest
from found import NOISY, found
from patterns import Approach, Pattern, fly_approach
from synthetic import START_S, Chart, Log, Place

from analyzer import debrief
from analyzer.library.debrief import Debrief

PATTERNS = [
    Pattern(side=1, arrival_deg=-70.0, wind=(150.0, 22.0), roll_deg_s=5.0, intercept=True),
    Pattern(side=-1, shape="80/260", wind=(300.0, 12.0), roll_deg_s=5.0, intercept=True, speed_kt=150.0, bank_deg=24.0),
    Pattern(side=1, leg_s=45.0, speed_kt=90.0, roll_deg_s=5.0, wind=(30.0, 18.0), intercept=True),
]
FLOORS = {"arrival": 3000.0, "outbound": 2500.0, "reversal": 2500.0, "inbound": 1800.0, "final": 700.0}
PLACES = [
    Place(latitude_deg=-44.0, longitude_deg=-30.0, outbound_true_deg=315.0, variation_deg=25.0),  # offset leg on 000°,
    Place(latitude_deg=0.02, longitude_deg=179.98, outbound_true_deg=1.0, variation_deg=-14.5),
    Place(latitude_deg=68.0, longitude_deg=-5.0, outbound_true_deg=179.5, variation_deg=0.0),
]


def log_of(approach: Approach) -> Log:
    """Down to 2,550 ft after the outbound passage, to 1,900 ft once inbound, and on down after the fix."""
    out, back, past = approach.outbound_passage_s, approach.rolled_out_s, approach.inbound_passage_s
    heights = [
        (0, 3100),
        (out + 5, 3100),
        (out + 60, 2550),
        (back + 20, 2550),
        (back + 90, 1900),
        (past, 1900),
        (past + 90, 900),
    ]
    return replace(NOISY, altitude_ft=[(float(t), float(feet)) for t, feet in heights])


def flights(pattern: Pattern, place: Place, log: Log | None = None) -> Debrief:
    approach = fly_approach(pattern)
    chart = Chart(side="right" if pattern.side > 0 else "left", floors_ft=FLOORS)
    return debrief((log or log_of(approach)).of(approach.flown, place), chart.at(place))


def parts(result: Debrief, start_s: float = START_S) -> list[tuple[Any, ...]]:
    reversal = result.approaches[0].reversal
    return [(part.name, part.turn, part.start_s - start_s) for part in reversal.parts]


def verdicts(result: Debrief) -> list[tuple[Any, ...]]:
    """Every check with its leg and verdict; of a speed that hardly varies, the leg where it was greatest says nothing."""
    findings = result.approaches[0].findings
    return [(f.check, f.leg if f.check != "speed_limit" else None, f.verdict) for f in findings]


def assert_same_parts(mine: list[tuple[Any, ...]], other: list[tuple[Any, ...]], within_s: float) -> None:
    assert [part[:2] for part in mine] == [part[:2] for part in other]
    assert [part[2] for part in mine] == pytest.approx([part[2] for part in other], abs=within_s)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("pattern", PATTERNS)
def test_another_place_course_and_declination_change_nothing(pattern, place):
    here, there = flights(pattern, Place()), flights(pattern, place)
    assert_same_parts(parts(here), parts(there), within_s=0.5)
    assert verdicts(here) == verdicts(there)
    mine, other = here.approaches[0].findings, there.approaches[0].findings
    for before, after in zip(mine, other, strict=True):
        if isinstance(before.measured, float) and before.sd:
            assert after.measured == pytest.approx(before.measured, abs=max(1.0 * before.sd, 0.05)), before.check


@pytest.mark.parametrize("pattern", PATTERNS)
def test_a_mirror_swaps_left_and_right(pattern):
    approach = fly_approach(pattern)
    log = log_of(approach)
    mirrored = debrief(
        log.of(approach.flown.mirrored()), Chart(side="left" if pattern.side > 0 else "right", floors_ft=FLOORS).at()
    )
    straight = flights(pattern, Place())
    assert_same_parts(
        [(name, turn, time) for name, turn, time in parts(straight)],
        [(name, None if turn is None else -turn, time) for name, turn, time in parts(mirrored)],
        within_s=0.5,
    )
    assert mirrored.approaches[0].reversal.side == -pattern.side
    assert verdicts(mirrored) == verdicts(straight)


def test_the_wrong_way_round_is_told():
    approach = fly_approach(PATTERNS[0])
    result = debrief(log_of(approach).of(approach.flown), Chart(side="left", floors_ft=FLOORS).at())
    side = [finding for finding in result.approaches[0].findings if finding.check == "reversal_side"]
    assert [finding.verdict for finding in side] == ["outside"]


@pytest.mark.parametrize("shift_s", [86_399.5, -1_000_000.0])
def test_another_day_changes_nothing(shift_s):
    pattern = PATTERNS[0]
    log = log_of(fly_approach(pattern))
    now, then = flights(pattern, Place()), flights(pattern, Place(), replace(log, start_s=START_S + shift_s))
    assert_same_parts(parts(now), parts(then, START_S + shift_s), within_s=0.01)
    assert verdicts(now) == verdicts(then)


@pytest.mark.parametrize("lead_s", [0.3, 60.0])
def test_when_the_log_was_begun_changes_no_part(lead_s):
    pattern = replace(PATTERNS[0], arrival_s=90.0)
    longer = replace(pattern, arrival_s=90.0 + lead_s)
    here, there = (found(fly_approach(one).flown)[0] for one in (pattern, longer))
    assert [part.name for part in here.parts] == [part.name for part in there.parts]
    for mine, other in zip(here.parts[1:], there.parts[1:], strict=True):
        assert other.start_s - lead_s == pytest.approx(mine.start_s, abs=0.7)

"""The flights that go beyond the reversal: a missed approach with its hold, a hold in lieu, and the landing."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from autopilot import NM
from pilot import (
    PAD_FT,
    Chart,
    Ordered,
    Plan,
    Scenario,
    Sight,
    Steer,
    Until,
    bank_for,
    geodesic,
    hold,
    intercept,
    lasted,
    past,
    place_of,
    procedure_turn,
    read_chart,
    settled,
    track,
    turn,
    turned,
    wrap,
)

__all__ = ["InLieu", "MissedAndHold"]

CLIMB_FPM = 600.0
MISSED_BEFORE_NM = 0.1  # before the missed approach point the climb is ordered
MISSED_PAD_FT = 52.0  # above the altitude of the missed approach, which is a minimum of the hold and to be kept within 100 ft
PATH_FT_PER_NM = 318.0  # 3°
AIM_BELOW_RUNWAY_FT = 30.0  # so that the flare, which is the autopilot's levelling off, ends on the runway
WHEELS_FT = 5.0  # of the receiver above the ground, with the wheels on it
# A hold's outbound leg makes up for the drift of the two turns, of a minute each, too: thrice its own at most (common practice,
# no source).
TURNS_S, MOST_DRIFTS = 120.0, 3.0
TURNING_EARLY_DEG = 10.0  # before the fix comes ahead
CUT_DEG = 40.0  # at which the inbound course is intercepted out of a parallel entry


@dataclass(frozen=True)
class MissedAndHold(Scenario):
    """An approach by a 45/180 to a missed approach, a hold entered directly, and the approach again, to the runway."""

    chart = read_chart("wendle_island_vorz24.toml")
    longest_s = 4200.0

    hold_outbound_s: tuple[float, ...]  # of each lap, from the roll-out

    def plans(self) -> tuple[Plan, ...]:
        """The parts to be flown, in order."""
        variation, cruise, bank = self.chart["fix"]["variation_deg_east"], self.airspeed_kt, self.turn_bank_deg
        arrival, held = self.arrival_course_deg + variation, self.chart["holds"][0]["inbound_course_deg"] + variation
        inbound = self.chart["reversal"]["inbound_course_deg"] + variation
        missed_nm = self.chart["fixes"][1]["distance_nm"]
        missed, slow = self.chart["missed_approach"], self.final_airspeed_kt
        high, held_ft = self.chart["altitudes"]["arrival_ft"] + PAD_FT, missed["altitude_ft"] + MISSED_PAD_FT
        around = turn(bank if missed["turn"] == "right" else -bank)
        return (
            Plan("arrival", track(arrival, bank), past(arrival, 0.0), high, cruise),
            *procedure_turn(self, arrival),
            *self._down(inbound, missed_nm - MISSED_BEFORE_NM),
            Plan("missed_climb", track(inbound, bank), climbed(missed["climb_ft"] + PAD_FT), held_ft, slow, CLIMB_FPM),
            Plan("missed_turn", around, fix_ahead, held_ft, slow, CLIMB_FPM),
            Plan("missed_direct", to_fix(bank), abeam, held_ft, slow, CLIMB_FPM),
            *self._laps(held, held_ft),
            *procedure_turn(self, held),
            *self._down(inbound, _visual_nm(self.chart)),
            _landing(self, inbound, bank),
        )

    def _down(self, inbound: float, until_nm: float) -> tuple[Plan, ...]:
        """From established inbound down to the minimum, and along it to a distance beyond the fix."""
        low, step, minimum = (
            feet + PAD_FT
            for feet in (
                self.chart["altitudes"]["inbound_ft"],
                self.chart["fixes"][0]["minimum_ft"],
                self.chart["minimum"]["altitude_ft"],
            )
        )
        steer, slow = track(inbound, self.turn_bank_deg), self.final_airspeed_kt
        return (
            Plan("inbound", steer, past(inbound, 0.0), low, slow),
            Plan("step_down", steer, past(inbound, self.chart["fixes"][0]["distance_nm"]), step, slow),
            Plan("final", steer, past(inbound, until_nm), minimum, slow),
        )

    def _laps(self, held: float, altitude_ft: float) -> Iterator[Plan]:
        """The laps of a hold of right turns whose inbound course, true, is `held`; the first begins with a direct entry."""
        bank, cruise = self.turn_bank_deg, self.airspeed_kt
        for seconds in self.hold_outbound_s:
            drifts = min(MOST_DRIFTS, 1.0 + TURNS_S / seconds)
            outbound = held + 180.0 - drifts * _drift_deg(self, held + 180.0)
            yield Plan("hold_entry_turn", turn(bank), turned(outbound, 1.0), altitude_ft, cruise)
            yield Plan("hold_outbound", hold(outbound, bank), lasted(seconds), altitude_ft, cruise)
            yield Plan("hold_turn_inbound", turn(bank), turned(held, 1.0), altitude_ft, cruise)
            yield Plan("hold_inbound", track(held, bank), past(held, 0.0), altitude_ft, cruise)


@dataclass(frozen=True)
class InLieu(Ordered):
    """An approach by a hold in lieu of a procedure turn, entered parallel, to the runway."""

    chart = read_chart("wendle_island_rnav06.toml")
    longest_s = 1800.0

    turn_bank_deg: float
    below_step_down_ft: float  # below the minimum of the step-down fix, before it

    def plans(self) -> tuple[Plan, ...]:
        """The parts to be flown, in order."""
        variation, bank, cruise = self.chart["fix"]["variation_deg_east"], self.turn_bank_deg, self.airspeed_kt
        arrival, inbound = self.arrival_course_deg + variation, self.chart["reversal"]["inbound_course_deg"] + variation
        outbound = inbound + 180.0
        along = hold(outbound - _drift_deg(self, outbound), bank)
        floors, (final_fix, step_down, _), slow = self.chart["altitudes"], self.chart["fixes"], self.final_airspeed_kt
        high, low = floors["arrival_ft"] + PAD_FT, floors["inbound_ft"] + PAD_FT
        minimum = self.chart["minimum"]["altitude_ft"] + PAD_FT
        steer, cut = track(inbound, bank), inbound - CUT_DEG
        plans = (
            Plan("arrival", track(arrival, bank), past(arrival, 0.0), high, cruise),
            Plan("hold_entry_turn", turn(-bank), turned(outbound, -1.0), high, cruise),
            Plan("hold_outbound", along, past(outbound, self.chart["reversal"]["leg_length_nm"]), high, cruise),
            Plan("hold_turn_inbound", turn(-bank), turned(cut, -1.0), high, cruise),
            Plan("intercept", intercept(cut, inbound, bank), settled(inbound), high, cruise),
            Plan("hold_inbound", steer, past(inbound, 0.0), low, slow),
            Plan("inbound", steer, past(inbound, final_fix["distance_nm"]), low, slow),
            Plan(
                "step_down",
                steer,
                past(inbound, step_down["distance_nm"]),
                step_down["minimum_ft"] - self.below_step_down_ft,
                slow,
            ),
            Plan("final", steer, past(inbound, _visual_nm(self.chart)), minimum, slow),
            _landing(self, inbound, bank),
        )
        fix = place_of(self.chart["fix"])
        return tuple(replace(plan, fix=fix) for plan in plans)


def climbed(altitude_ft: float) -> Until:
    """Whether the aircraft is as high as that."""
    return lambda sight: sight.state.altitude_ft >= altitude_ft


def landed(altitude_ft: float) -> Until:
    """Whether the aircraft is as low as that."""
    return lambda sight: sight.state.altitude_ft <= altitude_ft


def to_fix(limit_deg: float) -> Steer:
    """Fly to the fix, whatever the wind does."""

    def steer(sight: Sight) -> float:
        if sight.distance_nm < 0.2:
            return 0.0  # so near the bearing says little
        return bank_for(_fix_off_track(sight) + sight.wander_deg, sight.state.ground_speed_kt, limit_deg)

    return steer


def fix_ahead(sight: Sight) -> bool:
    """Whether the fix lies about ahead."""
    return abs(_fix_off_track(sight)) < TURNING_EARLY_DEG


def abeam(sight: Sight) -> bool:
    """Whether the fix is abeam or behind."""
    return abs(_fix_off_track(sight)) >= 90.0


def _fix_off_track(sight: Sight) -> float:
    return wrap(sight.bearing_deg + sight.convergence_deg + 180.0 - sight.state.track_deg)


def _threshold_nm(chart: Chart) -> float:
    runway, fix = chart["runway"], place_of(chart["fix"])
    return geodesic(fix, runway["threshold_latitude_deg"], runway["threshold_longitude_deg"])["s12"] / NM


def _visual_nm(chart: Chart) -> float:
    """Distance beyond the fix from which 3° lead from the minimum to the threshold."""
    height_ft = chart["minimum"]["altitude_ft"] + PAD_FT - chart["runway"]["threshold_elevation_ft"]
    return _threshold_nm(chart) - height_ft / PATH_FT_PER_NM


def _landing(scenario: Ordered, inbound: float, bank_deg: float) -> Plan:
    """From the minimum down to the runway."""
    runway_ft = scenario.chart["runway"]["threshold_elevation_ft"]
    airspeed_kt = scenario.final_airspeed_kt
    headwind_kt = scenario.wind_kt * math.cos(math.radians(scenario.wind_from_deg_true - inbound))
    path_fpm = PATH_FT_PER_NM * (airspeed_kt - headwind_kt) / 60.0
    down, aim_ft = landed(runway_ft + WHEELS_FT), runway_ft - AIM_BELOW_RUNWAY_FT
    return Plan("landing", track(inbound, bank_deg), down, aim_ft, airspeed_kt, path_fpm)


def _drift_deg(scenario: Ordered, course_deg: float) -> float:
    """How far the wind drives the aircraft to the right, off a heading that is flown along a course, true."""
    from_right = math.sin(math.radians(scenario.wind_from_deg_true - course_deg)) * scenario.wind_kt
    return -math.degrees(math.asin(from_right / scenario.airspeed_kt))

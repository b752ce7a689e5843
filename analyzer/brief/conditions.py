"""Conditions of a brief: speeds, wind, turns, the air of the day, and the choices that the chart leaves to the pilot."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence

import numpy as np

from analyzer.errors import BriefError
from analyzer.frozen import dataclass
from analyzer.physics import atmosphere, turning, wind_triangle
from analyzer.physics.units import DEG, FPM, FT, KT, NM, bearing_text
from analyzer.procedure.charted import Charted
from analyzer.track.air import STANDARD_AIR, Air
from analyzer.vocabulary import FLOWN_LEGS, LEGS, Leg

__all__ = ["GREATEST_BANK_RAD", "LEAST_OUTBOUND_M", "Aloft", "Conditions", "LegAir", "asked_for", "parse_speeds", "parse_winds"]

GREATEST_BANK_RAD = 30.0 * DEG  # FAA-H-8083-15B ch. 7, Procedure Turn
LEAST_OUTBOUND_M = 0.5 * NM
_SPEEDS_KT = (30.0, 500.0)
_SPEED_OF: Mapping[Leg, Leg] = {"missed": "final", "hold": "outbound"}  # for a leg without a speed of its own


@dataclass(frozen=True)
class Aloft:
    """A wind at an altitude; None means at all altitudes."""

    altitude_m: float | None
    from_true_rad: float
    speed_mps: float


@dataclass(frozen=True)
class LegAir:
    """Altitude, true airspeed and wind of a leg, and the bank of its turns."""

    altitude_m: float
    true_airspeed_mps: float
    wind_from_rad: float
    wind_mps: float
    bank_rad: float

    @property
    def wind_north_east_mps(self) -> tuple[float, float]:
        """Velocity of the wind, north and east. [m/s]"""
        return -self.wind_mps * math.cos(self.wind_from_rad), -self.wind_mps * math.sin(self.wind_from_rad)

    @property
    def radius_m(self) -> float:
        """Radius of a turn in still air. [m]"""
        return float(turning.turn_radius(self.true_airspeed_mps, self.bank_rad))

    @property
    def rate_rad_s(self) -> float:
        """Rate of a turn. [rad/s]"""
        return float(turning.turn_rate(self.true_airspeed_mps, self.bank_rad))

    def hold_course(self, course_rad: float) -> tuple[float, float]:
        """Heading that holds a course, and ground speed on it. Raises `BriefError` if the wind is too strong. [rad, m/s]"""
        needed = wind_triangle.heading_needed(course_rad, self.true_airspeed_mps, self.wind_from_rad, self.wind_mps)
        heading, speed = float(needed.heading_rad), float(needed.ground_speed_mps)
        if not math.isfinite(heading):
            raise BriefError(
                f"no heading holds course {bearing_text(course_rad)} true: the wind of {self.wind_mps / KT:.0f} kt is too "
                f"strong for a true airspeed of {self.true_airspeed_mps / KT:.0f} kt; fly faster, or give less --wind"
            )
        return heading, speed


@dataclass(frozen=True)
class Conditions:
    """The conditions of a brief.

    Attributes
    ----------
    speeds_mps : mapping
        Speeds by leg; ``all`` is for legs without one.
    speeds_are_true : bool
        Whether they are true airspeeds; otherwise indicated.
    winds : tuple of Aloft
        Winds, by altitude if there are several.
    air : Air
        Altimeter setting and temperature.
    rate_rad_s : float
        Rate of the turns, up to 30 degrees of bank.
    bank_rad : float, optional
        Bank of the turns, instead of a rate.
    shape : str, optional
        The shape to fly, where the chart leaves it free.
    outbound_m, outbound_s : float, optional
        Length or time of the outbound leg; if both are None, the brief chooses.
    keep_m : float
        Margin to keep to the distance limit.
    arrival_rad : float, optional
        True course on which the fix is reached.
    altitude_m : float, optional
        Altitude of legs without a charted one.
    climb_mps : float, optional
        Rate of climb in the missed approach.
    """

    speeds_mps: Mapping[str, float]
    speeds_are_true: bool = False
    winds: tuple[Aloft, ...] = ()
    air: Air = STANDARD_AIR
    rate_rad_s: float = turning.STANDARD_RATE_RADPS
    bank_rad: float | None = None
    shape: str | None = None
    outbound_m: float | None = None
    outbound_s: float | None = None
    keep_m: float = 1.0 * NM
    arrival_rad: float | None = None
    altitude_m: float | None = None
    climb_mps: float | None = None

    def __post_init__(self) -> None:
        if "all" not in self.speeds_mps and not set(LEGS[1:]) <= set(self.speeds_mps):
            raise BriefError("no speed: give --speed KT, or one for each leg, --speed outbound=KT")

    def leg(self, charted: Charted, leg: Leg) -> LegAir:
        """The air of a leg, at its charted minimum."""
        return self.aloft(charted, leg, self._altitude(charted, leg))

    def aloft(self, charted: Charted, leg: Leg, altitude_m: float) -> LegAir:
        """The air of a leg at an altitude."""
        pressure_altitude = altitude_m + self.air.above_indicated_m
        elevation = charted.runway.elevation_m if charted.runway is not None else charted.fix_elevation_m
        warmer = self.air.warmer_than_standard_k(elevation)
        if not atmosphere.LOWEST_M < pressure_altitude < atmosphere.HIGHEST_M:
            raise BriefError(f"{altitude_m / FT:,.0f} ft on the {leg} leg with this QNH lies beyond the standard atmosphere")
        speed = self._speed(leg)
        airspeed = speed if self.speeds_are_true else float(atmosphere.true_airspeed(speed, pressure_altitude, warmer))
        if not math.isfinite(airspeed):
            raise BriefError(
                f"{speed / KT:.0f} kt indicated at {altitude_m / FT:,.0f} ft is beyond the speed of sound; give a lower speed"
            )
        from_rad, wind = self._wind(altitude_m)
        bank = self.bank_rad
        if bank is None:
            bank = min(float(turning.bank_for_rate(airspeed, self.rate_rad_s)), GREATEST_BANK_RAD)
        return LegAir(altitude_m, airspeed, from_rad, wind, bank)

    def indicated_mps(self, charted: Charted, leg: Leg) -> float:
        """Indicated airspeed on a leg: as given, or what a true airspeed indicates at the leg's altitude."""
        if not self.speeds_are_true:
            return self._speed(leg)
        air = self.leg(charted, leg)
        elevation = charted.runway.elevation_m if charted.runway is not None else charted.fix_elevation_m
        warmer = self.air.warmer_than_standard_k(elevation)
        pressure_altitude = air.altitude_m + self.air.above_indicated_m
        return float(atmosphere.calibrated_airspeed(air.true_airspeed_mps, pressure_altitude, warmer))

    def _speed(self, leg: Leg) -> float:
        """Speed of a leg; a missed approach or hold without its own uses that of the final or outbound leg. [m/s]"""
        speed = self.speeds_mps.get(leg, self.speeds_mps.get("all"))
        return speed if speed is not None else self.speeds_mps.get(_SPEED_OF.get(leg, leg), math.nan)

    def _altitude(self, charted: Charted, leg: Leg) -> float:
        """Minimum of the leg; without one, that of the last leg before or the first after that has one. [m]"""
        levels = charted.levels_m
        place = FLOWN_LEGS.index(leg)
        before = [levels[name] for name in FLOWN_LEGS[: place + 1] if name in levels]
        after = [levels[name] for name in FLOWN_LEGS[place:] if name in levels]
        if leg in levels:
            return levels[leg]
        if self.altitude_m is not None:
            return self.altitude_m
        if not before and not after:
            raise BriefError("the procedure charts no altitude: give --altitude FT")
        return before[-1] if before else after[0]

    def _wind(self, altitude_m: float) -> tuple[float, float]:
        """Wind at an altitude, interpolated as a vector between those given; beyond them the nearest. [rad, m/s]"""
        if not self.winds:
            return 0.0, 0.0
        known = sorted(self.winds, key=lambda wind: wind.altitude_m or 0.0)
        heights = [wind.altitude_m or 0.0 for wind in known]
        north = float(np.interp(altitude_m, heights, [w.speed_mps * math.cos(w.from_true_rad) for w in known]))
        east = float(np.interp(altitude_m, heights, [w.speed_mps * math.sin(w.from_true_rad) for w in known]))
        return math.atan2(east, north), math.hypot(north, east)


def parse_speeds(texts: Sequence[str], option: str = "--speed") -> dict[str, float]:
    """Parse speeds such as ``110`` or ``outbound=120`` into speeds by leg. [m/s] Raises `BriefError`."""
    speeds: dict[str, float] = {}
    for text in texts:
        leg, equals, value = text.rpartition("=")
        leg = leg.strip() if equals else "all"
        if leg != "all" and leg not in FLOWN_LEGS:
            raise BriefError(f"{option} {text}: {leg!r} is not a leg; legs are {', '.join(FLOWN_LEGS)}")
        try:
            speed = float(value)
        except ValueError:
            speed = math.nan
        if not _SPEEDS_KT[0] <= speed <= _SPEEDS_KT[1]:
            raise BriefError(f"{option} {text}: must be knots from {_SPEEDS_KT[0]:.0f} to {_SPEEDS_KT[1]:.0f}, such as 110")
        speeds[leg] = speed * KT
    return speeds


def parse_winds(texts: Sequence[str]) -> tuple[Aloft, ...]:
    """Parse winds such as ``240/18`` (degrees true, knots) or ``240/18@3000`` (at an altitude in feet). Raises `BriefError`."""
    winds = []
    for text in texts:
        match = re.fullmatch(r"\s*(\d{1,3}(?:\.\d+)?)/(\d{1,3}(?:\.\d+)?)(?:@(-?\d{1,5}))?\s*", text)
        if match is None or float(match[1]) > 360.0:
            raise BriefError(
                f"--wind {text}: must be degrees true and knots, such as 240/18, or 240/18@3000 at an altitude in feet"
            )
        altitude = float(match[3]) * FT if match[3] is not None else None
        winds.append(Aloft(altitude, float(match[1]) * DEG, float(match[2]) * KT))
    heights = [wind.altitude_m for wind in winds]
    if len(winds) > 1 and (None in heights or len(set(heights)) < len(heights)):
        raise BriefError("--wind: where there are several, each needs its own altitude, such as 240/18@3000")
    return tuple(winds)


def asked_for(
    charted: Charted,
    *,
    speeds: Sequence[str],
    true_speeds: Sequence[str],
    winds: Sequence[str],
    bank_deg: float | None,
    rate_deg_s: float,
    shape: str | None,
    outbound: str | None,
    keep_nm: float,
    arrival_deg: float | None,
    altitude_ft: float | None,
    air: tuple[float | None, float | None],
    climb_fpm: float | None = None,
) -> Conditions:
    """Conditions from the options of the command line, in the units pilots use; the arrival course is magnetic.

    Raises
    ------
    BriefError
        A value is invalid; the message names its option.
    """
    if not speeds and not true_speeds:
        raise BriefError("no speed given: add the indicated airspeed, like --speed 110, or the true one, --true-speed 110")
    if speeds and true_speeds:
        raise BriefError("give --speed KT, indicated, or --true-speed KT, and not both")
    for option, value, low, high in (
        ("--bank", bank_deg, 3.0, 45.0),
        ("--rate", rate_deg_s, 0.3, 6.0),
        ("--keep", keep_nm, 0.0, 10.0),
        ("--arrival", arrival_deg, 0.0, 360.0),
        ("--altitude", altitude_ft, -1500.0, 60_000.0),
        ("--climb", climb_fpm, 50.0, 6000.0),
    ):
        if value is not None and not low <= value <= high:
            raise BriefError(f"{option} {value:,.12g}: must be from {low:,g} to {high:,g}")
    metres, seconds = _outbound(outbound)
    return Conditions(
        speeds_mps=parse_speeds(speeds) if speeds else parse_speeds(true_speeds, "--true-speed"),
        speeds_are_true=bool(true_speeds),
        winds=parse_winds(winds),
        air=Air.given(*air),
        rate_rad_s=rate_deg_s * DEG,
        bank_rad=bank_deg * DEG if bank_deg is not None else None,
        shape=shape,
        outbound_m=metres,
        outbound_s=seconds,
        keep_m=keep_nm * NM,
        arrival_rad=arrival_deg * DEG + charted.variation.east_rad if arrival_deg is not None else None,
        altitude_m=altitude_ft * FT if altitude_ft is not None else None,
        climb_mps=climb_fpm * FPM if climb_fpm is not None else None,
    )


def _outbound(text: str | None) -> tuple[float | None, float | None]:
    """Parse the length of an outbound leg, in metres or in seconds."""
    if text is None:
        return None, None
    match = re.fullmatch(r"\s*(\d{1,3}(?:\.\d+)?)\s*(s|nm)?\s*", text.lower())
    value = float(match[1]) if match is not None else math.nan
    timed = match is not None and match[2] == "s"
    if not (10.0 <= value <= 600.0 if timed else LEAST_OUTBOUND_M / NM <= value <= 30.0):
        raise BriefError(
            f"--outbound {text}: must be nautical miles from {LEAST_OUTBOUND_M / NM:g} to 30, such as 4.5, or seconds from 10 "
            "to 600, as 120s"
        )
    return (None, value) if timed else (value * NM, None)

"""What a flight did differently from its brief, by how much, and how well that is known.

Each quantity has its error, and a reason instead of a value where the log cannot tell it. Values are in the units pilots use.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Literal, TypeAlias

from analyzer.checks.figures import Figures, PartFigures, mean_heading
from analyzer.checks.finding import GAP, NO_ALTITUDE
from analyzer.checks.outbound_legs import TIMING_SD_S
from analyzer.checks.phrases import height_unit
from analyzer.frozen import dataclass
from analyzer.motion.knots import LONG_HOLE_S
from analyzer.motion.motion import Motion
from analyzer.motion.uncertainty import mean_bank_sd
from analyzer.physics.units import DEG, FT, KT, NM
from analyzer.vocabulary import PartName

if TYPE_CHECKING:
    from analyzer.brief.brief_file import Card, CardPart

__all__ = ["NOT_FLOWN", "Difference", "PartPair", "Quantity", "differences", "reversal_wind"]

Quantity: TypeAlias = Literal[
    "greatest distance", "room to the limit", "wind from", "wind speed", "heading", "time", "time from the fix",
    "ground speed", "bank", "end from the fix", "altitude at the end",
]  # fmt: skip

NOT_FLOWN = "not flown"
_HEADING_SD_RAD = 1.0 * DEG  # of a mean heading, in addition to the error of the wind: turbulence and compass errors
# As flown, a turn back ends where the inbound course is followed within 15 degrees, before its roll-out is complete: at 3
# degrees a second with five seconds of roll up to ten seconds early. As briefed it ends with the wings level.
_ENDS_EARLY_SD_S = 5.0
_ENDS_OTHERWISE: frozenset[PartName] = frozenset({"reversal_turn", "intercept", "inbound"})
_NOT_COMPARED: frozenset[PartName] = frozenset({"arrival"})
_CLEAR_SD = 2.0
_AT_THE_END_S = 1.0
_LEAST_WIND_KT = 0.5  # a lighter wind has no direction


@dataclass(frozen=True)
class PartPair:
    """A part as briefed and as flown, None where it was only one of the two.

    `flown_end_distance_m` is the distance from the fix at which the part flown ended.
    """

    part: PartName
    briefed: CardPart | None
    flown: PartFigures | None
    flown_end_distance_m: float | None


@dataclass(frozen=True)
class Difference:
    """A quantity as briefed and as flown.

    Attributes
    ----------
    part : PartName, optional
        The part that it is of; None for the whole reversal.
    briefed, flown : float, optional
        The values in `unit`, angles in [0, 360); None where there is none.
    sd : float, optional
        Standard deviation of the value flown.
    reason : str
        Why there is no value of the flight; empty where there is one.
    """

    part: PartName | None
    quantity: Quantity
    unit: str
    briefed: float | None
    flown: float | None
    sd: float | None = None
    reason: str = ""

    @property
    def more(self) -> float | None:
        """How much more was flown than briefed, of angles clockwise and at most half a circle; None where that is unknown."""
        if self.briefed is None or self.flown is None:
            return None
        apart = self.flown - self.briefed
        return math.remainder(apart, 360.0) if self.unit in ("° mag", "° true") else apart

    @property
    def clear(self) -> bool:
        """Whether the difference is more than two standard deviations."""
        return self.more is not None and self.sd is not None and abs(self.more) > _CLEAR_SD * self.sd


def differences(card: Card, motion: Motion, figures: Figures, pairs: Sequence[PartPair]) -> tuple[Difference, ...]:
    """The differences of one approach: of the whole, then part by part as flown."""
    parts: list[Difference] = []
    before_s, ended = 0.0, _ended(motion, figures, pairs)
    for pair in pairs:
        if pair.part == "outbound_turn" and pair.flown is not None and pair.briefed is None:
            before_s = pair.flown.part.duration_s  # briefed without an arrival, the outbound leg begins at the fix
        elif pair.part not in _NOT_COMPARED:
            last = pair.flown is not None and pair.flown is figures.parts[-1]
            why = ended if last or pair.part == "final" else ""
            parts += _of_part(motion, figures, pair, before_s if pair.part == "outbound" else 0.0, why)
    return (*_distances(card, motion, figures), *_winds(card, figures), *parts)


def _ended(motion: Motion, figures: Figures, pairs: Sequence[PartPair]) -> str:
    """Why the last part flown that was briefed ends elsewhere than briefed; empty where it does not."""
    names = [pair.part for pair in pairs if pair.flown is not None]
    missed = next((pair for pair in pairs if pair.part == "missed"), None)
    if "missed" in names and missed is not None and missed.briefed is None:
        return "a landing was briefed, and a missed approach flown"
    ends_s = figures.parts[-1].part.end_s if figures.parts else -math.inf
    return "the log ends in it" if ends_s > float(motion.states.time_s[-1]) - _AT_THE_END_S else ""


def reversal_wind(card: Card) -> tuple[float, float]:
    """The briefed wind in the reversal: direction it comes from [° true], speed [kt]."""
    part = next((part for part in card.parts if part.leg == "reversal"), card.parts[0])
    return part.wind_from_deg_true, part.wind_kt


def _distances(card: Card, motion: Motion, figures: Figures) -> Iterator[Difference]:
    farthest, limit = figures.farthest_from_limit, motion.charted.limit_m
    reached = farthest.distance_m / NM if farthest is not None else None
    sd = farthest.stated_sd_m / NM if farthest is not None else None
    reason = "no reversal was flown to its end" if farthest is None else ""
    yield Difference(None, "greatest distance", "NM", card.farthest_nm, reached, sd, reason)
    if limit is not None:
        room = limit / NM - reached if reached is not None else None
        yield Difference(None, "room to the limit", "NM", limit / NM - card.farthest_nm, room, sd, reason)


def _winds(card: Card, figures: Figures) -> Iterator[Difference]:
    (from_deg, speed_kt), wind = reversal_wind(card), figures.wind
    briefed_from = from_deg if speed_kt >= _LEAST_WIND_KT else None
    if wind is None:
        reason = f"no wind could be estimated: {figures.no_wind}"
        yield Difference(None, "wind from", "° true", briefed_from, None, None, reason)
        yield Difference(None, "wind speed", "kt", speed_kt, None, None, reason)
        return
    if wind.speed_mps > _CLEAR_SD * wind.sd_mps:
        sd = math.atan2(wind.sd_mps, wind.speed_mps) / DEG
        yield Difference(None, "wind from", "° true", briefed_from, wind.from_true_rad / DEG, sd)
    else:
        reason = f"a wind of {wind.speed_mps / KT:.0f} kt, known to {wind.sd_mps / KT:.0f} kt, has no certain direction"
        yield Difference(None, "wind from", "° true", briefed_from, None, None, reason)
    yield Difference(None, "wind speed", "kt", speed_kt, wind.speed_mps / KT, wind.sd_mps / KT)


def _of_part(motion: Motion, figures: Figures, pair: PartPair, before_s: float, ended: str) -> Iterator[Difference]:
    """The differences of a part.

    `before_s` is the time of a turn before it that was not briefed; `ended` says why it ends elsewhere than briefed.
    """
    name, briefed, flown, end_m = pair.part, pair.briefed, pair.flown, pair.flown_end_distance_m
    if briefed is None or flown is None:
        if briefed is not None:
            yield Difference(name, "time", "s", briefed.duration_s, None, None, NOT_FLOWN)
        elif flown is not None:
            yield Difference(name, "time", "s", None, flown.part.duration_s, TIMING_SD_S)
        return
    if flown.part.turn is None and briefed.bank_deg is None:
        yield _heading(motion, figures, briefed, flown)
    yield _time(motion, briefed, flown, before_s, ended)
    if flown.part.turn is None and briefed.bank_deg is None:
        yield _ground_speed(motion, briefed, flown)
        if end_m is not None and name not in _ENDS_OTHERWISE and briefed.leg != "final":
            yield _end(motion, briefed, flown, end_m)
    elif briefed.bank_deg is not None:
        yield _bank(motion, briefed, flown)
    if briefed.altitude_end_ft is not None:
        yield _altitude(motion, briefed, flown, ended)


def _hidden(motion: Motion, *instants: float) -> str:
    """A reason where the log has a hole about an instant; else empty."""
    return GAP if any(motion.holes_between(at - 1.0, at + 1.0, LONG_HOLE_S) for at in instants) else ""


def _heading(motion: Motion, figures: Figures, briefed: CardPart, flown: PartFigures) -> Difference:
    """The mean heading of a straight part: of the motion through the air, which only a wind tells from the track."""
    part, wind = flown.part, figures.wind
    gap = GAP if motion.holes_between(part.start_s, part.end_s, LONG_HOLE_S) else ""
    heading = mean_heading(motion, part) if wind is not None and not gap else None
    if wind is None or heading is None:
        reason = gap or (f"no wind could be estimated: {figures.no_wind}" if wind is None else "the leg is too short")
        return Difference(part.name, "heading", "° mag", briefed.heading_deg_magnetic, None, None, reason)
    airspeed = float(motion.states.between(part.start_s, part.end_s).true_airspeed_mps.mean())
    magnetic = (heading - motion.charted.variation.east_rad) / DEG % 360.0
    sd = math.hypot(_HEADING_SD_RAD, wind.sd_mps / airspeed) / DEG
    return Difference(part.name, "heading", "° mag", briefed.heading_deg_magnetic, magnetic, sd)


def _time(motion: Motion, briefed: CardPart, flown: PartFigures, before_s: float, ended: str) -> Difference:
    part = flown.part
    name: Quantity = "time from the fix" if before_s else "time"
    sd = math.hypot(TIMING_SD_S, _ENDS_EARLY_SD_S if part.name in _ENDS_OTHERWISE else 0.0)
    reason = ended or _hidden(motion, part.start_s - before_s, part.end_s)
    return Difference(part.name, name, "s", briefed.duration_s, None if reason else before_s + part.duration_s, sd, reason)


def _ground_speed(motion: Motion, briefed: CardPart, flown: PartFigures) -> Difference:
    """The mean ground speed, from the places at the two ends."""
    speed, seconds = flown.ground_speed_mps, flown.part.duration_s
    if not math.isfinite(speed):
        return Difference(flown.part.name, "ground speed", "kt", briefed.ground_speed_kt, None, None, GAP)
    sd = math.sqrt(2.0) * motion.position_sd_m / seconds / KT
    return Difference(flown.part.name, "ground speed", "kt", briefed.ground_speed_kt, speed / KT, sd)


def _end(motion: Motion, briefed: CardPart, flown: PartFigures, end_m: float) -> Difference:
    reason = _hidden(motion, flown.part.end_s)
    late_m = TIMING_SD_S * flown.ground_speed_mps if math.isfinite(flown.ground_speed_mps) else 0.0
    sd = math.hypot(motion.position_sd_m, late_m) / NM
    return Difference(
        flown.part.name, "end from the fix", "NM", briefed.end_distance_nm, None if reason else end_m / NM, sd, reason
    )


def _bank(motion: Motion, briefed: CardPart, flown: PartFigures) -> Difference:
    part, turn = flown.part, flown.turn
    if turn is None:
        reason = _hidden(motion, part.start_s, part.end_s) or "the log does not show the bank of this turn"
        return Difference(part.name, "bank", "°", briefed.bank_deg, None, None, reason)
    sd = mean_bank_sd(motion, motion.states.between(part.start_s, part.end_s))
    return Difference(part.name, "bank", "°", briefed.bank_deg, turn.bank_mean_rad / DEG, sd / DEG)


def _altitude(motion: Motion, briefed: CardPart, flown: PartFigures, ended: str) -> Difference:
    height = height_unit(motion.charted.altitude_unit)
    planned = (briefed.altitude_end_ft or 0.0) * FT / height.metres
    if ended or not math.isfinite(flown.altitude_end_m):
        return Difference(flown.part.name, "altitude at the end", height.name, planned, None, None, ended or NO_ALTITUDE)
    sd = motion.altitude_sd_m / height.metres
    return Difference(flown.part.name, "altitude at the end", height.name, planned, flown.altitude_end_m / height.metres, sd)

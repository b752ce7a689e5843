"""The figures that readers look for first: greatest distance, distance when established, bank, and wind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.checks.intercepts import is_past_fix
from analyzer.checks.phrases import part_words
from analyzer.frozen import dataclass
from analyzer.physics.units import DEG, KT, NM, bearing_text

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = ["KeyFigure", "key_figures"]


@dataclass(frozen=True)
class KeyFigure:
    """A figure: its name, its value in words, and a note next to it, empty without one."""

    name: str
    value: str
    beside: str = ""


def key_figures(debrief: DebriefData, approach: Approach) -> tuple[KeyFigure, ...]:
    """The key figures of one approach, as far as they are known."""
    figures, charted = approach.figures, debrief.motion.charted
    key = []
    if figures.farthest_from_limit is not None:
        reached = figures.farthest_from_limit.distance_m
        note = f"± {2.0 * figures.farthest_from_limit.sd_m / NM:.3f} NM"
        if charted.limit_m is not None:
            left = (charted.limit_m - reached) / NM
            note = f"limit {charted.limit_m / NM:g}, {abs(left):.2f} {'inside' if left >= 0.0 else 'outside'}"
        key.append(KeyFigure("Farthest", f"{reached / NM:.2f} NM", note))
    if figures.established_distance_m is not None:
        past = figures.overshoot_m
        note = f"{past / NM:.2f} NM past the course" if past is not None and past >= 0.05 * NM else ""
        settled = approach.reversal.first_established_s
        where = "past the fix" if settled is not None and is_past_fix(debrief.motion, settled) else "out"
        key.append(KeyFigure("Established inbound", f"{figures.established_distance_m / NM:.1f} NM {where}", note))
    turns = [part for part in figures.parts if part.turn is not None]
    if turns:
        steepest = max(turns, key=lambda part: part.turn.bank_peak_rad if part.turn is not None else 0.0)
        if steepest.turn is not None:
            name = part_words(steepest.part.name, steepest.part.lap)
            key.append(KeyFigure("Steepest bank", f"{steepest.turn.bank_peak_rad / DEG:.0f}°", f"in the {name}"))
    if figures.wind is not None:
        wind = figures.wind
        knots = wind.speed_mps / KT
        speed = f"{bearing_text(wind.from_true_rad)} true, {knots:.0f} kt" if round(knots) else "calm"
        key.append(
            KeyFigure("Wind", speed, f"± {wind.sd_mps / KT:.1f} kt, {wind.source}" if wind.sd_mps > 0.0 else wind.source)
        )
    return tuple(key)

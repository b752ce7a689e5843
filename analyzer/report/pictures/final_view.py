"""The final approach at its own scale: altitude by distance to the threshold, over the charted fixes, minimums and glide path.

The profile along the track squeezes five miles of final next to the reversal; this one begins before the final approach fix and
ends a little beyond the threshold. Flying goes to the right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analyzer.checks.below_minimum import final_course_rad
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion, States
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, FT, NM, BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted, Runway
from analyzer.report.pictures.bare_axes import add_bare_axes
from analyzer.report.pictures.frame import inches, number_ticks, put_frame, put_words
from analyzer.report.pictures.style import FAINT, INK, LEG_COLOUR, QUIET, WARN, with_breaks

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = ["draw_final", "final_view", "runway_of_final", "to_go_nm"]

_BEFORE_NM, _LEAST_NM, _MOST_NM, _BEYOND_NM = 1.0, 3.0, 14.0, 1.5
_RUNWAY_NM = 0.8  # drawn of a runway whose length is not charted
_TURNED_RAD = 60.0 * DEG  # beyond this off the final course, the flight no longer follows it
_ROOM = 0.14
_LETTER_PT = 5.0  # about what a letter of small type takes


def to_go_nm(motion: Motion, reversal: Reversal, states: States) -> FloatArray:
    """Distance to the threshold along the final course at each state, negative beyond it, NaN where no final is flown."""
    charted, found = motion.charted, np.full(len(states), np.nan)
    runway, span = charted.runway, _span(reversal)
    if runway is None or span is None:
        return found
    along = _along(charted, runway, states)
    flown = (states.time_s >= span[0]) & (states.time_s <= span[1]) & _on_course(charted, states)
    found[flown] = -along[flown]
    return found


def _span(reversal: Reversal) -> tuple[float, float] | None:
    """From being established to the end of the final leg, or of the missed approach; None without a final leg. [s]"""
    final = reversal.leg_spans("final")
    if not final:
        return None
    inbound = reversal.last_part("inbound")
    begin = min(final[0][0], inbound.start_s) if inbound is not None else final[0][0]
    return begin, reversal.parts[-1].end_s


def _on_course(charted: Charted, states: States) -> BoolArray:
    """Whether each state flies along the final course, up to where it is turned off for good."""
    off = np.abs(wrap(states.track_rad - final_course_rad(charted))) > _TURNED_RAD
    return ~off


def _along(charted: Charted, runway: Runway, states: States) -> FloatArray:
    """How far each state lies beyond the threshold along the final course. [NM]"""
    distance, bearing = geodesy.inverse_near(
        runway.latitude_rad, runway.longitude_rad, states.latitude_rad, states.longitude_rad
    )
    along: FloatArray = distance * np.cos(bearing - final_course_rad(charted)) / NM
    return along


def final_view(debrief: DebriefData, approach: Approach) -> Figure | None:
    """The final approach as a figure of its own; None where there is none to draw."""
    runway = runway_of_final(debrief, approach)
    if runway is None:
        return None
    figure = Figure(figsize=(8.4, 3.6))
    draw_final(add_bare_axes(figure, (0.105, 0.145, 0.88, 0.8), "final"), debrief, approach, runway)
    return figure


def runway_of_final(debrief: DebriefData, approach: Approach) -> Runway | None:
    """The runway that a final approach is drawn to; None without one, without a final leg, or without altitudes."""
    known = debrief.motion.has_altitude and bool(approach.reversal.leg_spans("final"))
    return debrief.motion.charted.runway if known else None


def draw_final(axes: Axes, debrief: DebriefData, approach: Approach, runway: Runway) -> None:
    """Draw the final approach into axes, for a flight whose log has altitudes and a final leg."""
    motion, reversal, charted = debrief.motion, approach.reversal, debrief.motion.charted
    begin, end = _span(reversal) or (0.0, 0.0)
    states = motion.states.between(begin, end)
    to_go, altitude = to_go_nm(motion, reversal, states), states.altitude_m / FT
    steps = _steps(charted, runway)
    left = _reach_nm(motion, reversal, runway, [step.to_go_nm for step in steps])
    axes.set_xlim(-left, _BEYOND_NM)
    seen = np.isfinite(to_go) & (to_go <= left) & (to_go >= -_BEYOND_NM)
    for part in reversal.parts:
        inside = seen & (states.time_s >= part.start_s) & (states.time_s <= part.end_s)
        if inside.any():
            line = with_breaks(states.time_s[inside], -to_go[inside], altitude[inside])
            axes.plot(*line, color=LEG_COLOUR[part.leg], lw=2.2, zorder=4)
    lowest, highest = _frame(charted, runway, altitude[seen & (states.time_s <= reversal.leg_spans("final")[-1][1])])
    _runway(axes, runway)
    _glide_path(axes, charted, runway, left)
    _minimums(axes, charted, steps, left, np.column_stack([-to_go[seen], altitude[seen]]))
    axes.set_ylim(lowest, highest)
    ticks = [(x, word.lstrip("−")) for x, word in number_ticks(*axes.get_xlim(), 14)]
    put_frame(axes, ticks, number_ticks(lowest, highest, 7))
    put_words(axes, left="altitude, ft MSL", below="distance to the threshold, NM; beyond it at the right")


def _place_nm(charted: Charted, runway: Runway, latitude_rad: float, longitude_rad: float) -> float:
    """How far a place lies beyond the threshold along the final course. [NM]"""
    distance, bearing = geodesy.inverse(runway.latitude_rad, runway.longitude_rad, latitude_rad, longitude_rad)
    return float(distance) * math.cos(float(bearing) - final_course_rad(charted)) / NM


def _reach_nm(motion: Motion, reversal: Reversal, runway: Runway, fixes_nm: list[float]) -> float:
    """How far before the threshold the picture begins: a mile before the final leg, or the first fix of it. [NM]"""
    latitude, longitude = motion.position_at(reversal.leg_spans("final")[0][0])
    begins = -_place_nm(motion.charted, runway, latitude, longitude)
    return min(max([begins, *fixes_nm, _LEAST_NM]) + _BEFORE_NM, _MOST_NM)


def _frame(charted: Charted, runway: Runway, final_ft: FloatArray) -> tuple[float, float]:
    """Lowest and highest altitude shown. [ft]"""
    floors = [fix.minimum_m / FT for fix in charted.fixes if fix.minimum_m is not None]
    low = min(runway.elevation_m / FT, float(np.nanmin(final_ft)) if len(final_ft) else math.inf)
    high = max([*floors, float(np.nanmax(final_ft)) if len(final_ft) else low + 1000.0])
    return low - _ROOM * (high - low), high + 2.0 * _ROOM * (high - low)


def _runway(axes: Axes, runway: Runway) -> None:
    length = runway.length_m / NM if runway.length_m is not None else _RUNWAY_NM
    feet = runway.elevation_m / FT
    axes.plot([0.0, length], [feet, feet], color=INK, lw=4.0, solid_capstyle="butt", zorder=3)
    _name(axes, 0.0, feet, f"runway {runway.name}", INK, (0.0, -6.0), "left")


def _glide_path(axes: Axes, charted: Charted, runway: Runway, left: float) -> None:
    """The charted glide path, from its height over the threshold up."""
    if charted.glide_path_rad is None or charted.threshold_crossing_height_m is None:
        return
    away = np.linspace(0.0, left, 60)
    height = runway.elevation_m + charted.threshold_crossing_height_m + away * NM * math.tan(charted.glide_path_rad)
    axes.plot(-away, height / FT, color=QUIET, lw=1.0, ls=(0, (8, 4)), zorder=2)
    text = f"glide path {charted.glide_path_rad / DEG:.1f}°"
    _name(axes, -0.55 * left, float(np.interp(0.55 * left, away, height)) / FT, text, QUIET, (4.0, 12.0), "left")


@dataclass(frozen=True)
class _Step:
    """A fix of the final course so far before the threshold, and the minimum up to it."""

    name: str
    to_go_nm: float
    minimum_m: float | None
    ends: bool  # the approach's own minimum: at the missed approach point

    def at_least(self, floor_m: float | None) -> _Step:
        """The same where a minimum of the leg holds too."""
        known = [minimum for minimum in (self.minimum_m, floor_m) if minimum is not None]
        return replace(self, minimum_m=max(known, default=None))


def _steps(charted: Charted, runway: Runway) -> tuple[_Step, ...]:
    """The reversal fix, where it lies before the final leg, and the charted fixes, in the order passed.

    Up to where the final leg begins, the minimum of the inbound leg holds too. That of the first charted fix holds from being
    established, so before the reversal fix as well.
    """
    found = [
        _Step(
            fix.name,
            -_place_nm(charted, runway, fix.latitude_rad, fix.longitude_rad),
            None if fix.role == "missed-approach-point" else fix.minimum_m,
            fix.role == "missed-approach-point",
        )
        for fix in charted.fixes
    ]
    if not charted.on_field:
        away = -_place_nm(charted, runway, charted.fix_latitude_rad, charted.fix_longitude_rad)
        first = found[0].minimum_m if found else None
        found.append(_Step(charted.procedure.fix.name, away, first, False))
    found.sort(key=lambda step: -step.to_go_nm)
    begins = [fix.name for fix in charted.fixes if fix.role == "final-approach-fix"]
    if not begins and not charted.on_field:
        begins = [charted.procedure.fix.name]
    last = next((number for number, step in enumerate(found) if step.name in begins), -1)
    floor = charted.floors_m.get("inbound")
    return tuple(step.at_least(floor) if number <= last else step for number, step in enumerate(found))


def _minimums(axes: Axes, charted: Charted, steps: tuple[_Step, ...], left: float, flown: FloatArray) -> None:
    """The minimum up to each fix as a step, then that of the approach up to its missed approach point, and the fixes' names.

    `flown` holds how far beyond the threshold the aircraft was [NM] and its altitude [ft], shape (seconds, 2).
    """
    begins = left
    for step, then in zip(steps, (*steps, None)[1:], strict=True):
        if not -_BEYOND_NM < step.to_go_nm < left:
            continue
        axes.axvline(-step.to_go_nm, color=FAINT, lw=0.9, ls=(0, (2, 2)), zorder=1)
        axes.annotate(
            f" {step.name}", (-step.to_go_nm, 0.985), xycoords=axes.get_xaxis_transform(), fontsize=8.5, color=INK, va="top",
            zorder=5, parse_math=False,
        )  # fmt: skip
        if step.minimum_m is not None:
            feet = step.minimum_m / FT
            axes.plot([-begins, -step.to_go_nm], [feet, feet], color=WARN, lw=1.1, zorder=3)
            if then is None or then.minimum_m != step.minimum_m:
                _name_step(axes, (-begins, -step.to_go_nm), feet, f"{feet:,.0f}", flown)
        if not step.ends:
            begins = step.to_go_nm
    minimum = charted.minimum
    if minimum is None:
        return
    ends = next((step.to_go_nm for step in steps if step.ends), 0.0)
    feet = minimum.altitude_m / FT
    axes.plot([-begins, -ends], [feet, feet], color=WARN, lw=1.4, zorder=3)
    _name_step(axes, (-begins, -ends), feet, f"{minimum.kind.upper()} {feet:,.0f}", flown)
    if minimum.visual_descent_point_m is not None:
        away = minimum.visual_descent_point_m / NM
        axes.plot([-away], [feet], marker="v", ms=6.5, color=WARN, zorder=5)
        _name(axes, -away, feet, "visual descent point", WARN, (0.0, 14.0), "center")


def _name_step(axes: Axes, span: tuple[float, float], feet: float, text: str, flown: FloatArray) -> None:
    """The altitude of a step under the end of its line, or under its beginning where the aircraft flew below the end."""
    letters = _LETTER_PT * (len(text) + 1) / (inches(axes)[0] * 72.0) * (axes.get_xlim()[1] - axes.get_xlim()[0])
    there = (flown[:, 0] >= span[1] - letters) & (flown[:, 0] <= span[1])
    if (flown[there, 1] < feet).any():
        _name(axes, span[0], feet, text, WARN, (3.0, -3.0), "left")
    else:
        _name(axes, span[1], feet, text, WARN, (-3.0, -3.0), "right")


def _name(axes: Axes, x: float, y: float, text: str, colour: str, away_pt: tuple[float, float], align: str) -> None:
    axes.annotate(
        text, (x, y), away_pt, textcoords="offset points", color=colour, fontsize=8.0, va="top", ha=align, zorder=5,
        annotation_clip=True, parse_math=False,
    )  # fmt: skip

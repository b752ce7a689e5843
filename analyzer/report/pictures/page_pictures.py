"""The pictures of an approach for a page, with captions and alternative text."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matplotlib.figure import Figure

from analyzer.legs.held import laps_of
from analyzer.physics.units import DEG, FT, KT, NM, FloatArray
from analyzer.report.pictures.doubt_marks import marked_stretches
from analyzer.report.pictures.final_view import final_view
from analyzer.report.pictures.inline_svg import Panel, inline_svg, panels_of
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.profile import Marks, profile
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.style import look

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = ["Picture", "draw_pictures", "draw_plan", "figures_of", "hold_figures", "picture_of", "plan_figures"]


@dataclass(frozen=True)
class Picture:
    """A picture: its name (``plan``, ``profile``, ``final``, ``strips``), SVG for a page, caption, words for it, axes."""

    name: str
    title: str
    svg: str
    caption: str
    alt: str
    panels: tuple[Panel, ...]


def draw_pictures(debrief: DebriefData, approach: Approach, prefix: str) -> tuple[Picture, ...]:
    """All pictures of one approach. `prefix` keeps the names inside the SVGs of a page apart."""
    dotted = _BRIEFED_CAPTION if approach.comparison is not None else ""
    lapped = _LAPS_CAPTION if len(laps_of(approach.reversal)) > 1 else ""
    charted = debrief.motion.charted
    sloped = charted.glide_path_rad is not None and charted.threshold_crossing_height_m is not None
    begun_s, ended_s = approach.reversal.parts[0].start_s, approach.reversal.parts[-1].end_s
    marked = any(True for _ in marked_stretches(debrief, begun_s, ended_s))
    captions = {
        "plan": _PLAN_CAPTION + lapped + dotted + (_CROSS_CAPTION if marked else ""),
        "profile": _PROFILE_CAPTION + dotted,
        "final": _FINAL_CAPTION + (_GLIDE_PATH_CAPTION if sloped else ""),
        "strips": _STRIPS_CAPTION + (_HATCHED_CAPTION if marked else ""),
    }
    with look():
        return tuple(
            picture_of(name, figure, prefix, captions[name], _alt(name, debrief, approach))
            for name, figure in figures_of(debrief, approach)
        )


def figures_of(debrief: DebriefData, approach: Approach) -> Iterator[tuple[str, Figure]]:
    """All figures of one approach with their names, to be made and saved inside `look`."""
    yield "plan", plan_view(debrief, approach)
    side = profile(debrief, approach)
    if side is not None:
        yield "profile", side
    final = final_view(debrief, approach)
    if final is not None:
        yield "final", final
    yield "strips", strips(debrief, approach)


def draw_plan(debrief: DebriefData, beneath_m: FloatArray | None, marks: Marks = ()) -> tuple[Picture, ...]:
    """Plan view and profile of a planned path that was debriefed like a flight, over where flights with errors went.

    `marks` are as for `profile`.
    """
    drawn = []
    pale = f" Pale: {len(beneath_m):,} of the flights with errors, as a sample." if beneath_m is not None else ""
    captions = {"plan": _BRIEF_CAPTION + pale, "profile": _BRIEF_PROFILE_CAPTION}
    with look():
        for approach in debrief.approaches[:1]:
            for name, figure in plan_figures(debrief, beneath_m, marks):
                drawn.append(picture_of(name, figure, "b0", captions[name], _alt(name, debrief, approach)))
        for number, (hold, figure) in enumerate(hold_figures(debrief)):
            name = hold.motion.charted.procedure.fix.name
            drawn.append(
                picture_of("hold", figure, f"b{number + 1}", _HOLD_CAPTION, f"Plan view of two laps of the hold at {name}.")
            )
    return tuple(drawn)


def plan_figures(debrief: DebriefData, beneath_m: FloatArray | None, marks: Marks = ()) -> Iterator[tuple[str, Figure]]:
    """The same as figures with their names, to be made and saved inside `look`; none where no approach was recognised."""
    for approach in debrief.approaches[:1]:
        yield "plan", plan_view(debrief, approach, beneath_m)
        side = profile(debrief, approach, marks)
        if side is not None:
            yield "profile", side


def hold_figures(debrief: DebriefData) -> Iterator[tuple[DebriefData, Figure]]:
    """The plan view of each hold of a planned path, to be made and saved inside `look`."""
    for hold in debrief.holds:
        for approach in hold.approaches:
            yield hold, plan_view(hold, approach)


_TITLES = {"plan": "Plan view", "profile": "Profile", "final": "Final approach", "hold": "Hold", "strips": "Over time"}
_BRIEF_CAPTION = (
    "Plan view of the path to fly, true north up, courses magnetic. Ticks across it are whole minutes, numbered from its "
    "beginning or, without an arrival, from a minute before the fix. Dashed: what is charted."
)
_BRIEF_PROFILE_CAPTION = "Profile along the path to fly. Red: the charted minimum of each leg."
_HOLD_CAPTION = (
    "Plan view of the hold to fly: the entry, and the lap that all further ones are like. Dashed: the hold in still air, at "
    "standard rate."
)
_PLAN_CAPTION = (
    "Plan view, true north up, courses magnetic. Ticks across the track are whole minutes UTC. Thin dashes: what is charted. "
    "The grey line runs from the fix to the farthest point."
)
_BRIEFED_CAPTION = " Dotted: as briefed."
_LAPS_CAPTION = " Each lap has a line of its own, solid for the first."
_PROFILE_CAPTION = "Profile along the track flown. Red: the minimum of each leg and fix."
_FINAL_CAPTION = "The final approach by distance to the threshold. Red: the minimum up to each fix, then that of the approach."
_GLIDE_PATH_CAPTION = " Dashed: the charted glide path."
_CROSS_CAPTION, _HATCHED_CAPTION = " Crossed: in doubt, or its times corrected.", " Hatched: in doubt, or its times corrected."
_STRIPS_CAPTION = (
    "Over time. Course deviation is dotted where it does not count: within 1 NM of the fix or in the cone above "
    "it, and until first within half of full scale. Dashed red: limits. Red under the altitude: minimums. The band about the "
    "bank is two standard deviations wide either side."
)


def picture_of(name: str, figure: Figure, prefix: str, caption: str, alt: str) -> Picture:
    """A figure as a picture of a page."""
    return Picture(name, _TITLES[name], inline_svg(figure, f"{prefix}-{name}-"), caption, alt, panels_of(figure))


def _alt(name: str, debrief: DebriefData, approach: Approach) -> str:
    if name == "plan":
        return _plan_alt(debrief, approach)
    if name == "final":
        return _final_alt(debrief, approach)
    return _profile_alt(approach) if name == "profile" else _strips_alt(approach)


def _plan_alt(debrief: DebriefData, approach: Approach) -> str:
    fix, farthest = debrief.motion.charted.procedure.fix.name, approach.figures.farthest
    text = f"Plan view of the track about {fix}."
    if farthest is not None:
        text += f" Farthest point {farthest.distance_m / NM:.2f} nautical miles from the fix."
    limit = debrief.motion.charted.limit_m
    return text + (f" The limit is {limit / NM:g}." if limit is not None else "")


def _profile_alt(approach: Approach) -> str:
    lowest = ", ".join(
        f"{figures.part.name.replace('_', ' ')} {figures.altitude_min_m / FT:.0f}" for figures in approach.figures.parts
    )
    return f"Altitude along the track. Lowest altitude in feet by part: {lowest}."


def _final_alt(debrief: DebriefData, approach: Approach) -> str:
    charted = debrief.motion.charted
    fixes = ", ".join(f"{fix.name} {fix.minimum_m / FT:.0f}" for fix in charted.fixes if fix.minimum_m is not None)
    minimum = f" Minimum of the approach {charted.minimum.altitude_m / FT:.0f} feet." if charted.minimum is not None else ""
    lowest = min(f.altitude_min_m for f in approach.figures.parts if f.part.leg == "final") / FT
    charted_at = f" Minimums up to fixes in feet: {fixes}." if fixes else ""
    return f"Altitude on the final approach by distance to the threshold. Lowest {lowest:.0f} feet.{charted_at}{minimum}"


def _strips_alt(approach: Approach) -> str:
    peaks = [figures.turn.bank_peak_rad for figures in approach.figures.parts if figures.turn is not None]
    bank = f"Greatest bank in a turn {max(peaks) / DEG:.0f} degrees; mean" if peaks else "Mean"
    speeds = [speed for figures in approach.figures.parts if math.isfinite(speed := figures.ground_speed_mps / KT)]
    ground = (
        f" ground speed of the parts from {min(speeds):.0f} to {max(speeds):.0f} knots" if speeds else " ground speed unknown"
    )
    return (
        "Distance, course deviation, altitude, vertical speed, speed, bank and turn rate over time, as far as the log has "
        f"them. {bank}{ground}."
    )

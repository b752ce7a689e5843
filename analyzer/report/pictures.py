"""The pictures of one approach, drawn once each and saved as SVG and as PNG."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matplotlib.figure import Figure

from analyzer.physics.units import DEG, FT, KT, NM, FloatArray
from analyzer.report.plan_view import plan_view
from analyzer.report.profile import profile
from analyzer.report.strips import strips
from analyzer.report.style import look

if TYPE_CHECKING:
    from analyzer.debriefing import Approach, Debrief

__all__ = ["Picture", "draw_pictures", "draw_plan", "plan_figures"]

_DPI = 110
_TAG, _NAME = re.compile(r"<[^>]+>"), re.compile(r'(\bid="|url\(#|href="#)')


@dataclass(frozen=True)
class Picture:
    """A picture: its name (``plan``, ``profile``, ``strips``), SVG for a page, PNG, a caption, and what it shows in words."""

    name: str
    svg: str
    png: bytes
    caption: str
    alt: str


def draw_pictures(debrief: Debrief, approach: Approach, prefix: str) -> tuple[Picture, ...]:
    """All pictures of one approach. `prefix` keeps the names inside the SVGs of a page apart."""
    drawn = []
    with look(), warnings.catch_warnings():
        plan = plan_view(debrief, approach)
        dotted = _BRIEFED_CAPTION if approach.comparison is not None else ""
        drawn.append(_picture("plan", plan, prefix, _PLAN_CAPTION + dotted, _plan_alt(debrief, approach)))
        side = profile(debrief, approach)
        if side is not None:
            drawn.append(_picture("profile", side, prefix, _PROFILE_CAPTION + dotted, _profile_alt(approach)))
        drawn.append(_picture("strips", strips(debrief, approach), prefix, _STRIPS_CAPTION, _strips_alt(approach)))
    return tuple(drawn)


def draw_plan(debrief: Debrief, beneath_m: FloatArray | None) -> tuple[Picture, ...]:
    """Plan view and profile of a planned path that was debriefed like a flight, over where flights with errors went."""
    drawn = []
    pale = _PALE_CAPTION if beneath_m is not None else ""
    captions = {"plan": _BRIEF_CAPTION + pale, "profile": _PROFILE_CAPTION}
    with look(), warnings.catch_warnings():
        for approach in debrief.approaches[:1]:
            alts = {"plan": _plan_alt(debrief, approach), "profile": _profile_alt(approach)}
            for name, figure in plan_figures(debrief, beneath_m):
                drawn.append(_picture(name, figure, "b0", captions[name], alts[name]))
    return tuple(drawn)


def plan_figures(debrief: Debrief, beneath_m: FloatArray | None) -> Iterator[tuple[str, Figure]]:
    """The same as figures with their names, to be made and saved inside `look`; none where no approach was recognised."""
    for approach in debrief.approaches[:1]:
        yield "plan", plan_view(debrief, approach, beneath_m)
        side = profile(debrief, approach)
        if side is not None:
            yield "profile", side


_BRIEF_CAPTION = (
    "Plan view of the path to fly, true north up, courses magnetic. Ticks across it are whole minutes, numbered from its "
    "beginning or, without an arrival, from a minute before the fix. Dashed: what is charted."
)
_PALE_CAPTION = " Pale: two hundred flights with the errors stated above."
_PLAN_CAPTION = (
    "Plan view, true north up, courses magnetic. Ticks across the track are whole minutes UTC. Dashed: what is charted. "
    "The grey line runs from the fix to the farthest point."
)
_BRIEFED_CAPTION = " Dotted: as briefed."
_PROFILE_CAPTION = "Profile along the track flown. Red: the charted minimum of each leg."
_STRIPS_CAPTION = (
    "Over time. Course deviation is dotted where it does not count: within 1 NM of the fix or in the cone above "
    "it, and until first within 5° of the course. Dashed red: limits."
)


def _picture(name: str, figure: Figure, prefix: str, caption: str, alt: str) -> Picture:
    png = io.BytesIO()
    # a name in letters that the font lacks is drawn as boxes in the PNG; in the page the reader's own fonts have them
    warnings.filterwarnings("ignore", message="Glyph .* missing from font")
    figure.savefig(png, format="png", dpi=_DPI, metadata={"Software": None}, pil_kwargs={"compress_level": 2})
    svg = io.StringIO()
    figure.savefig(svg, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    return Picture(name, _inline(svg.getvalue(), f"{prefix}-{name}-"), png.getvalue(), caption, alt)


def _inline(svg: str, prefix: str) -> str:
    """The SVG element alone, its names made unique on the page."""

    def prefixed(tag: re.Match[str]) -> str:
        return _NAME.sub(lambda name: name.group(1) + prefix, tag.group(0))

    return _TAG.sub(prefixed, svg[svg.index("<svg") :])


def _plan_alt(debrief: Debrief, approach: Approach) -> str:
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


def _strips_alt(approach: Approach) -> str:
    peaks = [figures.turn.bank_peak_rad for figures in approach.figures.parts if figures.turn is not None]
    bank = f"Greatest bank in a turn {max(peaks) / DEG:.0f} degrees; mean" if peaks else "Mean"
    speeds = [figures.ground_speed_mps / KT for figures in approach.figures.parts]
    return (
        f"Course deviation, bank, altitude and ground speed over time, as far as the log tells them. "
        f"{bank} ground speed of the parts from {min(speeds):.0f} to {max(speeds):.0f} knots."
    )

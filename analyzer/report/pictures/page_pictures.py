"""The pictures of an approach for a page, each in both layouts, with captions and alternative text."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from analyzer.checks.phrases import height_unit, part_words
from analyzer.frozen import dataclass
from analyzer.physics.units import DEG, KT, NM, FloatArray
from analyzer.report.pictures.doubt_marks import marked_stretches
from analyzer.report.pictures.drawing import Drawing, Frame
from analyzer.report.pictures.final_view import final_view
from analyzer.report.pictures.layout import NARROW, WIDE, Layout
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.profile import Marks, profile
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.subject import Subject
from analyzer.report.pictures.svg import inline_svg

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = [
    "Picture",
    "brief_drawings",
    "draw_brief",
    "draw_debrief",
    "draw_pictures",
    "draw_plan",
    "drawings_of",
    "hold_drawings",
    "picture_of",
]


@dataclass(frozen=True)
class View:
    """A picture in one layout: its SVG for a page, and the frames in it."""

    layout: str
    svg: str
    frames: tuple[Frame, ...]


@dataclass(frozen=True)
class Picture:
    """A picture: its name (``plan``, ``profile``, ``final``, ``strips``), caption, alternative text, and a view per layout."""

    name: str
    title: str
    caption: str
    alt: str
    views: tuple[View, ...]


def draw_pictures(subject: Subject, prefix: str) -> tuple[Picture, ...]:
    """All pictures of an approach, or of a flight without one. `prefix` keeps the ids in the SVGs of a page distinct."""
    approach, charted = subject.approach, subject.debrief.motion.charted
    dotted = _BRIEFED_CAPTION if approach is not None and approach.comparison is not None else ""
    lapped = _LAPS_CAPTION if subject.laps > 1 else ""
    sloped = charted.glide_path_rad is not None and charted.threshold_crossing_height_m is not None
    begun_s, ended_s = float(subject.states.time_s[0]), float(subject.states.time_s[-1])
    marked = any(True for _ in marked_stretches(subject.debrief, begun_s, ended_s))
    captions = {
        "plan": _PLAN_CAPTION
        + (_SIGNS_CAPTION if approach is not None else "")
        + lapped
        + dotted
        + (_CROSS_CAPTION if marked else ""),
        "profile": _PROFILE_CAPTION + dotted,
        "final": _FINAL_CAPTION + (_GLIDE_PATH_CAPTION if sloped else ""),
        "strips": _STRIPS_CAPTION + (_HATCHED_CAPTION if marked else ""),
    }
    wide, narrow = dict(drawings_of(subject, WIDE)), dict(drawings_of(subject, NARROW))
    return tuple(
        picture_of(name, (drawing, narrow[name]), prefix, captions[name], _alt(name, subject)) for name, drawing in wide.items()
    )


def draw_debrief(debrief: DebriefData) -> tuple[tuple[Picture, ...], ...]:
    """The pictures of each approach and hold in the order flown, or those of a flight without any."""
    drawn = tuple(
        draw_pictures(Subject(section.seen, section.approach), f"{section.of[0]}{section.number}")
        for section in debrief.sections
    )
    if not drawn and len(debrief.motion.states) > 1:
        drawn = (draw_pictures(Subject(debrief, None), "f"),)
    return drawn


def draw_plan(subject: Subject, prefix: str) -> Picture:
    """The plan view alone."""
    signs = _SIGNS_CAPTION if subject.approach is not None else ""
    drawings = plan_view(subject, WIDE), plan_view(subject, NARROW)
    return picture_of("plan", drawings, prefix, _PLAN_CAPTION + signs, _alt("plan", subject))


def drawings_of(subject: Subject, layout: Layout) -> Iterator[tuple[str, Drawing]]:
    """All drawings of an approach, with their names."""
    yield "plan", plan_view(subject, layout)
    for name, drawing in (("profile", profile(subject, layout)), ("final", final_view(subject, layout))):
        if drawing is not None:
            yield name, drawing
    yield "strips", strips(subject, layout)


def draw_brief(
    flown: DebriefData, beneath_m: FloatArray | None, marks: Marks, layouts: Sequence[Layout]
) -> tuple[Picture, ...]:
    """Plan view and profile of a planned path that was debriefed like a flight, then the plan view of each hold.

    `beneath_m` are paths of simulated flights with errors, drawn pale. `marks` are as for `profile`. With one layout the
    pictures are shown whatever the width of the page.
    """
    pale = f" Pale: {len(beneath_m):,} of the simulated flights with errors." if beneath_m is not None else ""
    captions = {"plan": _BRIEF_CAPTION + pale, "profile": _BRIEF_PROFILE_CAPTION}
    each = [dict(brief_drawings(flown, layout, beneath_m, marks)) for layout in layouts]
    pictures = [
        picture_of(
            name, [one[name] for one in each], "b0", captions[name], _alt(name, Subject(flown, flown.approaches[0])), layouts
        )
        for name in each[0]
    ]
    holds = zip(*(hold_drawings(flown, layout) for layout in layouts), strict=True)
    for number, drawn in enumerate(holds, 1):
        alt = f"Plan view of two laps of the hold at {drawn[0][0]}."
        pictures.append(picture_of("hold", [drawing for _, drawing in drawn], f"b{number}", _HOLD_CAPTION, alt, layouts))
    return tuple(pictures)


def brief_drawings(
    flown: DebriefData, layout: Layout, beneath_m: FloatArray | None, marks: Marks
) -> Iterator[tuple[str, Drawing]]:
    """The plan view and profile of a planned path as drawings, with their names; none if no approach was recognised."""
    for approach in flown.approaches[:1]:
        subject = _planned(flown, approach)
        yield "plan", plan_view(subject, layout, beneath_m)
        side = profile(subject, layout, marks)
        if side is not None:
            yield "profile", side


def hold_drawings(flown: DebriefData, layout: Layout) -> Iterator[tuple[str, Drawing]]:
    """The plan view of each hold of a planned path, with the name of its fix."""
    for hold in flown.holds:
        for approach in hold.approaches:
            yield hold.motion.charted.procedure.fix.name, plan_view(_planned(hold, approach), layout)


def _planned(flown: DebriefData, approach: Approach) -> Subject:
    """A planned path to be drawn: it is debriefed for its parts, and by what is planned there is nothing to find fault with."""
    return Subject(flown, replace(approach, findings=()))


_TITLES = {"plan": "Plan view", "profile": "Profile", "final": "Final approach", "hold": "Hold", "strips": "Over time"}
_BRIEF_CAPTION = (
    "Plan view of the path to fly, true north up, courses magnetic. Ticks across it are whole minutes, numbered from the "
    "start of the path or, without an arrival, from a minute before the fix. Dashed: as charted."
)
_BRIEF_PROFILE_CAPTION = "Profile along the path to fly. Red: the charted minimum of each leg."
_HOLD_CAPTION = (
    "Plan view of the hold to fly: the entry, and the lap that all later ones repeat. Dashed: the hold in still air, at "
    "standard rate."
)
_PLAN_CAPTION = (
    "Plan view, true north up, courses magnetic. Ticks across the track are whole minutes UTC. Thin dashes: as charted."
)
_SIGNS_CAPTION = (
    " The grey line runs from the fix to the farthest point. A square with a number: outside; a circle: too close to call."
)
_BRIEFED_CAPTION = " Dotted: as briefed."
_LAPS_CAPTION = " Each lap has its own line style, solid for the first."
_PROFILE_CAPTION = "Profile along the track flown. Red: the minimum of each leg and fix."
_FINAL_CAPTION = (
    "Final approach by distance to the threshold. Red: the minimum up to each fix, then the minimum of the approach."
)
_GLIDE_PATH_CAPTION = " Dashed: the charted glide path."
_CROSS_CAPTION, _HATCHED_CAPTION = (
    " Crosses: in doubt, times corrected, or set elsewhere.",
    " Hatched: in doubt, times corrected, or set elsewhere.",
)
_STRIPS_CAPTION = (
    "Over time. Course deviation is dotted where it does not count: within 1 NM of the fix or in the cone above it, and "
    "before it is first within half scale. Dashed red: limits. Red below the altitude: minimums. The band around the bank "
    "is two standard deviations to either side."
)


def picture_of(
    name: str, drawings: Sequence[Drawing], prefix: str, caption: str, alt: str, layouts: Sequence[Layout] = (WIDE, NARROW)
) -> Picture:
    """A picture for a page, from a drawing per layout; of several the page shows the one that fits its width."""
    views = tuple(
        View(
            layout.name,
            inline_svg(drawing, f"{prefix}-{name}-{layout.name[0]}-", layout.name if len(layouts) > 1 else ""),
            tuple(panel.frame for panel in drawing.panels),
        )
        for layout, drawing in zip(layouts, drawings, strict=True)
    )
    return Picture(name, _TITLES[name], caption, alt, views)


_SPOKEN = {"ft": "feet", "m": "metres"}


def _alt(name: str, subject: Subject) -> str:
    debrief, approach = subject.debrief, subject.approach
    if approach is None:
        return f"{_TITLES[name]} of the flight, in which no approach was recognised."
    if name == "plan":
        return _plan_alt(debrief, approach)
    if name == "final":
        return _final_alt(debrief, approach)
    return _profile_alt(debrief, approach) if name == "profile" else _strips_alt(approach)


def _plan_alt(debrief: DebriefData, approach: Approach) -> str:
    fix, farthest = debrief.motion.charted.procedure.fix.name, approach.figures.farthest
    text = f"Plan view of the track around {fix}."
    if farthest is not None:
        text += f" Farthest point {farthest.distance_m / NM:.2f} nautical miles from the fix."
    limit = debrief.motion.charted.limit_m
    return text + (f" The limit is {limit / NM:g}." if limit is not None else "")


def _profile_alt(debrief: DebriefData, approach: Approach) -> str:
    unit = height_unit(debrief.motion.charted.altitude_unit)
    lowest = ", ".join(
        f"{part_words(one.part.name, one.part.lap)} {one.altitude_min_m / unit.metres:.0f}" for one in approach.figures.parts
    )
    return f"Altitude along the track. Lowest altitude in {_SPOKEN[unit.name]} by part: {lowest}."


def _final_alt(debrief: DebriefData, approach: Approach) -> str:
    charted = debrief.motion.charted
    unit = height_unit(charted.altitude_unit)
    spoken = _SPOKEN[unit.name]
    fixes = ", ".join(f"{fix.name} {fix.minimum_m / unit.metres:.0f}" for fix in charted.fixes if fix.minimum_m is not None)
    minimum = ""
    if charted.minimum is not None:
        minimum = f" Minimum of the approach {charted.minimum.altitude_m / unit.metres:.0f} {spoken}."
    lowest = min(f.altitude_min_m for f in approach.figures.parts if f.part.leg == "final") / unit.metres
    charted_at = f" Minimums up to fixes in {spoken}: {fixes}." if fixes else ""
    return f"Altitude on the final approach by distance to the threshold. Lowest {lowest:.0f} {spoken}.{charted_at}{minimum}"


def _strips_alt(approach: Approach) -> str:
    peaks = [figures.turn.bank_peak_rad for figures in approach.figures.parts if figures.turn is not None]
    bank = f"Greatest bank in a turn {max(peaks) / DEG:.0f} degrees; mean" if peaks else "Mean"
    speeds = [speed for figures in approach.figures.parts if math.isfinite(speed := figures.ground_speed_mps / KT)]
    ground = (
        f" ground speed of the parts from {min(speeds):.0f} to {max(speeds):.0f} knots" if speeds else " ground speed unknown"
    )
    return (
        "Distance, course deviation, altitude, vertical speed, speeds, bank and turn rate over time, as far as the log has "
        f"them. {bank}{ground}."
    )

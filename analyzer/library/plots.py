"""Plots of a debrief, drawn into given axes or into a figure of their own.

They look as in the report. Approaches are numbered from 1 in the order flown. A hold is a debrief of its own:
``plot_plan_view(result.holds[0])`` plots the first.

>>> import analyzer
>>> track = analyzer.read_track("sample_tracks/clean.csv")
>>> result = analyzer.debrief(track, analyzer.read_procedure("sample_tracks/wendle_island_vor24.toml"))
>>> figure = plot_plan_view(result)
>>> figure.savefig("plan.png")  # doctest: +SKIP

Into axes of your own:

>>> figure = Figure()
>>> above, below = figure.subplots(2)
>>> plot_strip(result, "bank", ax=above) is plot_strip(result, "distance", ax=below) is figure
True
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analyzer.errors import AnalyzerError
from analyzer.report.pictures.drawing import Drawing, Panel
from analyzer.report.pictures.figures import draw_panel, figure_of, look, points_of
from analyzer.report.pictures.final_view import final_panel, final_view
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.plan_view import plan_panel, plan_view
from analyzer.report.pictures.profile import profile, profile_panel
from analyzer.report.pictures.strip_kinds import STRIPS
from analyzer.report.pictures.strips import strip_panel, strips
from analyzer.report.pictures.subject import Subject

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["plot_final", "plot_plan_view", "plot_profile", "plot_strip", "plot_strips"]


def plot_plan_view(debrief: DebriefData, approach: int = 1, ax: Axes | None = None) -> Figure:
    """Plot the plan view and return its figure.

    Raises
    ------
    AnalyzerError
        There is no such approach, or the axes are in no figure.
    """
    subject = _approach(debrief, approach)
    if ax is None:
        return _figure(plan_view(subject, WIDE))
    figure = _figure_of(ax)
    _draw(ax, plan_panel(subject, WIDE, points_of(ax)))
    return figure


def plot_profile(debrief: DebriefData, approach: int = 1, ax: Axes | None = None) -> Figure:
    """Plot the profile and return its figure.

    Raises
    ------
    AnalyzerError
        There is no such approach, the log has no altitude, or the axes are in no figure.
    """
    subject = _approach(debrief, approach)
    drawing = profile(subject, WIDE)
    if drawing is None:
        raise AnalyzerError(f"{debrief.motion.track.file}: the log has no altitude, so there is no profile")
    if ax is None:
        return _figure(drawing)
    figure = _figure_of(ax)
    _draw(ax, profile_panel(subject, WIDE, (0.0, 0.0, *points_of(ax))))
    return figure


def plot_final(debrief: DebriefData, approach: int = 1, ax: Axes | None = None) -> Figure:
    """Plot the final approach by distance to the threshold and return its figure.

    Raises
    ------
    AnalyzerError
        There is no such approach, no runway is charted, no final leg was flown, the log has no altitude, or the axes are in no
        figure.
    """
    subject = _approach(debrief, approach)
    drawing = final_view(subject, WIDE)
    if drawing is None:
        raise AnalyzerError(
            f"{debrief.motion.track.file}: there is no final approach to draw; it needs a [runway] in the procedure file, "
            "a final leg that was flown, and a log with altitudes"
        )
    if ax is None:
        return _figure(drawing)
    figure = _figure_of(ax)
    _draw(ax, final_panel(subject, WIDE, (0.0, 0.0, *points_of(ax))))
    return figure


def plot_strip(debrief: DebriefData, quantity: str, approach: int = 1, ax: Axes | None = None) -> Figure:
    """Plot one quantity over time and return its figure.

    The quantity is distance, deviation, altitude, vertical_speed, speed, bank or turn_rate.

    Raises
    ------
    AnalyzerError
        There is no such approach or quantity, the log does not show it, or the axes are in no figure.
    """
    subject = _approach(debrief, approach)
    names = [strip.quantity for strip in STRIPS]
    if quantity not in names:
        raise AnalyzerError(f"{quantity}: not a quantity that is drawn; choose from {', '.join(names)}")
    if ax is None:
        box = (WIDE.left, 20.0, WIDE.width - WIDE.left - WIDE.right, 86.0)
        return _figure(Drawing(WIDE.width, 144.0, (strip_panel(subject, WIDE, box, quantity),)))
    figure = _figure_of(ax)
    _draw(ax, strip_panel(subject, WIDE, (0.0, 0.0, *points_of(ax)), quantity))
    return figure


def plot_strips(debrief: DebriefData, approach: int = 1) -> Figure:
    """Plot all quantities over time, one above the other. Raises `AnalyzerError` if there is no such approach."""
    return _figure(strips(_approach(debrief, approach), WIDE))


def _figure(drawing: Drawing) -> Figure:
    with look():
        return figure_of(drawing)


def _draw(ax: Axes, panel: Panel) -> None:
    with look():
        draw_panel(ax, panel)


def _approach(debrief: DebriefData, number: int) -> Subject:
    if not 1 <= number <= len(debrief.approaches):
        available = f"there are {len(debrief.approaches)}" if debrief.approaches else "none was recognised"
        raise AnalyzerError(f"approach {number}: {available} in {debrief.motion.track.file}")
    return Subject(debrief, debrief.approaches[number - 1])


def _figure_of(ax: Axes) -> Figure:
    figure = ax.get_figure(root=True)
    if not isinstance(figure, Figure):
        raise AnalyzerError("the axes are in no figure; add them to one first")
    return figure

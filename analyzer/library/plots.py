"""The pictures of a debrief for notebooks and other programs: each is drawn into axes that are given, or into its own figure.

They look as in the report. Approaches are numbered from 1 in the order flown. A hold is a debrief of its own, so
``plot_plan_view(result.holds[0])`` draws the first.

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
from analyzer.report.pictures.final_view import draw_final, final_view, runway_of_final
from analyzer.report.pictures.plan_view import draw_plan_view, plan_view
from analyzer.report.pictures.profile import draw_profile, profile
from analyzer.report.pictures.strip_kinds import STRIPS
from analyzer.report.pictures.strips import draw_strip, strips
from analyzer.report.pictures.style import look

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData

__all__ = ["plot_final", "plot_plan_view", "plot_profile", "plot_strip", "plot_strips"]


def plot_plan_view(debrief: DebriefData, approach: int = 1, ax: Axes | None = None) -> Figure:
    """The plan view. Returns the figure it is in.

    Raises
    ------
    AnalyzerError
        There is no such approach, or the axes are in no figure.
    """
    one = _approach(debrief, approach)
    with look():
        if ax is None:
            return plan_view(debrief, one)
        figure = _figure_of(ax)
        draw_plan_view(ax, debrief, one)
    return figure


def plot_profile(debrief: DebriefData, approach: int = 1, ax: Axes | None = None) -> Figure:
    """The profile. Returns the figure it is in.

    Raises
    ------
    AnalyzerError
        There is no such approach, the log has no altitude, or the axes are in no figure.
    """
    one = _approach(debrief, approach)
    with look():
        figure = profile(debrief, one) if ax is None else _figure_of(ax)
        if figure is None or not debrief.motion.has_altitude:
            raise AnalyzerError(f"{debrief.motion.track.file}: the log has no altitude, so there is no profile")
        if ax is not None:
            draw_profile(ax, debrief, one)
    return figure


def plot_final(debrief: DebriefData, approach: int = 1, ax: Axes | None = None) -> Figure:
    """The final approach by distance to the threshold. Returns the figure it is in.

    Raises
    ------
    AnalyzerError
        There is no such approach, no runway is charted, no final leg was flown, the log has no altitude, or the axes are in no
        figure.
    """
    one = _approach(debrief, approach)
    runway = runway_of_final(debrief, one)
    with look():
        figure = final_view(debrief, one) if ax is None else _figure_of(ax)
        if figure is None or runway is None:
            raise AnalyzerError(
                f"{debrief.motion.track.file}: there is no final approach to draw; it takes a [runway] in the procedure file, "
                "a final leg that was flown, and a log with altitudes"
            )
        if ax is not None:
            draw_final(ax, debrief, one, runway)
    return figure


def plot_strip(debrief: DebriefData, quantity: str, approach: int = 1, ax: Axes | None = None) -> Figure:
    """One quantity over time: distance, deviation, altitude, vertical_speed, speed, bank or turn_rate.

    Returns the figure it is in.

    Raises
    ------
    AnalyzerError
        There is no such approach or quantity, the log does not tell it, or the axes are in no figure.
    """
    one = _approach(debrief, approach)
    names = [strip.quantity for strip in STRIPS]
    if quantity not in names:
        raise AnalyzerError(f"{quantity}: not a quantity that is drawn; choose from {', '.join(names)}")
    with look():
        into = ax if ax is not None else Figure(figsize=(8.4, 2.0)).add_axes((0.105, 0.26, 0.83, 0.6), label=quantity)
        figure = _figure_of(into)
        draw_strip(into, debrief, one, quantity)
    return figure


def plot_strips(debrief: DebriefData, approach: int = 1) -> Figure:
    """All strips, one above the other. Raises `AnalyzerError` where there is no such approach."""
    with look():
        return strips(debrief, _approach(debrief, approach))


def _approach(debrief: DebriefData, number: int) -> Approach:
    if not 1 <= number <= len(debrief.approaches):
        found = f"there are {len(debrief.approaches)}" if debrief.approaches else "none was recognised"
        raise AnalyzerError(f"approach {number}: {found} in {debrief.motion.track.file}")
    return debrief.approaches[number - 1]


def _figure_of(ax: Axes) -> Figure:
    figure = ax.get_figure(root=True)
    if not isinstance(figure, Figure):
        raise AnalyzerError("the axes are in no figure; add them to one first")
    return figure

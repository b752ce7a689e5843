"""Time strips: course deviation, bank, altitude and ground speed over the same seconds, legs shaded alike."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analyzer.checks.course import deviation_series
from analyzer.legs.model import Reversal
from analyzer.motion.model import Motion, States
from analyzer.physics.units import DEG, FT, KT
from analyzer.report.frame import minute_ticks, number_ticks, put_frame
from analyzer.report.style import INK, LEG_COLOUR, QUIET, WARN, shade_legs, shown_span, with_breaks

if TYPE_CHECKING:
    from analyzer.checks.standard import Standard
    from analyzer.debriefing import Approach, Debrief

__all__ = ["strips"]

_DEVIATION_SHOWN_DEG = 12.0


def strips(debrief: Debrief, approach: Approach) -> Figure:
    """The strips of one approach, of its arrival the last minutes."""
    motion, reversal = debrief.motion, approach.reversal
    states = motion.states.between(*shown_span(reversal))
    rows: list[tuple[str, Callable[[Axes], None]]] = [
        ("course\ndeviation, °", lambda axes: _deviation(axes, motion, reversal, states, debrief.standard)),
    ]
    if motion.bank_known(states):
        rows.append(("bank, °", lambda axes: _bank(axes, states, debrief.standard)))
    if motion.has_altitude:
        rows.append(("altitude, ft", lambda axes: _altitude(axes, motion, reversal, states)))
    rows.append(("speed, kt", lambda axes: _speed(axes, motion, states)))
    figure = Figure(figsize=(8.4, 0.6 + 1.45 * len(rows)))
    bottom, height = 0.085, 0.895 / len(rows)
    for number, (label, draw) in enumerate(rows):
        axes = figure.add_axes((0.105, bottom + height * (len(rows) - 1 - number), 0.88, height * 0.86))
        axes.set_xlim(float(states.time_s[0]), float(states.time_s[-1]))
        shade_legs(axes, reversal, (states.time_s, states.time_s), names=number == 0)
        draw(axes)
        put_frame(axes, minute_ticks(*axes.get_xlim(), 14), number_ticks(*axes.get_ylim(), 5), x_words=number == len(rows) - 1)
        figure.text(0.012, bottom + height * (len(rows) - 0.57 - number), label, rotation=90.0, ha="left", va="center",
                    multialignment="center")  # fmt: skip
    figure.text(0.545, 0.008, "time, UTC", ha="center", va="bottom")
    return figure


def _deviation(axes: Axes, motion: Motion, reversal: Reversal, states: States, standard: Standard) -> None:
    """Deviation from the course flown, in degrees; full scale is written at the right."""
    full = motion.charted.guidance.full_scale_rad
    axes.axhline(0.0, color=QUIET, lw=0.7, zorder=2)
    if full is not None:
        allowed = standard["course_deviation"].value * full / DEG
        for sign in (1.0, -1.0):
            axes.axhline(sign * allowed, color=WARN, lw=0.9, ls=(0, (6, 3)), zorder=2)
        share = standard["course_deviation"].value
        axes.text(0.998, allowed, f"{share:g} of full scale", transform=axes.get_yaxis_transform(), ha="right", va="bottom",
                  fontsize=7.5, color=WARN)  # fmt: skip
    for part in reversal.parts:
        if part.name not in ("outbound", "inbound"):
            continue
        leg, outbound = part.name, part.name == "outbound"
        inside = states.between(part.start_s, part.end_s)
        if len(inside):
            angle, counted = deviation_series(inside, motion.charted, outbound)
            deviation = angle / DEG
            time, far_off, close_off = with_breaks(
                inside.time_s, inside.time_s, np.where(counted, deviation, np.nan), np.where(counted, np.nan, deviation)
            )
            axes.plot(time, far_off, color=LEG_COLOUR[leg], zorder=4)
            axes.plot(time, close_off, color=LEG_COLOUR[leg], lw=0.8, ls=(0, (1, 1.5)), zorder=4)
    axes.set_ylim(-_DEVIATION_SHOWN_DEG, _DEVIATION_SHOWN_DEG)
    axes.text(0.008, 0.95, "right", transform=axes.transAxes, fontsize=7.5, color=QUIET, va="top")
    axes.text(0.008, 0.05, "left", transform=axes.transAxes, fontsize=7.5, color=QUIET, va="bottom")


def _bank(axes: Axes, states: States, standard: Standard) -> None:
    bank, limit = states.bank_rad / DEG, standard["turn_bank"].value
    axes.axhline(0.0, color=QUIET, lw=0.7, zorder=2)
    for sign in (1.0, -1.0):
        axes.axhline(sign * limit, color=WARN, lw=0.9, ls=(0, (6, 3)), zorder=2)
    axes.text(0.998, limit, f"{limit:g}°", transform=axes.get_yaxis_transform(), ha="right", va="bottom", fontsize=7.5,
              color=WARN)  # fmt: skip
    axes.plot(*with_breaks(states.time_s, states.time_s, bank), color=INK, zorder=4)
    reach = max(limit, float(np.abs(bank).max())) + 14.0
    axes.set_ylim(-reach, reach)
    axes.text(0.008, 0.95, "right", transform=axes.transAxes, fontsize=7.5, color=QUIET, va="top")
    axes.text(0.008, 0.05, "left", transform=axes.transAxes, fontsize=7.5, color=QUIET, va="bottom")


def _altitude(axes: Axes, motion: Motion, reversal: Reversal, states: States) -> None:
    axes.plot(*with_breaks(states.time_s, states.time_s, states.altitude_m / FT), color=INK, zorder=4)
    for leg, floor in motion.charted.floors_m.items():
        for span in reversal.leg_spans(leg):
            axes.plot([max(span[0], states.time_s[0]), span[1]], [floor / FT] * 2, color=WARN, lw=1.1, zorder=3)


def _speed(axes: Axes, motion: Motion, states: States) -> None:
    time, ground = with_breaks(states.time_s, states.time_s, states.ground_speed_mps / KT)
    axes.plot(time, ground, color=INK, zorder=4, label="over the ground")
    if motion.wind is not None:
        time, air = with_breaks(states.time_s, states.time_s, states.true_airspeed_mps / KT)
        axes.plot(time, air, color=QUIET, lw=1.0, ls=(0, (4, 2)), zorder=3,
                  label="through the air, estimated")  # fmt: skip
        axes.legend(loc="upper left", fontsize=7.5, frameon=False, ncols=2, borderaxespad=0.1, handlelength=2.2)
        low, high = axes.get_ylim()
        axes.set_ylim(low, high + 0.3 * (high - low))

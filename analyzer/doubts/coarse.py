"""Whether the positions of a log are frequent and accurate enough to show shapes and turns."""

from __future__ import annotations

from collections.abc import Iterator

from analyzer.doubts.doubt import Doubt
from analyzer.motion.motion import Motion
from analyzer.physics.units import NM

__all__ = ["coarse"]

_SELDOM_S = 20.0  # a turn of 180° at 3° a second lasts three times as long
_SCATTER_M = 0.15 * NM  # about a third of the radius of a turn at 90 kt
_REASON = "its positions are too coarse"


def coarse(motion: Motion) -> Iterator[Doubt]:
    """A doubt if positions are so rare, or scatter so much, that the parts of a reversal run into each other."""
    seldom, scatter = motion.track.interval_s, motion.path.noise_sd
    if seldom > _SELDOM_S:
        what = f"The log has one position every {seldom:.0f} s, only a few in a turn back"
    elif scatter > _SCATTER_M:
        what = f"The positions scatter by {scatter / NM:.1f} NM about any path that could have been flown"
    else:
        return
    yield Doubt(f"{what}: where its legs begin and end, and which shape they make, is a guess.", "all", _REASON)

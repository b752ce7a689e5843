"""What a flight is by its own draft: the draft is written, read back and flown against, and what does not agree is listed."""

import math
from pathlib import Path

import numpy as np

from analyzer import debrief
from analyzer.debriefs.data import Approach
from analyzer.draft.drafting import Draft, FixGiven, draft
from analyzer.physics.geodesy import inverse_near
from analyzer.physics.units import DEG
from analyzer.procedure.charted import Charted
from analyzer.procedure.read import read_procedure
from analyzer.procedure.write import procedure_toml
from analyzer.track.track import Track

# what is drafted from the flight itself, so that no flight can be outside of it by its own draft
OWN = {"reversal_side", "reversal_shape", "no_reversal", "distance_limit", "altitude_floor", "minimum_altitude", "arc_radius",
       "leg_limit", "missed_turn", "missed_course", "missed_altitude"}  # fmt: skip
SAME_S = 5.0  # of when the approach began
STRAYED_DEG = 1.0  # beyond what was flown, as the course is drafted to a degree
LEG_S, LEG_NM = 5.5, 0.3  # of a hold's leg, which is drafted to five seconds or half a mile


def drafted_again(track: Track, fix: FixGiven, folder: Path) -> tuple[Draft, Approach, Charted]:
    """The draft of a flight and the approach that its debrief by that finds, the file written and read on the way."""
    drafted = draft(track, fix)
    file = folder / "draft.toml"
    file.write_text(procedure_toml(drafted.procedure, "A draft.", drafted.remarks), encoding="utf-8")
    read = read_procedure(file)
    assert read == drafted.procedure
    debriefed = debrief(track, read)
    found = [
        one
        for one in debriefed.approaches
        if one.reversal.flown == drafted.flown and abs(one.reversal.begun_s - drafted.begun_s) < SAME_S
    ]
    assert found, f"drafted as {drafted.flown}, which is not found again"
    return drafted, found[-1], debriefed.motion.charted


def not_as_flown(track: Track, fix: FixGiven, folder: Path) -> list[str]:
    """Where the debrief by the draft of a flight does not say what was flown; empty where it does."""
    drafted, approach, charted = drafted_again(track, fix, folder)
    wrong = [f"{one.check}: {one.sentence}" for one in approach.findings if one.verdict == "outside" and one.check in OWN]
    wrong += _course(track, charted, approach)
    return wrong + _leg(drafted, approach)


def _course(track: Track, charted: Charted, approach: Approach) -> list[str]:
    """The inbound course lies among the bearings that the inbound leg or the way on was flown on."""
    bearings: list[float] = []
    for name, turned in (("inbound", math.pi), ("final", 0.0)):
        part = approach.reversal.last_part(name)
        if part is not None:
            at = (track.time_s >= part.start_s) & (track.time_s <= part.end_s)
            distance, bearing = inverse_near(
                charted.fix_latitude_rad, charted.fix_longitude_rad, track.latitude_rad[at], track.longitude_rad[at]
            )
            bearings += list(bearing[distance > 1852.0] + turned)
    off = np.array([math.remainder(one - charted.inbound_true_rad, math.tau) / DEG for one in bearings])
    if len(off) and not off.min() - STRAYED_DEG <= 0.0 <= off.max() + STRAYED_DEG:
        return [f"inbound course: flown {off.min():.1f}° to {off.max():.1f}° off it"]
    return []


def _leg(drafted: Draft, approach: Approach) -> list[str]:
    """The leg of a hold is near the middle of those that its timing measures, or within ten seconds of the usual."""
    found = [one.measured for one in approach.findings if one.check == "hold_timing" and isinstance(one.measured, float)]
    reversal = drafted.procedure.reversal
    if reversal.leg_length_nm is not None:
        near = abs(max(found) - reversal.leg_length_nm) <= LEG_NM
    elif reversal.leg_time_s is not None and found:
        near = abs(float(np.median(found)) - reversal.leg_time_s) <= (10.0 if reversal.leg_time_s in (60.0, 90.0) else LEG_S)
    else:
        return []
    return [] if near else [f"leg {reversal.leg_time_s or reversal.leg_length_nm} drafted, {found} flown"]

"""The minimums of a chart along the inbound course, and the lowest way that keeps them: what the profile of a chart draws."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyzer.frozen import dataclass
from analyzer.physics.units import FT, NM
from analyzer.procedure.resolve_fixes import along_inbound
from analyzer.vocabulary import Leg

if TYPE_CHECKING:
    from analyzer.procedure.charted import Charted

__all__ = ["Step", "lowest_way", "steps_of"]

_DOWN_FT_NM = 318.0  # the descent between levels, of 3 degrees
_ESTABLISHED_SHARE = 0.5  # of the way out: where the inbound course is drawn as reached
_ONE_PLACE_NM = 0.05
_LEAST_BEYOND_NM = 2.0  # drawn beyond the last fix where nothing else says how far the final course goes
_Way = list[tuple[Leg, list[tuple[float, float]]]]


@dataclass(frozen=True)
class Step:
    """A minimum that holds until a place along the inbound course [NM], with the maximum at its end, of a leg.

    `name` is of the fix that it ends at, empty at the end of a leg; `word` says what kind of minimum it is. `repeats` says that
    it adds nothing: the step before has the same altitudes, or a higher one ends at the same place.
    """

    until_nm: float
    floor_m: float
    leg: Leg
    name: str = ""
    word: str = ""
    ceiling_m: float | None = None
    repeats: bool = False


def steps_of(charted: Charted, out_nm: float) -> list[Step]:
    """The steps inbound in the order in which they end; `out_nm` is where the way in begins (negative), nought for none."""
    final_nm = final_begins_nm(charted, out_nm)
    steps = []
    if "reversal" in charted.floors_m and out_nm < 0.0:
        established = min(out_nm * _ESTABLISHED_SHARE, final_nm - 0.1)
        steps.append(Step(established, charted.floors_m["reversal"], "reversal", ceiling_m=charted.ceilings_m.get("reversal")))
    if "inbound" in charted.floors_m:
        steps.append(Step(final_nm, charted.floors_m["inbound"], "inbound", ceiling_m=charted.ceilings_m.get("inbound")))
    for fix in charted.fixes:
        if fix.minimum_m is not None:
            leg: Leg = "final" if fix.along_m / NM > final_nm else "inbound"
            steps.append(Step(fix.along_m / NM, fix.minimum_m, leg, fix.name, ceiling_m=fix.maximum_m))
    if charted.minimum is not None:
        minimum = charted.minimum
        steps.append(Step(_end_nm(charted, steps), minimum.altitude_m, "final", "minimum", minimum.kind.upper()))
    return list(_told_apart(sorted(steps, key=lambda step: step.until_nm)))


def final_begins_nm(charted: Charted, out_nm: float) -> float:
    """Where the final leg begins: at the final approach fix, else at the reversal fix; on the field half-way in. [NM]"""
    faf = charted.fix_of("final-approach-fix")
    return faf.along_m / NM if faf is not None else out_nm * _ESTABLISHED_SHARE if charted.on_field else 0.0


def _end_nm(charted: Charted, steps: list[Step]) -> float:
    """Where the minimum is kept until: the missed approach point, else the threshold, else some way beyond the last step."""
    point = charted.fix_of("missed-approach-point")
    if point is not None:
        return point.along_m / NM
    if charted.runway is not None:
        runway = charted.runway
        return along_inbound(charted.procedure, charted.inbound_true_rad, runway.latitude_rad, runway.longitude_rad) / NM
    return max([0.0, *(step.until_nm for step in steps), *(fix.along_m / NM for fix in charted.fixes)]) + _LEAST_BEYOND_NM


def _told_apart(steps: list[Step]) -> Iterator[Step]:
    before = None
    for step in steps:
        same = before is not None and (before.floor_m, before.ceiling_m) == (step.floor_m, step.ceiling_m)
        same |= any(abs(other.until_nm - step.until_nm) < _ONE_PLACE_NM and other.floor_m > step.floor_m for other in steps)
        yield Step(step.until_nm, step.floor_m, step.leg, step.name, step.word, step.ceiling_m, same)
        before = step


def lowest_way(charted: Charted, steps: list[Step], begin_nm: float, threshold_nm: float | None) -> _Way:
    """The lowest way in that keeps all steps, leg by leg, as places along the course [NM] with their altitudes [ft].

    A decision altitude with a glide path is flown down that path from where it meets the step before.
    """
    way: _Way = []
    nm, feet = begin_nm, steps[0].floor_m / FT if steps else 0.0
    for number, step in enumerate(steps):
        if step.until_nm <= nm:
            continue
        floor = max(later.floor_m / FT for later in steps[number:] if later.until_nm >= step.until_nm)
        path = _glide(charted, threshold_nm) if step.leg == "final" else None
        places = [(nm, feet)]
        if path is not None and floor < feet:
            meets = max(nm, path[0] - (feet - path[1]) / path[2])
            down = path[0] - (floor - path[1]) / path[2]
            places += [(meets, feet), (min(down, step.until_nm), max(floor, path[1] + path[2] * (path[0] - step.until_nm)))]
        elif floor > feet:
            places.append((nm, floor))
        elif floor < feet:
            down = min(nm + (feet - floor) / _DOWN_FT_NM, nm + 0.7 * (step.until_nm - nm))
            places.append((down, floor))
        if places[-1][0] < step.until_nm:
            places.append((step.until_nm, places[-1][1]))
        way.append((step.leg, places))
        nm, feet = places[-1]
    return way


def _glide(charted: Charted, threshold_nm: float | None) -> tuple[float, float, float] | None:
    """The glide path: its place over the threshold [NM], its height there [ft], and its descent [ft/NM]; None for none."""
    angle, height, runway = charted.glide_path_rad, charted.threshold_crossing_height_m, charted.runway
    if angle is None or height is None or runway is None or threshold_nm is None:
        return None
    return threshold_nm, (runway.elevation_m + height) / FT, math.tan(angle) * NM / FT

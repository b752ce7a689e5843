"""The approach that a user names: of the shapes allowed the best, though none may fit well enough to be recognised."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from analyzer.frozen import dataclass
from analyzer.legs.assemble import Window, assemble
from analyzer.legs.bounds import reversal_reach_m
from analyzer.legs.fits import misfits
from analyzer.legs.grammar import SHAPES, Shape
from analyzer.legs.match import Match, best_approach, comes_home, explains, matches_of, recognised_matches, taken
from analyzer.legs.misfit import Misfit, as_charted
from analyzer.legs.named import clock
from analyzer.legs.reversal import NamedAs, Reversal
from analyzer.motion.motion import Motion
from analyzer.physics.units import NM
from analyzer.procedure.values import ReversalKind
from analyzer.vocabulary import PartName, ShapeName

__all__ = ["Impossible", "named_approach"]


@dataclass(frozen=True)
class Impossible:
    """Why nothing in a stretch can be taken for a shape that was named: a clause."""

    why: str


def named_approach(
    motion: Motion, windows: Sequence[Window], shapes: Sequence[ShapeName], *, passage: bool
) -> Reversal | Impossible:
    """The approach from a passage on, in the shortest of some windows that one of the shapes can be flown in.

    `shapes` are those allowed, empty for all that are looked for under the chart; `passage` says whether the passage was named
    too. What recognition by itself finds in the first window is the approach if its shape is allowed.
    """
    recognised = best_approach(motion, windows[0]) if windows else None
    named = NamedAs(passage, bool(shapes), None)
    if recognised is not None and (not shapes or recognised.flown in shapes):
        return replace(recognised, named=named)
    why: list[Impossible] = []
    for number, window in enumerate(windows):
        found = _best(motion, window, _allowed(shapes, motion.charted.kind, from_passage=window.outbound is not None))
        if isinstance(found, Impossible):
            why.append(found)
            continue
        match, wrong = found
        if number and any(one.part == "outbound" for one in wrong):
            continue  # over another passage, it would have to begin at this one plainly
        approach = _assembled(motion, window, match)
        if any(step.part == "offset_turn" for step in match.shape.steps) and approach.part("offset_turn") is None:
            why.append(Impossible("no turn off the outbound course comes before the turn back"))
            continue
        against = tuple(_against(motion, window, match, wrong, approach, recognised))
        unlike = tuple(dict.fromkeys((*match.unlike, *(one.part for one in wrong if one.part is not None))))
        return replace(approach, named=replace(named, against=against, unlike=unlike))
    return why[0] if why else Impossible("the log holds nothing there")


def _allowed(shapes: Sequence[ShapeName], kind: ReversalKind, *, from_passage: bool) -> list[Shape]:
    """The rows of the grammar for some shapes, those for a kind of chart where there are such; for none, all for that kind."""
    rows = [shape for shape in SHAPES if shape.from_passage == from_passage and (not shapes or shape.name in shapes)]
    for_chart = [shape for shape in rows if not shape.charts or kind in shape.charts]
    others = {shape.name for shape in rows} - {shape.name for shape in for_chart}
    return [*for_chart, *(shape for shape in rows if shapes and shape.name in others)]


def _best(motion: Motion, window: Window, shapes: Sequence[Shape]) -> tuple[Match, tuple[Misfit, ...]] | Impossible:
    """The shape that the least is wrong with, of those that have what is essential, and what that is.

    Of several, the charted one is taken, for pilots mean to fly the chart, and then that of the greatest gain.
    """
    matches = [match for match in matches_of(motion, window, shapes) if math.isfinite(match.gain)]
    weighed = [(match, tuple(misfits(motion, window, match.shape, match.side, match.cut))) for match in matches]
    possible = [(match, wrong) for match, wrong in weighed if not any(one.essential for one in wrong)]
    if possible:
        return min(
            possible,
            key=lambda pair: (
                len(pair[0].unlike) + len(pair[1]),
                not as_charted(motion, pair[0].shape, pair[0].side),
                -pair[0].gain,
            ),
        )
    lacking = [one for _, wrong in sorted(weighed, key=lambda pair: -pair[0].gain) for one in wrong if one.essential]
    least = min((shape.least_turn_deg for shape in shapes), default=0.0)
    several = len({shape.name for shape in shapes}) > 1 and all(one.part == "reversal_turn" for one in lacking)
    words = lacking[0].words if lacking and not several else f"no turn back of {least:.0f}° or more follows"
    return Impossible(f"{words} before {_end(motion, window)}" if words.startswith("no turn") else words)


def _end(motion: Motion, window: Window) -> str:
    """What a window that begins with a passage ends with, as a clause."""
    if window.inbound is not None:
        return f"the fix is passed at {clock(window.inbound.time_s)}"
    if window.end == "last step, any second":
        return f"the aircraft is more than {reversal_reach_m(motion.charted) / NM:.0f} NM away"
    return "the log ends"


def _assembled(motion: Motion, window: Window, match: Match) -> Reversal:
    others = [other.gain for other in recognised_matches(motion, window) if (other.shape.name, other.side) != _key(match)]
    return assemble(motion, replace(window, states=taken(window, match)), match.shape, match.side, match.cut,
                    match.gain - max([0.0, *others]))  # fmt: skip


def _key(match: Match) -> tuple[ShapeName, int]:
    return match.shape.name, match.side


def _against(
    motion: Motion, window: Window, match: Match, wrong: Sequence[Misfit], approach: Reversal, recognised: Reversal | None
) -> Iterator[str]:
    """What recognition misses in an approach, most telling first."""
    yield from dict.fromkeys(one.words for one in wrong)
    about: set[PartName | None] = {one.part for one in wrong}
    yield from (f"the {_words(part)} is not flown like one" for part in match.unlike if part not in about)
    if not comes_home(motion, window, approach, as_charted(motion, match.shape, match.side)):
        yield "it does not come back on the inbound course"
    if recognised is None and not wrong and not match.unlike and not explains(motion, window, match):
        yield "as a whole it explains the flight hardly better than any other flying would"


def _words(part: PartName) -> str:
    return f"{part.replace('_', ' ')}{' leg' if part in ('outbound', 'inbound') else ''}"

"""Finding the approaches that a user names: which passage each belongs to, and what is flown from it or to it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from analyzer.errors import FlownError
from analyzer.legs.hidden import gap_words
from analyzer.legs.match_named import Impossible, named_approach
from analyzer.legs.named import Named, begins_at_fix, passage_of, passed_words
from analyzer.legs.passages import Abeam, find_passages
from analyzer.legs.reversal import Reversal
from analyzer.legs.windows import window_from, window_to
from analyzer.motion.motion import Motion

__all__ = ["NOTHING_NAMED", "AtPassage", "led_as_named", "nearest_from", "placed", "reversed_as_named"]

AtPassage = Mapping[float, Named]  # what is named, by the instant of its passage
NOTHING_NAMED: Final[AtPassage] = MappingProxyType({})


def placed(motion: Motion, named: Sequence[Named]) -> AtPassage:
    """The approaches named, each at its passage: the one given, or the only one that its shape can belong to.

    Raises `FlownError` where there is no such passage, or where several would do.
    """
    passages = find_passages(motion.states)
    found: dict[float, Named] = {}
    for one in named:
        passage = passage_of(one, passages) or _only_passage(motion, passages, one)
        if passage.time_s in found:
            raise FlownError(f"flown {one.word}: something else is named at that passage too; give each passage once")
        found[passage.time_s] = one
    return found


def reversed_as_named(
    motion: Motion, came_back_s: float, free_from_s: float, passages: Sequence[Abeam], named: Named
) -> Reversal:
    """The reversal from the first of some passages, flown up to the next one by which it can have come back."""
    return _possible(_reversed(motion, came_back_s, free_from_s, passages, named), named)


def led_as_named(motion: Motion, free_from_s: float, before: Abeam | None, passage: Abeam, named: Named) -> Reversal:
    """The arc or straight-in that leads to a passage from the one before."""
    return _possible(_led(motion, free_from_s, before, passage, named), named)


def _possible(found: Reversal | Impossible, named: Named) -> Reversal:
    if isinstance(found, Impossible):
        raise FlownError(f"flown {named.word}: that cannot be: {found.why}; name another passage or another shape")
    return found


def nearest_from(motion: Motion, passages: Sequence[Abeam]) -> Reversal | Impossible:
    """What comes nearest to a reversal from the first of some passages, as it would be if it were named, or why nothing can."""
    begins = float(motion.states.time_s[0])
    return _reversed(motion, begins, begins, passages, Named("", passages[0].time_s, ()))


def _reversed(
    motion: Motion, came_back_s: float, free_from_s: float, passages: Sequence[Abeam], named: Named
) -> Reversal | Impossible:
    windows = []
    for after in (*passages[1:], None):
        window = window_from(motion, came_back_s, free_from_s, passages[0], after)
        if window is not None:
            windows.append(window)
            if window.end == "last step, any second":
                break  # it is gone by then, and further windows are the same
    return named_approach(motion, windows, named.shapes, passage=named.time_s is not None)


def _led(motion: Motion, free_from_s: float, before: Abeam | None, passage: Abeam, named: Named) -> Reversal | Impossible:
    window = window_to(motion, before, passage, free_from_s)
    if window is None:
        return Impossible("the log holds nothing before it")
    found = named_approach(motion, [window], named.shapes, passage=named.time_s is not None)
    if isinstance(found, Reversal) and found.part("inbound") is None:
        return Impossible("the inbound course is not joined before it")
    return found


def _only_passage(motion: Motion, passages: Sequence[Abeam], named: Named) -> Abeam:
    """The passage that a shape belongs to: the only one that it is possible at, or that recognition finds an approach at."""
    possible, why = [], Impossible(passed_words(passages))
    for passage, found in _tried(motion, passages, named):
        if isinstance(found, Impossible):
            why = found
        else:
            possible.append((passage, found))
    if not possible:
        hidden = gap_words(motion)
        but = f"; {hidden}, which may hide it" if hidden else ""
        raise FlownError(f"flown {named.word}: that cannot be from any passage of the fix: {why.why}{but}")
    recognised = [one for one in possible if one[1].named is not None and one[1].named.recognised is not None]
    if len(possible) > 1 and len(recognised) != 1:
        raise FlownError(
            f"flown {named.word}: it may belong to more than one passage; name the one, like TIME={named.word}: "
            f"{passed_words([passage for passage, _ in possible])}"
        )
    return (recognised or possible)[0][0]


def _tried(motion: Motion, passages: Sequence[Abeam], named: Named) -> Iterator[tuple[Abeam, Reversal | Impossible]]:
    """What a shape that is named comes to at each passage."""
    begins = float(motion.states.time_s[0])
    for number, passage in enumerate(passages):
        if begins_at_fix(named.shapes):
            yield passage, _reversed(motion, begins, begins, passages[number:], named)
        else:
            yield passage, _led(motion, begins, passages[number - 1] if number else None, passage, named)

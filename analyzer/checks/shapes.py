"""Check of the shape of the reversal, where the chart prescribes it: a depicted track, or a base turn."""

from __future__ import annotations

from analyzer.checks.check import Check
from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE, Context, Finding
from analyzer.procedure.charted import Charted
from analyzer.vocabulary import ShapeName

__all__ = ["CHECKS", "binding_shapes", "reversal_shape"]

_LEAST_GAP = 40.0  # of log-likelihood between shapes; flights of known shape have more, so less is too close to call


def binding_shapes(charted: Charted) -> tuple[ShapeName, ...]:
    """The shapes that the chart prescribes; empty where the kind of turn is the pilot's choice.

    Under a barb it is the pilot's choice (AIM 5-4-9 a.1), and the entries of holds have their own check. A procedure turn
    depicted with an offset course is a 45/180.
    """
    if charted.kind == "base-turn":
        return ("base-turn",)
    if charted.kind == "procedure-turn" and charted.depicted_track:
        drawn = charted.procedure.reversal.offset_course_deg is not None
        return ("45/180",) if drawn else ("45/180", "80/260")
    return ()


def reversal_shape(context: Context) -> tuple[Finding, ...]:
    """The shape flown against the prescribed one; too close to call where the next best shape fits the track as well."""
    charted, reversal = context.motion.charted, context.reversal
    binding = binding_shapes(charted)
    if not binding or reversal.side is None:
        return ()
    agrees = reversal.flown in binding
    gap = reversal.score_gap if reversal.score_gap is not None else 0.0
    what = " or ".join(binding)
    binds = "the charted track is binding" if charted.depicted_track else "the charted turn is binding"
    words = what.replace("base-turn", "base turn")
    flown = f"as charted: {words}" if agrees else f"as {context.flown_words}, but a {words} is charted: {binds}"
    first = reversal.part("offset_turn") or reversal.part("outbound") or reversal.part("reversal_turn")
    turned_back = reversal.part("reversal_turn") is not None
    return (
        Finding(
            check="reversal_shape",
            leg="reversal",
            part=first.name if first is not None else None,
            sentence=f"Reversal flown {flown}.",
            verdict=NOT_ASSESSED if not turned_back else INSIDE if agrees else OUTSIDE if gap >= _LEAST_GAP else CLOSE,
            reason=None if turned_back else "the log ends before the turn back",
            measured=reversal.flown,
            limit=what,
            source="charted; AIM 5-4-9 a.1: a track that is charted is flown as drawn"
            if charted.depicted_track
            else "charted; AIM 5-4-9 a.4: a teardrop that is charted is the turn to fly",
            details={"score_gap": gap},
            place=context.place(first.start_s) if first is not None else None,
        ),
    )


CHECKS = (
    Check(
        "reversal_shape",
        reversal_shape,
        "The shape flown, where the chart leaves no choice: a track drawn as it is to be flown, or a base turn.",
        "The shape that fits the track best; too close to call where the next best fits nearly as well.",
        weight=5.0,
        fails_outright=True,
        in_words=True,
    ),
)

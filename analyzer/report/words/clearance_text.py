"""Report text on the clearance and the line of minimums, as sentences and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from analyzer.checks.phrases import HeightUnit, height_unit
from analyzer.physics.units import FT
from analyzer.procedure.charted import Charted
from analyzer.procedure.clearance import AS_CHARTED, Clearance
from analyzer.vocabulary import Leg

__all__ = ["clearance_words", "cleared_document", "minimum_document", "minimum_sentence", "settled_sentences"]

_WAYS = {"straight-in": "straight in", "vectors": "vectors to the final course"}


def settled_sentences(charted: Charted) -> Iterator[str]:
    """The clearance, and the minimum that applies if several are charted."""
    cleared = _cleared_sentence(charted)
    yield from (sentence for sentence in (cleared, minimum_sentence(charted)) if sentence)


def clearance_words(clearance: Clearance, height: HeightUnit) -> str:
    """A clearance in words: ``straight in; assigned 3,000 ft on the arrival leg``; empty where nothing was cleared."""
    ways = [_WAYS[clearance.way]] if clearance.way is not None else []
    assigned = ", ".join(f"{height.text(altitude_m)} {_where(leg)}" for leg, altitude_m in clearance.assigned_m)
    return "; ".join([*ways, *([f"assigned {assigned}"] if assigned else [])])


def minimum_sentence(charted: Charted) -> str:
    """The minimum with its line and category if several are charted; else empty."""
    minimum = charted.minimum
    if minimum is None or not charted.procedure.minimums:
        return ""
    altitude = f"{_height(charted).text(minimum.altitude_m)}{' (assigned)' if charted.assigned('final') else ''}"
    category = charted.procedure.category or minimum.category
    of = () if category is None else (f"{'category' if len(category) == 1 else 'categories'} {category}",)
    return f"Minimum: {', '.join((altitude, minimum.line, *of))}."


def cleared_document(clearance: Clearance) -> dict[str, Any] | None:
    """A clearance as JSON values, altitudes in feet; None where nothing was cleared."""
    if clearance == AS_CHARTED:
        return None
    return {
        "way": clearance.way,
        "assigned_ft": {leg: round(altitude_m / FT, 1) for leg, altitude_m in clearance.assigned_m},
    }


def minimum_document(charted: Charted) -> dict[str, Any] | None:
    """The minimum that applies as JSON values; None where none is charted."""
    minimum = charted.minimum
    if minimum is None:
        return None
    return {
        "kind": minimum.kind,
        "altitude_ft": round(minimum.altitude_m / FT, 1),
        "line": minimum.line,
        "category": charted.procedure.category or minimum.category,
        "assigned": charted.assigned("final"),
    }


def _height(charted: Charted) -> HeightUnit:
    return height_unit(charted.altitude_unit)


def _where(leg: Leg) -> str:
    return "in the hold" if leg == "hold" else f"on the {leg} leg"


def _cleared_sentence(charted: Charted) -> str:
    height = _height(charted)
    words = clearance_words(charted.cleared, height)
    levels = charted.levels_m
    higher = "".join(
        f" The minimum {_where(leg)} is higher, {height.text(levels[leg])}, and stays."
        for leg, altitude_m in charted.cleared.assigned_m
        if leg in levels and levels[leg] > altitude_m
    )
    return f"Cleared: {words}.{higher}" if words else ""

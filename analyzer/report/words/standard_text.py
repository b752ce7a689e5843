"""A standard in plain text: its limits, each with its source and how the source was read."""

from __future__ import annotations

from analyzer.checks.limits import SEEN, Standard
from analyzer.checks.phrases import unit_text
from analyzer.checks.run import LIMITS
from analyzer.checks.standard import built_in_standards, read_standard
from analyzer.report.words.layout import wrapped

__all__ = ["standard_check_text", "standard_text", "standards_text"]


def standards_text() -> str:
    """The built-in standards, one line each."""
    standards = [read_standard(name) for name in built_in_standards()]
    width = max(len(standard.name) for standard in standards)
    return "".join(f"{standard.name:<{width}}  {standard.title}{_based_on(standard)}\n" for standard in standards)


def _based_on(standard: Standard) -> str:
    return f"; based on {standard.based_on}" if standard.based_on is not None else ""


def standard_check_text(standard: Standard) -> str:
    """Which limits a standard's file sets itself, and ``ok``."""
    named = ", ".join(name.replace("_", " ") for name in standard.own) or "nothing"
    return "\n".join([*wrapped(f"{standard.title}{_based_on(standard)}; sets {named} itself."), "ok"]) + "\n"


def standard_text(standard: Standard) -> str:
    """Every limit of a standard with value, meaning, source and how the source was read."""
    named = standard.title if standard.title == standard.name else f"{standard.title} ({standard.name})"
    lines = wrapped(f"{named}{_based_on(standard)}")
    for name in LIMITS:
        limit = standard.get(name)
        if limit is None:
            lines += ["", f"{name.replace('_', ' ')}: none; this standard does not judge it"]
            continue
        inherited = "" if name in standard.own or standard.based_on is None else f" [{standard.based_on}]"
        lines += ["", f"{name.replace('_', ' ')}: {limit.value:,g}{unit_text(limit.unit)}{inherited}"]
        if limit.by_category:
            by_category = ", ".join(f"{key} {value:g}" for key, value in sorted(limit.by_category.items()))
            lines += wrapped(f"by category: {by_category}", "  ")
        if limit.by_altitude_ft:
            bands = ", ".join(f"{value:g} to {top:,.0f} ft" for top, value in sorted(limit.by_altitude_ft.items()))
            lines += wrapped(f"by altitude: {bands}, {limit.value:g} above", "  ")
        lines += wrapped(limit.meaning, "  ")
        if limit.reading:
            lines += wrapped(f"reading: {limit.reading}", "  ")
        lines += wrapped(f"{limit.source} ({SEEN[limit.seen]})", "  ")
    return "\n".join(lines) + "\n"

"""One check explained in plain text: what it measures, its limit and source, and the numbers behind each finding."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from analyzer.checks.finding import Finding
from analyzer.checks.limits import SEEN, Limit
from analyzer.checks.phrases import check_name, clock, part_words, unit_text, value_text
from analyzer.checks.run import CHECKS
from analyzer.errors import StandardError
from analyzer.physics.units import DEG
from analyzer.report.words.layout import labelled, wrapped
from analyzer.report.words.summary import lesson_lines

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData
    from analyzer.procedure.charted import Charted

__all__ = ["explain_text"]

_labelled = partial(labelled, columns=12)
_MANY_SD = 100.0  # from where the number itself says nothing more
_UNITS = {"nm": "NM", "ft": "ft", "kt": "kt", "deg": "deg", "fpm": "fpm", "s": "s"}  # in the names of details


def explain_text(debrief: DebriefData, check: str) -> str:
    """The explanation of a check with its findings in a debrief. Raises `StandardError` for an unknown check."""
    definition = next((row for row in CHECKS.values() if row.name == check), None)
    if definition is None:
        near = difflib.get_close_matches(check, CHECKS, n=1)
        meant = f"did you mean {near[0]}? Checks are" if near else "choose from"
        raise StandardError(f"--explain {check}: no such check; {meant} {', '.join(CHECKS)}")
    lines = [check_name(check).capitalize(), "", *_labelled("measures", definition.text)]
    lines += _labelled("how", definition.formula)
    limits = {name: debrief.standard.get(name) for name in definition.limits if _applies(name, debrief.motion.charted)}
    known = any(limit is not None for limit in limits.values())
    for name, limit in limits.items():
        if limit is None and known:
            continue  # the standard leaves this limit out, and the check does not apply it
        lines += _labelled("limit", _limit(name, limit, debrief.standard.name) if limit is not None else _none(name, debrief))
        if limit is not None and limit.reading:
            lines += _labelled("reading", limit.reading)
    findings = [(section.title, f) for section in debrief.sections for f in section.approach.findings if f.check == check]
    if not findings:
        text = "Nothing to report: it was flown as charted, or what the check looks at was not flown or is not charted."
        lines += ["", *wrapped(text)]
    for title, finding in findings:
        lines += ["", *_finding(finding, title)]
    return "\n".join(lines) + "\n"


def _applies(name: str, charted: Charted) -> bool:
    """Whether a limit can apply to the procedure: holding speeds only to a hold, the reversal speed only to other reversals."""
    light = any(hold.category is not None and set(hold.category) <= set("AB-") for hold in charted.holds)
    advisory = charted.glide_path_rad is not None and charted.minimum is not None and charted.minimum.kind == "mda"
    return {
        "reversal_speed": charted.kind != "hold",
        "holding_speed": charted.kind == "hold" or bool(charted.holds),
        "holding_speed_ab": light,
        "glide_path": not advisory,
        "glide_path_full_scale": not advisory,
        "decision_altitude": charted.minimum is None or charted.minimum.kind == "da",
        "minimum_descent_altitude": charted.minimum is None or charted.minimum.kind == "mda",
        "minimum_above": charted.minimum is None or charted.minimum.kind == "mda",
    }.get(name, True)


def _limit(name: str, limit: Limit, standard: str) -> str:
    bands = ", ".join(f"{value:g} to {top:,.0f} ft" for top, value in sorted(limit.by_altitude_ft.items()))
    by_altitude = f", by altitude {bands}, {limit.value:g} above" if bands else ""
    return (
        f"{name.replace('_', ' ')} {limit.value:,g}{unit_text(limit.unit)}: {limit.meaning}{by_altitude}. "
        f"Source: {limit.source} ({SEEN[limit.seen]}). Standard {standard}."
    )


def _none(name: str, debrief: DebriefData) -> str:
    return f"{name.replace('_', ' ')}: none; the standard {debrief.standard.name} does not judge it."


def _finding(finding: Finding, title: str) -> Iterator[str]:
    where = part_words(finding.part or finding.leg, finding.lap)
    lap = f", lap {finding.lap}" if finding.lap is not None else ""
    yield f"{finding.verdict.capitalize()}: {where}{lap}{f', {title[0].lower()}{title[1:]}' if title else ''}"
    yield from _labelled("", finding.sentence)
    if finding.reason is not None:
        yield from _labelled("reason", finding.reason)
    if finding.measured is not None:
        yield from _labelled("measured", value_text(finding.measured, finding.unit))
    if finding.limit is not None:
        allowed = f", {finding.tolerance:g}{unit_text(finding.unit)} allowed" if finding.tolerance else ""
        yield from _labelled("against", f"{value_text(finding.limit, finding.unit)}{allowed}")
    if finding.margin is not None and finding.sd is not None:
        inside = "inside" if finding.margin >= 0.0 else "outside"
        yield from _labelled("margin", f"{abs(finding.margin):.3g}{unit_text(finding.unit)} {inside}, {_in_sd(finding)}")
    if finding.sd is not None:
        yield from _labelled(
            "uncertainty", f"{finding.sd:.2g}{unit_text(finding.unit)}, one standard deviation; from {finding.basis}"
        )
    for name, value in sorted(finding.details.items()):
        yield from _labelled("", _detail(name, value))
    if finding.place is not None:
        latitude, longitude = finding.place.latitude_rad / DEG, finding.place.longitude_rad / DEG
        yield from _labelled("where", f"{clock(finding.place.time_s)} UTC, {latitude:.5f}, {longitude:.5f}")
    for word, text in lesson_lines(finding):
        yield from _labelled(word.rstrip(":").lower(), text)
    yield from _labelled("source", finding.source)


def _detail(name: str, value: float) -> str:
    """A number under its name in the JSON export, whose words are the quantity and its unit: ``slant: 11.49 NM``."""
    words = name.split("_")
    unit = next((word for word in words if word in _UNITS), None)
    quantity = " ".join(word for word in words if word != unit)
    return f"{quantity}: {value:.4g}{unit_text(_UNITS[unit]) if unit is not None else ''}"


def _in_sd(finding: Finding) -> str:
    if not finding.sd or finding.margin is None:
        return "no uncertainty stated"
    ratio = abs(finding.margin) / finding.sd
    shown = f"{ratio:.1f}" if ratio < _MANY_SD else f"more than {_MANY_SD:.0f}"
    return f"{shown} standard deviations; less than 2 is too close to call"

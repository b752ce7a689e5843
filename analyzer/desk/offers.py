"""Suggestions for empty fields of a chart form: reciprocals, the offset courses of a 45° barb, and the usual limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from analyzer.physics.units import DEG
from analyzer.procedure.questions import Answers

__all__ = ["offers"]

_BARB_DEG = 45.0
_USUAL_LIMIT_NM, _USUAL_SPEED_KIAS = 10, 200  # AIM 5-4-9 a.3: normally 10 NM, and no more than 200 knots
# AIM 5-3-8 j.4: a minute at or below 14,000 ft, a minute and a half above
_HIGH_FT = 14_000.0
_MINUTE, _MINUTE_AND_A_HALF = ("60", "the usual minute"), ("90", "a minute and a half above 14,000 ft")
_SIDES = {"left": -1.0, "right": 1.0}


def offers(answers: Answers, variation_rad: float | None) -> Mapping[str, tuple[str, str]]:
    """For each field, the suggested text and the reason. `variation_rad` is that of the chart, east positive, if known."""
    return dict(_offers(answers, variation_rad))


def _offers(answers: Answers, variation_rad: float | None) -> Iterator[tuple[str, tuple[str, str]]]:
    def given(table: str, key: str) -> Any:
        return answers.get((table, key))

    inbound, outbound, kind = (
        given("reversal", "inbound_course_deg"),
        given("reversal", "outbound_course_deg"),
        given("reversal", "kind"),
    )
    if inbound is not None:
        yield "reversal.outbound_course_deg", _course(inbound + 180.0, f"the reciprocal of {inbound:03.0f}°")
        if variation_rad is not None:
            yield "runway.true_heading_deg", _course(inbound + variation_rad / DEG, "the final approach course, true")
    if outbound is not None:
        yield "reversal.inbound_course_deg", _course(outbound + 180.0, f"the reciprocal of {outbound:03.0f}°")
    side = _SIDES.get(given("reversal", "side") or "")
    if outbound is not None and side is not None:
        yield "reversal.offset_course_deg", _course(outbound + side * _BARB_DEG, f"45° {given('reversal', 'side')} of outbound")
    if kind == "procedure-turn":
        yield "reversal.within_nm", (str(_USUAL_LIMIT_NM), "the usual limit")
        yield "reversal.maximum_speed_kias", (str(_USUAL_SPEED_KIAS), "the usual maximum speed in a reversal")
    if kind == "hold":
        yield "reversal.leg_time_s", _MINUTE
    if given("altitudes", "outbound_ft") is not None:
        yield "altitudes.reversal_ft", (f"{given('altitudes', 'outbound_ft'):g}", "as outbound")
    yield from _of_rows(answers)


def _of_rows(answers: Answers) -> Iterator[tuple[str, tuple[str, str]]]:
    """What is offered in the rows of holds, arrivals and lines of minimums."""
    climbs = answers.get(("missed_approach", "altitude_ft"))
    for table in dict.fromkeys(table for table, _ in answers):
        name, _, number = table.partition(" ")
        if name == "holds":
            own = answers.get((table, "role")) in (None, "missed-approach")
            lowest = answers.get((table, "minimum_ft")) or (climbs if own else None) or 0.0
            yield f"{table}.leg_time_s", _MINUTE if lowest <= _HIGH_FT else _MINUTE_AND_A_HALF
            if number == "1":
                yield f"{table}.role", ("missed-approach", "the hold of the missed approach")
            if own and climbs is not None:
                yield f"{table}.minimum_ft", (f"{climbs:g}", "the altitude of the missed approach")
            if own and answers.get((table, "name")) is not None:
                yield "missed_approach.to", (str(answers[table, "name"]), "the fix of the hold")
        elif name == "arrivals":
            yield f"{table}.reversal", ("yes", "unless the chart says NoPT")
        elif name == "minimums":
            yield f"{table}.kind", ("mda", "unless the chart says DA")


def _course(degrees: float, why: str) -> tuple[str, str]:
    rounded = round(degrees) % 360
    return f"{rounded or 360:03d}", why

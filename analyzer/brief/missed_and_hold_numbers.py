"""The numbers of the missed approach and of the published holds, each with its derivation."""

from __future__ import annotations

from collections.abc import Iterator

from analyzer.brief.briefed_number import Number, Rule
from analyzer.brief.hold_laps import HoldLaps
from analyzer.brief.leg_length import read_words
from analyzer.brief.missed_path import FirstTurn, MissedPath
from analyzer.checks.phrases import height_unit, side_word
from analyzer.nominal.fly import Turn
from analyzer.physics.units import DEG, FPM, KT, NM, bearing_text

__all__ = ["lap_numbers", "missed_numbers"]

_GROUP = "missed approach"


def missed_numbers(missed: MissedPath) -> Iterator[Number]:
    """The climb, the first turn, and the times to the altitude and to the fix that it leads to."""
    ahead = missed.parts[0]
    air, course = ahead.air, missed.begins.course_rad
    speed = air.hold_course(course)[1]
    rate = missed.climb.at(speed) / FPM
    yield Number(
        _GROUP, "climb straight ahead", rate, "ft/min", f"at {speed / KT:.0f} kt over the ground; {missed.climb.words}"
    )
    if missed.turn is not None:
        yield from _first_turn(missed, missed.turn)
    height = height_unit(missed.charted.altitude_unit)
    levelled = missed.levelled_s
    if levelled is not None and missed.level_m is not None:
        yield Number(_GROUP, "altitude reached after", levelled, "s", f"{height.text(missed.level_m)}, from the point")
    if missed.to is not None:
        parts = missed.parts
        seconds, length = sum(part.seconds for part in parts), sum(part.length_m for part in parts)
        how = f"{length / NM:.1f} NM from the point, at {height.text(float(missed.altitude_m[-1]))}"
        arrival = missed.stages[-1].course_rad
        if arrival is not None:
            how += f", on course {bearing_text(arrival - missed.charted.variation.east_rad)}"
        yield Number(_GROUP, f"over {missed.to} after", seconds, "s", how)


def _first_turn(missed: MissedPath, turn: FirstTurn) -> Iterator[Number]:
    stage = missed.stages[turn.number]
    if not isinstance(stage.segment, Turn):
        return
    height, east = height_unit(missed.charted.altitude_unit), missed.charted.variation.east_rad
    how = f"from the point, {turn.length_m / NM:.1f} NM beyond it, at {height.text(turn.altitude_m)}"
    yield Number(_GROUP, "first turn begins after", turn.seconds, "s", how)
    bank, rate = stage.segment.bank_rad / DEG, stage.air.rate_rad_s / DEG
    heading = (stage.segment.to_heading_rad - east) / DEG % 360.0
    way, seconds = side_word(stage.segment.direction), missed.parts[turn.number].seconds
    how = f"{way}, at {bank:.0f}° of bank, {rate:.1f}°/s, for {seconds:.0f} s"
    yield Number(_GROUP, "first turn to heading", heading, "° mag", how)


def lap_numbers(laps: HoldLaps, title: str) -> Iterator[Number]:
    """The outbound heading and time of the laps after the entry, with their rules of thumb, and the drift."""
    numbers, lap = laps.numbers, laps.laps[-1] if laps.laps else None
    if numbers is None or lap is None:
        return
    east = laps.chart.variation.east_rad
    exact, triple, back = (
        (angle - east) / DEG % 360.0
        for angle in (lap.outbound_heading_rad, numbers.triple_heading_rad, lap.inbound_heading_rad)
    )
    how = f"so that the turn rolls out on the inbound course {numbers.inbound_s:.0f} s before the fix"
    yield Number(title, "outbound heading from lap 2 on", exact, "° mag", how, Rule("three times the inbound drift", triple))
    length = laps.chart.leg_length_m
    rule = Rule("the inbound time", numbers.inbound_s) if length is None else None
    ends = "" if length is None else f", to {length / NM:.1f} NM {read_words(laps.chart)}, which end the leg"
    how = f"from {lap.timed_from}; {lap.level_s:.0f} s from wings level{ends}"
    yield Number(title, "outbound time from lap 2 on", lap.outbound_s, "s", how, rule)
    wanted = "required, from wings level to the fix" if length is None else "at the charted length"
    yield Number(title, "inbound time from lap 2 on", lap.inbound_s, "s", wanted)
    yield Number(title, "inbound heading", back, "° mag", "holds the inbound course in this wind")
    drift = numbers.drift_rad / DEG
    side = "left" if drift < 0.0 else "right"
    yield Number(title, "drift inbound", abs(drift), f"° {side}", "where the wind carries you on the inbound heading")
    off = numbers.triple_off_m / NM
    leg = "standard time" if length is None else "charted length"
    how = f"of the inbound course, with triple drift and {leg}"
    yield Number(title, "by the rule the turn rolls out", abs(off), f"NM {'left' if off < 0.0 else 'right'}", how)

"""The form of a brief filled in from a flight of the same procedure: the wind it met and the airspeeds it flew."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from analyzer.brief.patterns import shapes_of
from analyzer.checks.speeds import flown_speed
from analyzer.debriefs.data import Approach, DebriefData
from analyzer.desk.brief_values import BriefForm
from analyzer.desk.briefing import brief_form
from analyzer.desk.cards import read_card
from analyzer.desk.flights import judged_as_kept, track_of
from analyzer.desk.store import Store
from analyzer.errors import DeskError
from analyzer.physics.units import DEG, KT
from analyzer.report.words.summary import wind_sentence
from analyzer.vocabulary import Leg

__all__ = ["as_flown", "brief_again"]

_AROUND: tuple[Leg, ...] = ("outbound", "reversal", "inbound")
_KELVIN = 273.15


def brief_again(folder: str, log: str, today: str) -> BriefForm:
    """The form of a brief for flying an approach once more, as a flight of the folder found and flew it.

    Raises
    ------
    AnalyzerError
        The flight has no chart yet, or cannot be judged, or the chart cannot be briefed.
    """
    store = Store(Path(folder))
    store.there("logs", log)
    card = read_card(store, log)
    if not card.procedure:
        raise DeskError(f"{log}: no chart is chosen for it yet; choose one first")
    debrief, _ = judged_as_kept(store, log, card, track_of(store, log))
    fields, said = as_flown(debrief)
    form = brief_form(folder, {**fields, "chart": card.procedure}, today)
    return replace(form, filled_from=log, filled=said)


def as_flown(debrief: DebriefData) -> tuple[Mapping[str, str], tuple[str, ...]]:
    """What the fields of a brief hold, and what is said of it, by the last approach of a flight; nothing without one."""
    if not debrief.approaches:
        return {}, ("No approach was recognised in this flight, so nothing is filled in from it.",)
    approach = debrief.approaches[-1]
    fields = {**_wind(approach), **_speeds(debrief, approach), **_choices(debrief, approach)}
    return fields, tuple(_sentences(debrief, approach, fields))


def _wind(approach: Approach) -> Mapping[str, str]:
    wind = approach.figures.wind
    if wind is None:
        return {}
    return {"wind_from_deg": f"{round(wind.from_true_rad / DEG) % 360}", "wind_kt": f"{round(wind.speed_mps / KT)}"}


def _speeds(debrief: DebriefData, approach: Approach) -> Mapping[str, str]:
    """Around the reversal, the median of its legs; on final by itself."""
    flown = {leg: flown_speed(debrief.motion, approach.reversal, leg) for leg in (*_AROUND, "final")}
    around = sorted(speed for leg in _AROUND if (speed := flown[leg]) is not None)
    final = flown["final"]
    speeds = {"speed_kt": around[len(around) // 2] if around else final, "final_kt": final if around else None}
    return {field: f"{round(speed / KT)}" for field, speed in speeds.items() if speed is not None}


def _choices(debrief: DebriefData, approach: Approach) -> Mapping[str, str]:
    """The shape where the chart leaves it to the pilot, and the air that the log was read with."""
    air, shape = debrief.motion.track.air, approach.reversal.flown
    shapes = shapes_of(debrief.motion.charted)
    known = {
        "shape": shape if shape in shapes[1:] else None,
        "qnh_hpa": f"{air.qnh_pa / 100.0:g}" if air.qnh_pa is not None else None,
        "temperature_c": f"{air.field_temperature_k - _KELVIN:g}" if air.field_temperature_k is not None else None,
    }
    return {field: text for field, text in known.items() if text is not None}


def _sentences(debrief: DebriefData, approach: Approach, fields: Mapping[str, str]) -> Iterator[str]:
    if len(debrief.approaches) > 1:
        yield f"Of its {len(debrief.approaches)} approaches the last counts."
    yield wind_sentence(approach.figures)
    speed, final = fields.get("speed_kt"), fields.get("final_kt")
    if speed is None:
        yield "Its airspeed is not known: give yours."
        return
    yield f"Flown at {speed} kt indicated{f', on final at {final} kt' if final is not None else ''}."

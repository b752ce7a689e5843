"""More flights whose truth is known, where a folder of them lies next to the checkout; `test_true_flights` needs none."""

import datetime as dt
import functools
import json
from pathlib import Path
from typing import Any

import pytest
from synthetic import NM

from analyzer import debrief, read_track
from analyzer.library.debrief import Debrief
from analyzer.physics.units import DEG
from analyzer.procedure.schema import Procedure

TRUTH = Path(__file__).parents[3] / "shared" / "truth" / "dev"
LOGS = ("log_clean.csv", "log_noisy.csv", "log_sparse.csv", "log_irregular.csv", "log.gpx")
WORD = {"L": "left", "R": "right"}


def flights() -> list[str]:
    if not TRUTH.is_dir():
        return []
    kinds = {path.parent.name: json.loads(path.read_text("utf-8"))["type_flown"] for path in TRUTH.glob("*/truth.json")}
    return sorted(name for name, kind in kinds.items() if kind == "procedure_turn_45_180")


if not flights():
    pytest.skip("more flights than those of test_true_flights.py need a folder next to the checkout", allow_module_level=True)


def procedure_of(flight: str) -> Procedure:
    """The charted procedure, from the truth's own words to ours."""
    charted = json.loads((TRUTH / flight / "procedure.json").read_text("utf-8"))
    fix = charted["fix"]
    return Procedure.model_validate(
        {
            "title": charted["name"],
            "fix": {
                "name": fix["name"],
                "kind": "vor",
                "latitude_deg": fix["lat"],
                "longitude_deg": fix["lon"],
                "elevation_ft": float(fix["elevation_ft"]),
                "variation_deg_east": float(charted["station_declination_deg_east"]),
            },
            "reversal": {
                "kind": "procedure-turn",
                "side": WORD[charted["maneuver_side"]],
                "outbound_course_deg": float(charted["outbound_course_mag"]),
                "inbound_course_deg": float(charted["inbound_course_mag"]),
                "within_nm": float(charted["distance_limit_nm"]),
            },
            "altitudes": {f"{leg}_ft": float(feet) for leg, feet in charted["min_altitudes_ft"].items() if feet is not None},
        }
    )


@functools.cache
def flown(flight: str, log: str) -> tuple[Debrief, dict[str, Any], float]:
    """The debrief of one log, the truth, and the instant that the truth counts seconds from."""
    truth = json.loads((TRUTH / flight / "truth.json").read_text("utf-8"))
    start = dt.datetime.fromisoformat(truth["start_utc"]).timestamp()
    return debrief(read_track(TRUTH / flight / log), procedure_of(flight)), truth, start


every_log = pytest.mark.parametrize("log", LOGS)
every_flight = pytest.mark.parametrize("flight", flights())


@every_log
@every_flight
def test_shape_side_and_number(flight, log):
    result, truth, _ = flown(flight, log)
    assert len(result.approaches) == truth["n_reversals"]
    for approach, attempt in zip(result.approaches, truth["attempts"], strict=True):
        assert approach.reversal.flown == "45/180"
        assert approach.reversal.side == (1 if attempt["side_flown"] == "R" else -1)
        assert approach.reversal.turn == (1 if attempt["turn_flown"] == "R" else -1)


@every_log
@every_flight
def test_greatest_distance(flight, log):
    result, truth, _ = flown(flight, log)
    for approach, attempt in zip(result.approaches, truth["attempts"], strict=True):
        farthest = approach.figures.farthest
        assert farthest is not None
        assert farthest.distance_m / NM == pytest.approx(attempt["max_distance_nm"], abs=0.01)


@every_log
@every_flight
def test_established(flight, log):
    result, truth, start = flown(flight, log)
    for approach, attempt in zip(result.approaches, truth["attempts"], strict=True):
        established = approach.reversal.established_s
        assert established is not None
        assert established - start == pytest.approx(attempt["established_s"], abs=2.0)


@every_log
@every_flight
def test_mean_bank_of_each_turn(flight, log):
    result, truth, _ = flown(flight, log)
    ordered = {(turn["phase"], turn["attempt"]): abs(turn["steady_bank_deg"]) for turn in truth["turns"]}
    for number, approach in enumerate(result.approaches, start=1):
        measured = {part.part.name: part.turn for part in approach.figures.parts if part.turn is not None}
        assert {"offset_turn", "reversal_turn"} <= set(measured)
        for name, turn in measured.items():
            # of a turn of some 10 s in a log with holes of up to 30 s, what the bank itself says of its error
            short_and_holed = log == "log_irregular.csv" and name != "reversal_turn"
            within = 2.0 * turn.bank_peak_sd_rad / DEG if short_and_holed else 1.5
            if (name, number) in ordered:
                assert turn.bank_mean_rad / DEG == pytest.approx(ordered[name, number], abs=within), (name, number)


@every_log
@every_flight
def test_wind(flight, log):
    result, truth, _ = flown(flight, log)
    wind, real = result.approaches[0].figures.wind, truth["attempts"][0]["wind"]
    assert wind is not None
    off = wind.to_north_mps * 3600.0 / NM - real["to_north_kt"], wind.to_east_mps * 3600.0 / NM - real["to_east_kt"]
    # one log, of a jet that slows down in its turns and with holes there, says of itself how little it knows
    vague = (flight, log) == ("d13", "log_irregular.csv")
    assert (off[0] ** 2 + off[1] ** 2) ** 0.5 < (2.0 * wind.sd_mps * 3600.0 / NM if vague else 4.0)

"""Accuracy against flights whose truth is known, and whether the stated errors are true.

Run ``python benchmarks/accuracy.py [LOG...]``, LOG being clean, noisy, sparse, irregular or gpx. It needs the folder
``shared/truth`` beside the checkout: simulated flights with the truth beside them, the score that compares answers with it, and
the adapter from this program's answers to the score's words.
"""

from __future__ import annotations

import importlib
import json
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

import analyzer
from analyzer.library.debrief import Debrief
from analyzer.physics.units import DEG, FPM, FT, KT, NM, FloatArray, wrap

TRUTH = Path(__file__).resolve().parents[2] / "shared" / "truth"
FILES = {"gpx": "log.gpx"} | {name: f"log_{name}.csv" for name in ("clean", "noisy", "sparse", "irregular")}


@dataclass(frozen=True)
class Flown:
    """A debriefed flight beside its truth."""

    debrief: Debrief
    truth: dict[str, Any]
    state: pd.DataFrame
    start_s: float


def flights(log: str) -> Iterator[Flown]:
    """Every flight of the development set, debriefed from one kind of log."""
    adapter = importlib.import_module("adapter")
    for folder in sorted(path for path in (TRUTH / "dev").iterdir() if path.is_dir()):
        truth = json.loads((folder / "truth.json").read_text())
        with tempfile.TemporaryDirectory() as name:
            path = Path(name) / "procedure.toml"
            path.write_text(adapter.toml(json.loads((folder / "procedure.json").read_text())), encoding="utf-8")
            procedure = analyzer.read_procedure(path)
        debrief = analyzer.debrief(analyzer.read_track(folder / FILES[log]), procedure)
        start = datetime.fromisoformat(truth["start_utc"]).timestamp()
        yield Flown(debrief, truth, pd.read_csv(folder / "truth.csv.gz"), start)


def standard_scores(flown: Flown) -> Iterator[tuple[str, FloatArray]]:
    """Errors in units of their stated standard deviation, by quantity."""
    motion = flown.debrief.motion
    state, sd, at = motion.states, motion.errors(motion.states), motion.states.time_s - flown.start_s

    def true(column: str) -> FloatArray:
        return np.interp(at, flown.state["t_s"], flown.state[column])

    def true_direction(column: str) -> FloatArray:
        return np.interp(at, flown.state["t_s"], np.unwrap(np.radians(flown.state[column])))

    bank_error = (state.bank_rad / DEG - true("roll_deg")) / (sd.bank_rad / DEG)
    yield "bank", bank_error
    yield "bank, beyond 10°", bank_error[np.abs(true("roll_deg")) > 10.0]
    yield "altitude", (state.altitude_m - true("alt_msl_ft") * FT) / sd.altitude_m
    yield "vertical speed", (state.vertical_speed_mps - true("vs_fpm") * FPM) / sd.vertical_speed_mps
    yield "ground speed", (state.ground_speed_mps - true("gs_kt") * KT) / sd.ground_speed_mps
    yield "track", wrap(state.track_rad - true_direction("track_true")) / sd.track_rad
    turn_rate = np.gradient(true_direction("heading_true"), at)
    yield "turn rate", (state.turn_rate_rad_s - turn_rate) / sd.turn_rate_rad_s
    if motion.wind is not None:
        yield "true airspeed", (state.true_airspeed_mps - true("tas_kt") * KT) / sd.true_airspeed_mps
        yield "heading", wrap(state.heading_rad - true_direction("heading_true")) / sd.heading_rad
    for approach, attempt in zip(flown.debrief.approaches, flown.truth["attempts"], strict=False):
        wind, farthest = approach.figures.wind, approach.figures.farthest
        if wind is not None:
            off = np.array(
                [wind.to_north_mps / KT - attempt["wind"]["to_north_kt"], wind.to_east_mps / KT - attempt["wind"]["to_east_kt"]]
            )
            yield "wind component", off / (wind.sd_mps / KT)
        if farthest is not None and attempt.get("max_distance_nm") is not None:
            yield (
                "greatest distance",
                np.array([(farthest.distance_m / NM - attempt["max_distance_nm"]) / (farthest.sd_m / NM)]),
            )


def main() -> None:
    """Print the score, then how often errors lie within one and two of their stated standard deviations."""
    if not TRUTH.is_dir():
        sys.exit(f"{TRUTH}: not there; nothing to measure against")
    sys.path.insert(0, str(TRUTH))
    score = importlib.import_module("score")
    adapter = importlib.import_module("adapter")
    for log in sys.argv[1:] or ["clean", "noisy", "sparse", "irregular", "gpx"]:
        folders = [str(path) for path in sorted((TRUTH / "dev").iterdir()) if path.is_dir()]
        score.show(score.summary(score.run(folders, adapter.analyse, log)), f"log '{log}'")
        scores: dict[str, list[FloatArray]] = {}
        for flown in flights(log):
            for quantity, errors in standard_scores(flown):
                scores.setdefault(quantity, []).append(errors)
        print(f"\n{'stated errors':28s}{'n':>7s}{'within 1 sd':>13s}{'within 2 sd':>13s}")
        for quantity, parts in scores.items():
            errors = np.abs(np.concatenate(parts))
            print(f"{quantity:28s}{len(errors):7d}{np.mean(errors < 1.0):13.0%}{np.mean(errors < 2.0):13.0%}")


if __name__ == "__main__":
    main()

"""The sample flights, with the fix of each as its chart gives it."""

from pathlib import Path

from analyzer.draft.drafting import FixGiven

SAMPLES = Path(__file__).parents[1] / "sample_tracks"
WENDLE = FixGiven(48.35, -24.7, "WND", "vor", -8.0)
QUENO = FixGiven(48.205765, -24.973102, "QUENO", "waypoint", -8.0)
FLIGHTS = {
    "clean.csv": WENDLE,
    "strong_wind.csv": WENDLE,
    "early_descent.gpx": WENDLE,
    "missed_and_hold.csv": WENDLE,
    "step_down.csv": QUENO,
}

"""Turns the position log of an approach with a course reversal, and the charted procedure, into facts.

>>> import analyzer
>>> track = analyzer.read_track("sample_tracks/strong_wind.csv")
>>> procedure = analyzer.read_procedure("sample_tracks/wendle_island_vor24.toml")
>>> analyzer.debrief(track, procedure)
<Debrief of strong_wind.csv by Wendle Island VOR 24: 45/180: outside: 1 of 23 findings: distance limit>

The steps, each a package that knows only those before it: `track`, `procedure`, `motion`, `legs`, `checks`, `debriefs`,
`report`. What is called from Python is in `library`, what a terminal asks for in `cli`. This is a training aid, never for
navigation. The examples in docstrings run in the folder that holds `sample_tracks`.
"""

TYPE_CHECKING = False  # true for type checkers; `typing` itself takes half as long to load as Python to start
if TYPE_CHECKING:
    from typing import Any

    from analyzer.checks.standard import read_standard
    from analyzer.library.compare import Comparison, compare
    from analyzer.library.debrief import Debrief, debrief
    from analyzer.library.plots import plot_final, plot_plan_view, plot_profile, plot_strip, plot_strips
    from analyzer.procedure.read import read_procedure
    from analyzer.track.options import ReadOptions
    from analyzer.track.read import read_track

__all__ = [
    "Comparison",
    "Debrief",
    "ReadOptions",
    "compare",
    "debrief",
    "plot_final",
    "plot_plan_view",
    "plot_profile",
    "plot_strip",
    "plot_strips",
    "read_procedure",
    "read_standard",
    "read_track",
]

_HOME = {
    "Comparison": "analyzer.library.compare",
    "Debrief": "analyzer.library.debrief",
    "ReadOptions": "analyzer.track.options",
    "compare": "analyzer.library.compare",
    "debrief": "analyzer.library.debrief",
    "plot_final": "analyzer.library.plots",
    "plot_plan_view": "analyzer.library.plots",
    "plot_profile": "analyzer.library.plots",
    "plot_strip": "analyzer.library.plots",
    "plot_strips": "analyzer.library.plots",
    "read_procedure": "analyzer.procedure.read",
    "read_standard": "analyzer.checks.standard",
    "read_track": "analyzer.track.read",
}


def __getattr__(name: str) -> "Any":
    """Load a public name when it is first asked for: ``--help`` must not wait for numpy."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOME[name]), name)

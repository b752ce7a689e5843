"""What a worker process of the desk does: work by its name, so that the process that serves pages loads none of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from analyzer.desk.asked import Refused
from analyzer.errors import AnalyzerError

__all__ = ["PRELOADED", "perform"]

# in the server that forks
PRELOADED = ("analyzer.desk.flights", "analyzer.desk.flown", "analyzer.desk.listing", "analyzer.desk.charting")


@cache
def _works() -> Mapping[str, Callable[..., Any]]:
    from analyzer.desk import charting, coded_charts, flights, flown, listing

    functions = (
        flights.answer, flights.choose, flights.compared, flights.describe, flights.exported, flights.open_flight,
        flights.procedures_for, flights.read_anew, flown.say_flown, flown.see_flown, flown.take_back_flown,
        listing.list_flights, charting.draw_saved, charting.save_chart, charting.see_chart, charting.texts_of,
        coded_charts.save_coded, coded_charts.see_coded, stylesheet, warm,
    )  # fmt: skip
    return {function.__name__: function for function in functions}


def stylesheet() -> str:
    """The style of all pages."""
    from analyzer.desk.pages import stylesheet_of
    from analyzer.report.pictures.style import THEME

    return stylesheet_of(THEME)


def warm() -> None:
    """Nothing: who asks for it has a worker that has loaded the program."""


def perform(name: str, *given: object) -> Any:
    """The result of some work, or `Refused` with what an error of input says."""
    try:
        return _works()[name](*given)
    except AnalyzerError as error:
        return Refused(str(error))

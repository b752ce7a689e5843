"""What a worker process of the desk does: work by its name, so that the process that serves pages loads none of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from analyzer.desk.asked import Refused
from analyzer.errors import AnalyzerError

__all__ = ["PRELOADED", "perform"]

# in the server that forks
PRELOADED = ("analyzer.desk.flights", "analyzer.desk.flown", "analyzer.desk.listing", "analyzer.desk.chart_files",
             "analyzer.desk.brief_files", "analyzer.desk.pilots", "analyzer.desk.side_by_side")  # fmt: skip


@cache
def _works() -> Mapping[str, Callable[..., Any]]:
    from analyzer.desk import (
        brief_again,
        brief_files,
        briefing,
        chart_files,
        chart_forms,
        class_changes,
        class_exports,
        class_flight,
        class_pages,
        class_reading,
        coded_charts,
        dropped,
        excused,
        flights,
        flown,
        listing,
        pilots,
        setting,
        side_by_side,
        undoing,
        waiting,
        watching,
    )

    functions = (
        brief_files.keep_brief, brief_files.lay_brief, brief_files.list_briefs, brief_files.open_brief, briefing.brief_form,
        brief_again.brief_again, briefing.draw_brief_form, briefing.print_knee_card,
        flights.answer, flights.choose, flights.describe, flights.exported, flights.open_flight,
        flights.procedures_for, flights.read_anew, flown.say_flown, flown.see_flown,
        flown.take_back_flown, listing.list_charts, listing.list_flights, chart_files.draw_saved, chart_files.save_chart,
        chart_files.texts_of, chart_forms.see_form,
        dropped.settle_dropped, coded_charts.save_coded, coded_charts.see_coded, undoing.bring_back,
        undoing.put_away, undoing.take_out, undoing.undo_change, excused.give_excuse, excused.take_back_excuse,
        pilots.list_pilots, pilots.measure_flights, pilots.see_pilot,
        class_changes.excuse_in_class, class_changes.keep_plan, class_changes.keep_review, class_changes.new_class,
        class_changes.take_back_in_class, class_changes.take_file, class_exports.all_sheets, class_exports.class_table,
        class_exports.one_sheet, class_flight.open_class_flight, class_pages.count_class, class_pages.list_classes,
        class_pages.see_class, class_reading.answer_for_class, class_reading.look_in_class,
        class_changes.take_out_of_class, class_changes.bring_back_into_class, setting.see_settings, setting.set_standard,
        side_by_side.compared, side_by_side.count_before, side_by_side.flights_compared,
        waiting.debrief_waiting, watching.look_for_logs, watching.watch, stylesheet, warm,
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

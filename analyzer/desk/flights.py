"""The work on a desk's flights: reading a log, choosing its procedure, the debrief and exports.

These functions run in worker processes. They do what the command line does, on the files of the folder.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import quote

from analyzer.checks.phrases import side_word
from analyzer.debriefs.data import DebriefData
from analyzer.debriefs.judging import judge_charted
from analyzer.desk.asked import Fitting, Look, Shown
from analyzer.desk.brief_files import card_laid, laid_against
from analyzer.desk.cards import (
    FlightCard,
    Reading,
    card_file,
    kept_reading,
    options_over,
    read_card,
    read_settings,
    settings_file,
)
from analyzer.desk.changes import make_change
from analyzer.desk.excuse_forms import with_excuse_forms
from analyzer.desk.field_words import in_fields, with_fields
from analyzer.desk.flown_form import flown_form
from analyzer.desk.kept_attempts import Keeping
from analyzer.desk.locked import locked
from analyzer.desk.looking import header_of, look, look_anyway, options_from
from analyzer.desk.misfits import misfit_words
from analyzer.desk.moved import what_moved
from analyzer.desk.reading_fields import also_fields
from analyzer.desk.store import CHART, Store
from analyzer.errors import FlownError, LogError, ProcedureError
from analyzer.grade.pick import SURE_GAP, Fit, rank_procedures
from analyzer.gradebook.candidate import Candidate
from analyzer.legs.named import read_flown
from analyzer.legs.reversal import STRAIGHT_IN
from analyzer.procedure.charted import resolve
from analyzer.procedure.clearance import CLEARED_LEGS, read_clearance
from analyzer.procedure.cleared import clear
from analyzer.procedure.read import read_procedure
from analyzer.report.exports.formats import FORMATS
from analyzer.report.exports.json_text import json_text
from analyzer.report.pages.debrief_page import debrief_page, debrief_parts, debrief_script
from analyzer.report.pages.page import script_hash
from analyzer.report.paper.debrief_sheets import debrief_sheets
from analyzer.report.paper.sizes import A4
from analyzer.report.pictures.page_pictures import draw_debrief
from analyzer.report.words.brief_text import pattern_words
from analyzer.track.instants import offset_text
from analyzer.track.options import ReadOptions
from analyzer.track.read import read_track
from analyzer.track.track import Track

__all__ = [
    "answer", "as_reading", "choose", "describe", "exported", "judged_as_kept", "open_flight",
    "procedures_for", "read_anew", "reading_of", "report_name", "shown_of", "track_of",
]  # fmt: skip

_LINES = ("name", "pilot", "aircraft")
_SAID = (*_LINES, "cleared", "remark")
_ASSIGNED = re.compile(
    rf"\b({'|'.join(CLEARED_LEGS)})\s*[\s=:]\s*(\d{{1,3}},\d{{3}}|\d+(?:\.\d+)?)(?:\s*(?:ft|feet|m)\b)?", re.IGNORECASE
)
# as clearances are spoken
_VECTORS = re.compile(r"\b(?:radar )?vectors(?: to(?: the)?(?: (?:final|approach|course))+)?\b", re.IGNORECASE)
_STRAIGHT_IN = re.compile(r"\bstraight[ -]in(?: approach)?\b", re.IGNORECASE)


def open_flight(folder: str, log: str) -> Look | Shown:
    """Return the debrief of a flight, or else a look at its log; a look without questions means that a procedure is needed."""
    store, card = Store(Path(folder)), read_card(Store(Path(folder)), log)
    path, options = store.there("logs", log), reading_of(store, log, card)
    if card.procedure and store.path("procedures", card.procedure).is_file():
        try:
            return shown_of(store, log, card, *judged_as_kept(store, log, card, read_track(path, options)))
        except LogError:
            return look_anyway(path, options)
    return look_anyway(path, options)


def answer(folder: str, log: str, answers: Mapping[str, str]) -> Look:
    """Answer questions about a log. The answers are kept on its card and, once none is open, for logs with the same columns."""
    store = Store(Path(folder))
    path, card = store.there("logs", log), read_card(store, log)
    base = reading_of(store, log, card)
    try:
        given = options_from(answers, base)
        seen = look(path, given)
    except LogError as error:
        return replace(look_anyway(path, base), fault=in_fields(_without_file(str(error), path), ""))
    header = header_of(path, given)
    with locked(store.folder):
        files = card_file(log, read_card(store, log).model_copy(update={"reading": as_reading(given)}))
        if not seen.asks:
            files = {**files, **settings_file(kept_reading(read_settings(store), header, given))}
        make_change(store, f"{log}: how it is read", files)
    return seen


def procedures_for(folder: str, log: str) -> tuple[Fitting, ...]:
    """The procedures in the folder, the best fit first."""
    store = Store(Path(folder))
    track = track_of(store, log)
    day = dt.datetime.fromtimestamp(float(track.time_s[0]), tz=dt.UTC).date()
    candidates, faulty = [], []
    for entry in store.entries("procedures"):
        if not entry.name.endswith(CHART):
            continue
        path = store.there("procedures", entry.name)
        try:
            procedure = read_procedure(path)
            candidates.append(Candidate(entry.name, procedure))
        except ProcedureError as error:
            faulty.append(
                Fitting(entry.name, entry.name, "cannot be read", False, _without_file(str(error).splitlines()[0], path))
            )
    ranked = rank_procedures(track, candidates, day)
    fitting = [
        Fitting(
            fit.seen.candidate.name,
            fit.seen.candidate.procedure.title,
            _fit_words(fit),
            True,
            well=fit.misfit < SURE_GAP,
        )
        for fit in ranked
    ]
    known = {fit.file for fit in fitting}
    others = [
        Fitting(one.name, one.procedure.title, misfit_words(track, one.procedure), False)
        for one in sorted(candidates, key=lambda one: one.name)
        if one.name not in known
    ]
    return (*fitting, *others, *sorted(faulty, key=lambda one: one.file))


def choose(folder: str, log: str, procedure: str) -> str:
    """Set the procedure of a flight. Returns the name of the change if it replaced another one."""
    store = Store(Path(folder))
    store.there("logs", log)
    if procedure:
        store.there("procedures", procedure)
    with locked(store.folder):
        card = read_card(store, log)
        files = card_file(log, card.model_copy(update={"procedure": procedure}))
        made = make_change(store, f"{log}: debriefed by {procedure or 'no chart'}", files)
    return made if card.procedure else ""


def describe(folder: str, log: str, said: Mapping[str, str]) -> str:
    """Save a flight's name, pilot, aircraft, remark and clearance. Returns the name of the change, if there is one.

    The form also sends its previous values, as ``was name`` and so on. Only what differs from them is written, so that two
    pages that change different fields of a flight do not undo each other. Raises `ClearanceError`.
    """
    store = Store(Path(folder))
    store.there("logs", log)
    texts = {key: text.replace("\r\n", "\n").strip() for key, text in said.items()}
    meant = {key: texts[key] for key in _SAID if key in texts and texts[key] != texts.get(f"was {key}")}
    update: dict[str, object] = {key: " ".join(text.split())[:200] for key, text in meant.items() if key in _LINES}
    update |= {"remark": meant["remark"][:2000]} if "remark" in meant else {}
    update |= {"cleared": _clearance_words(meant["cleared"][:200])} if "cleared" in meant else {}
    with locked(store.folder):
        card = read_card(store, log).model_copy(update=update)
        if card.cleared and card.procedure:
            read_clearance(
                card.cleared, read_procedure(store.there("procedures", card.procedure))
            )  # raises where it does not fit
        return make_change(store, f"{log}: {', '.join(meant)} changed", card_file(log, card))


def _clearance_words(text: str) -> list[str]:
    """The words of a clearance as typed: ``radar vectors, inbound 3,000 ft`` says the same as ``vectors inbound=3000``."""
    plain = _STRAIGHT_IN.sub("straight-in", _VECTORS.sub("vectors", text))
    plain = _ASSIGNED.sub(lambda found: f" {found[1].lower()}={found[2].replace(',', '')} ", plain)
    return [word for word in re.split(r"[\s,;]+", plain) if word]


def exported(folder: str, log: str, form: str) -> tuple[str, bytes, str]:
    """A debrief in a single-file format: the file name, its content, and the hash of the page's script.

    What people read is in the words of the desk, where no option of the command line is given.
    """
    store = Store(Path(folder))
    debrief, _ = judged_as_kept(store, log, read_card(store, log), track_of(store, log))
    if form == "html":
        content = debrief_page(debrief, draw_debrief(debrief), with_fields).encode()
    elif form == "pdf":
        content = debrief_sheets(debrief, A4, with_fields)
    else:
        (made,) = FORMATS[form].write(debrief)
        content = made.content
    return f"{log}{FORMATS[form].suffix}", content, script_hash(debrief_script())


def read_anew(folder: str, log: str) -> Look:
    """A look at a log without its card, so that every question can be answered again."""
    store = Store(Path(folder))
    said = read_card(store, log).reading
    seen = look_anyway(store.there("logs", log), Reading().options())
    asked = {ask.field for ask in seen.asks}
    return replace(seen, also=tuple(ask for ask in also_fields(said.options(), seen.names) if ask.field not in asked))


def report_name(log: str) -> str:
    """The name of a flight's report in ``reports/``."""
    return f"{log}.json"


def shown_of(store: Store, log: str, card: FlightCard, debrief: DebriefData, refused: str) -> Shown:
    """The page of a debriefed flight, whose report is saved as JSON; `refused` says why what the user named was ignored."""
    path = store.path("reports", report_name(log))
    text, before = json_text(debrief), store.text(path)
    if read_card(store, log) == card:
        Keeping(store).keep(log, debrief)
    by = card.excused[-1].by if card.excused else ""

    def worded(content: dict[str, Any]) -> dict[str, Any]:
        return with_excuse_forms(with_fields(content), f"/flights/{quote(log, safe='')}", by)

    if text != before:
        store.write(path, text.encode())
    return Shown(
        *debrief_parts(debrief, draw_debrief(debrief), worded),
        debrief.motion.charted.procedure.title,
        log,
        card.procedure,
        {
            "name": card.name,
            "pilot": card.pilot,
            "aircraft": card.aircraft,
            "remark": card.remark,
            "cleared": " ".join(card.cleared),
        },
        len(debrief.approaches),
        () if before is None or text == before else tuple(what_moved(_document(before), json.loads(text))),
        None if debrief.sections else flown_form(debrief, card.flown),
        tuple(card.flown),
        refused,
        laid_against(store, card, debrief.motion.charted),
    )


def judged_as_kept(store: Store, log: str, card: FlightCard, track: Track) -> tuple[DebriefData, str]:
    """Judge a flight by its card; if what it names as flown no longer applies, judge without it and return why."""
    try:
        return _judged(store, log, card, track), ""
    except FlownError as error:
        return _judged(store, log, card.model_copy(update={"flown": []}), track), str(error)


def _judged(store: Store, log: str, card: FlightCard, track: Track) -> DebriefData:
    procedure = read_procedure(store.there("procedures", card.procedure))
    day = dt.datetime.fromtimestamp(float(track.time_s[0]), tz=dt.UTC).date()
    charted = clear(resolve(procedure, day), read_clearance(card.cleared, procedure))
    named = read_flown(card.flown, float(track.time_s[0]), float(track.time_s[-1]))
    flight, brief = replace(track, file=log, pilot=card.pilot or track.pilot), card_laid(store, card, charted)
    excuses = [table.excuse() for table in card.excused]
    return judge_charted(flight, charted, read_settings(store).standard, brief, named, excuses)


def track_of(store: Store, log: str) -> Track:
    """The track of a log, read as its card says, or as logs with the same columns are. Raises `LogError`."""
    return read_track(store.there("logs", log), reading_of(store, log, read_card(store, log)))


def reading_of(store: Store, log: str, card: FlightCard) -> ReadOptions:
    """The options for a log: those on its card, and otherwise those kept for logs with the same columns."""
    path = store.there("logs", log)
    own = card.reading.options()
    settings = read_settings(store)
    if not settings.readings:
        return own
    return options_over(settings.reading(header_of(path, own)), card.reading)


def as_reading(options: ReadOptions) -> Reading:
    """How logs are read, as it is kept on a card."""
    return Reading(
        columns=dict(options.columns),
        units=dict(options.units),
        start=options.start,
        utc_offset=None if options.utc_offset_s is None else offset_text(options.utc_offset_s),
        altitude_required=options.altitude_required,
        altitude_from=options.altitude_from,
        only=list(options.only) if options.only is not None else None,
        qnh=None if options.air.qnh_hpa is None else round(options.air.qnh_hpa, 2),
        temperature_c=None if options.air.field_temperature_c is None else round(options.air.field_temperature_c, 2),
    )


def _fit_words(fit: Fit) -> str:
    """How well a flight fits a procedure; where poorly, what it flies otherwise than charted."""
    if fit.misfit < SURE_GAP:
        return "Fits well." if fit.misfit < 1.0 else "Fits."
    charted, approaches = fit.seen.motion.charted, fit.seen.flight.approaches
    if not approaches or charted.kind == "none":
        return "Fits poorly."
    flown = approaches[0]
    if flown.flown == STRAIGHT_IN:
        return "Fits poorly: it comes in on the final course, and no reversal is recognised."
    if charted.turn is not None and flown.turn is not None and flown.turn != charted.turn:
        return (
            f"Fits poorly: it turns to the {side_word(flown.turn)}, where the chart has turns to the {side_word(charted.turn)}."
        )
    return f"Fits poorly: it looks like this: {pattern_words(flown.flown)}."


def _document(text: str) -> dict[str, Any]:
    try:
        document = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return document if isinstance(document, dict) else {}


def _without_file(message: str, path: Path) -> str:
    return message.replace(f"{path}, ", "").replace(f"{path}: ", "")

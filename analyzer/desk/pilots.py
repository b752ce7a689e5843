"""The pilots of a desk, and one pilot's months: from the name that each flight may carry, and what is kept of each flight.

These functions run in worker processes. A page never waits for a debrief: what is not kept yet, or was made from another chart,
standard or program, is measured piece by piece (`measure_flights`), and until then the page says how many flights are missing.
"""

from __future__ import annotations

import datetime as dt
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE
from analyzer.checks.phrases import check_name
from analyzer.comparison.comparing import Row
from analyzer.comparison.progress import KeptAttempt, kept_rows
from analyzer.desk.asked import Flight
from analyzer.desk.cards import read_card
from analyzer.desk.flights import judged_as_kept, report_name, track_of
from analyzer.desk.kept_attempts import Keeping, Kept
from analyzer.desk.listing import flights_of
from analyzer.desk.pilots_seen import AttemptSeen, CheckSeen, FigureSeen, PilotSeen, PilotsSeen, SeriesSeen
from analyzer.desk.store import Store
from analyzer.errors import AnalyzerError, DeskError
from analyzer.frozen import dataclass
from analyzer.report.exports.json_text import json_text
from analyzer.report.pictures.progress_pictures import PROGRESS_NOTE, progress_pictures
from analyzer.report.words.compare_text import row_sentences, trend_sentence

__all__ = ["list_pilots", "measure_flights", "pilot_key", "see_pilot"]

_VERDICTS = (OUTSIDE, CLOSE, INSIDE, NOT_ASSESSED)


@dataclass(frozen=True, eq=False)
class _Flown:
    """A flight of a pilot, with what is kept of it; None where it is to be measured first, or has no chart."""

    flight: Flight
    remark: str
    has_chart: bool
    kept: Kept | None

    @property
    def begun(self) -> str:
        """When it begins (ISO 8601), as far as that is known; what sorts after every time where it is not."""
        if self.kept is not None and self.kept.attempts:
            return _minute(self.kept.attempts[0])
        return self.flight.begins or "9"


def list_pilots(folder: str) -> PilotsSeen:
    """The pilots of a folder, by name, each with the number of flights and their results, and the flights without a name."""
    by_pilot: dict[str, list[Flight]] = {}
    for flight in flights_of(Store(Path(folder))):
        by_pilot.setdefault(pilot_key(flight.pilot), []).append(flight)
    nameless = len(by_pilot.pop("", []))
    rows = []
    for flights in by_pilot.values():
        results = Counter(flight.verdict for flight in flights)
        said = ", ".join(f"{results[verdict]:,} {verdict}" for verdict in _VERDICTS if results[verdict])
        rows.append((_spelling(flights), len(flights), max(flight.begins[:10] for flight in flights), said))
    return PilotsSeen(tuple(sorted(rows, key=lambda row: (pilot_key(row[0]), row[0]))), nameless)


def see_pilot(folder: str, name: str) -> PilotSeen:
    """A pilot's flights in the order flown, the figures of each procedure over time, and what is outside most often.

    Raises
    ------
    DeskError
        No flight carries that name.
    """
    flown = _flown(Store(Path(folder)), name)
    attempts = [(one, attempt) for one in flown if one.kept is not None for attempt in one.kept.attempts]
    attempts.sort(key=lambda pair: (pair[1].start_s, pair[0].flight.file))
    series: dict[str, list[tuple[_Flown, KeptAttempt]]] = {}
    for one, attempt in attempts:
        series.setdefault(attempt.basis, []).append((one, attempt))
    ordered = sorted(series.values(), key=lambda pairs: (-len(pairs), pairs[0][1].start_s))
    return PilotSeen(
        name=_spelling([one.flight for one in flown]),
        said=_summary(len(flown), [attempt for _, attempt in attempts], len(series)),
        unmeasured=sum(one.has_chart and one.kept is None for one in flown),
        attempts=tuple(_rows(flown, ordered)),
        checks=tuple(_checks(flown)),
        series=tuple(_series(number, pairs) for number, pairs in enumerate(ordered, 1)),
        note=PROGRESS_NOTE,
    )


def measure_flights(folder: str, name: str, seconds: float) -> int:
    """Measure flights of a pilot that are not kept yet, for some time at most. Returns how many are left."""
    store, until = Store(Path(folder)), time.monotonic() + seconds
    keeping = Keeping(store)
    waiting = [one.flight.file for one in _flown(store, name) if one.has_chart and one.kept is None]
    for done, log in enumerate(waiting):
        if time.monotonic() > until and done:
            return len(waiting) - done
        card = read_card(store, log)
        try:
            debrief, _ = judged_as_kept(store, log, card, track_of(store, log))
        except AnalyzerError as error:
            keeping.keep_fault(log, str(error).splitlines()[0])
            continue
        if read_card(store, log) != card:
            continue
        keeping.keep(log, debrief)
        report = store.path("reports", report_name(log))
        if not report.exists():  # so that the list of flights knows it, too
            store.write(report, json_text(debrief).encode())
    return 0


def _flown(store: Store, name: str) -> list[_Flown]:
    """The flights of a pilot in the order flown, those last whose time is not known yet. Raises `DeskError`."""
    keeping, key, flown = Keeping(store), pilot_key(name), []
    for flight in flights_of(store):
        if key and pilot_key(flight.pilot) == key:
            card = keeping.card(flight.file)
            has_chart = bool(card.get("procedure"))
            kept = keeping.known(flight.file, card) if has_chart else None
            flown.append(_Flown(flight, str(card.get("remark", "")), has_chart, kept))
    if not flown:
        raise DeskError(f"{name[:80]}: no flight carries that name; it is given to a flight under “Name, pilot” on its page")
    return sorted(flown, key=lambda one: (one.begun, one.flight.file))


def pilot_key(name: str) -> str:
    """Names that differ in capitals or blanks are one pilot's."""
    return " ".join(name.split()).casefold()


def _spelling(flights: Sequence[Flight]) -> str:
    """The spelling of a name that most flights have."""
    spelled = Counter(" ".join(flight.pilot.split()) for flight in flights)
    return min(spelled, key=lambda name: (-spelled[name], name))


def _summary(flights: int, attempts: Sequence[KeptAttempt], bases: int) -> str:
    """The totals in words."""
    said = f"{flights:,} {'flight' if flights == 1 else 'flights'}"
    if not attempts:
        return f"{said}."
    results = Counter(attempt.verdict for attempt in attempts)
    verdicts = ", ".join(f"{results[verdict]:,} {verdict}" for verdict in _VERDICTS if results[verdict])
    excused = sum(attempt.excused for attempt in attempts)
    also = f" {excused:,} {'finding is' if excused == 1 else 'findings are'} excused." if excused else ""
    first, last = _day(attempts[0].start_s), _day(attempts[-1].start_s)
    span = first if first == last else f"{first} to {last}"
    many = f"{len(attempts):,} {'attempt' if len(attempts) == 1 else 'attempts'}"
    of = f" in {bases} groups that are judged alike" if bases > 1 else ""
    return f"{said}, {span}; {many}{of}: {verdicts}.{also}"


def _minute(attempt: KeptAttempt) -> str:
    """When an attempt begins, to the minute (ISO 8601, UTC)."""
    return f"{dt.datetime.fromtimestamp(attempt.start_s, tz=dt.UTC):%Y-%m-%dT%H:%M}"


def _day(time_s: float) -> str:
    day = dt.datetime.fromtimestamp(time_s, tz=dt.UTC)
    return f"{day.day} {day:%B %Y}"


def _rows(flown: Sequence[_Flown], series: Sequence[Sequence[tuple[_Flown, KeptAttempt]]]) -> Iterator[AttemptSeen]:
    """The flights in the order flown, a row for each attempt, numbered within its series as in the pictures."""
    numbers = {(one.flight.file, a.of, a.number): n for pairs in series for n, (one, a) in enumerate(pairs, 1)}
    for one in flown:
        flight, kept = one.flight, one.kept
        base = AttemptSeen(flight.file, flight.name, flight.begins, flight.aircraft, one.remark, flight.procedure)
        if kept is None or not kept.attempts:
            said = "no chart is chosen yet" if not one.has_chart else "not measured yet" if kept is None else kept.fault
            yield base.with_result("", said or "no approach recognised", 0)
            continue
        for attempt in kept.attempts:
            title = f"{kept.title}, hold at {attempt.hold}" if attempt.hold else kept.title
            row = AttemptSeen(flight.file, flight.name, _minute(attempt), flight.aircraft, one.remark, title)
            yield row.with_result(attempt.verdict, attempt.why, numbers[flight.file, attempt.of, attempt.number])


def _checks(flown: Sequence[_Flown]) -> Iterator[CheckSeen]:
    """The checks that were ever outside or too close to call, the most often outside first."""
    counts: dict[str, Counter[str]] = {}
    for one in flown:
        for checks in one.kept.checks if one.kept is not None else ():
            for check, verdict in checks.items():
                counts.setdefault(check, Counter())[verdict] += 1
    seen = [
        CheckSeen(check_name(check), *(counted[verdict] for verdict in _VERDICTS))
        for check, counted in counts.items()
        if counted[OUTSIDE] + counted[CLOSE]
    ]
    yield from sorted(seen, key=lambda one: (-one.outside, -one.close, one.name))


def _series(number: int, pairs: Sequence[tuple[_Flown, KeptAttempt]]) -> SeriesSeen:
    """The attempts of one basis: what changed, which trends can be claimed, and the figures over time."""
    attempts = [attempt for _, attempt in pairs]
    kept = pairs[0][0].kept
    title, settled = (kept.title, kept.settled) if kept is not None else ("", "")
    title = f"{title}, hold at {attempts[0].hold}" if attempts[0].hold else title
    if len(attempts) < 2:
        return SeriesSeen(title, settled, 1, ("One attempt: there is nothing to compare it with yet.",), (), ())
    rows = kept_rows(attempts)
    small = [row for row in rows if row.claimed and not _noticed(row)]
    sentences = [sentence for sentence in row_sentences(rows, len(attempts)) if sentence not in map(trend_sentence, small)]
    figures = [
        FigureSeen(picture.svg, picture.caption, picture.alt, picture.limited)
        for picture in progress_pictures(rows, attempts, f"s{number}-")
    ]
    return SeriesSeen(title, settled, len(attempts), tuple(sentences), tuple(map(trend_sentence, small)), tuple(figures))


def _noticed(row: Row) -> bool:
    """Whether a trend comes to a change over all attempts that a pilot would notice."""
    known = sum(value is not None for value in row.values)
    return row.trend is not None and abs(row.trend.slope) * (known - 1) >= row.figure.worth

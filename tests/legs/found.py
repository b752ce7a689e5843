"""What the legs step finds in an invented flight, with times counted from the start of the log."""

import datetime as dt

from synthetic import CHARTED, HERE, START_S, Chart, Flown, Log, Place

from analyzer.legs.find import find_reversals
from analyzer.legs.reversal import Reversal
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

NOISY = Log(noise_m=1.0)


def found(flown: Flown, log: Log = NOISY, place: Place = HERE, chart: Chart = CHARTED) -> tuple[Reversal, ...]:
    return find_reversals(analyse_motion(log.of(flown, place), resolve(chart.at(place), dt.date(2026, 6, 1))))


def starts(reversal: Reversal, start_s: float = START_S) -> dict[str, float]:
    """Where each part begins."""
    return {part.name: part.start_s - start_s for part in reversal.parts}


def ends(reversal: Reversal, start_s: float = START_S) -> dict[str, float]:
    """Where each part ends."""
    return {part.name: part.end_s - start_s for part in reversal.parts}

"""What is said of a flight in which nothing was recognised."""

from hold_flights import chart
from synthetic import Log, Straight, fly

from analyzer import debrief
from analyzer.report.words.unrecognised import nothing_found


def test_where_no_lap_is_recognised_the_passage_of_its_fix_is_named():
    # straight over the fix of the hold, 30 NM from that of the approach, at ten o'clock and two minutes
    flown = fly([Straight("on", 300.0)], (0.0, 4.0), 180.0, 120.0)
    said = nothing_found(debrief(Log().of(flown), chart().at()))
    assert "no closer to QRL than 30.0 NM" in said
    assert "It passes OSSIN, where a hold is charted, at 10:02:00, but no lap of it was recognised." in said

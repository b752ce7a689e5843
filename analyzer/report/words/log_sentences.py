"""Report text on the log itself: when it was flown, how it was read, and the magnetic variation."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from analyzer.checks.phrases import clock
from analyzer.physics.units import DEG
from analyzer.report.words.clearance_text import settled_sentences
from analyzer.report.words.excuse_words import idle_sentences
from analyzer.report.words.named_words import named_sentences

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData
    from analyzer.track.track import Track

__all__ = ["first_sentences", "reading_sentence", "settled_first", "span_text", "variation_sentence"]


def span_text(track: Track) -> str:
    """Date and time span of a log, with its last day where that is another: ``28 June 2026, 15:40:00 to 15:55:18 UTC``."""
    start, end = (datetime.fromtimestamp(float(t), tz=UTC) for t in (track.time_s[0], track.time_s[-1]))
    last_day = f"{end.day} {end:%B %Y}, " if end.date() != start.date() else ""
    return f"{start.day} {start:%B %Y}, {start:%H:%M:%S} to {last_day}{end:%H:%M:%S} UTC"


def first_sentences(debrief: DebriefData) -> Iterator[str]:
    """Notes before the result: what was named and cleared, how the log differs from what was recorded, unused excuses."""
    yield from (f"{lead}: {text}" for lead, text in named_sentences(debrief))
    yield from settled_first(debrief)
    yield from idle_sentences(debrief)


def settled_first(debrief: DebriefData) -> Iterator[str]:
    """The same but for what was named and what is not used, which a page sets apart."""
    track = debrief.motion.track
    yield from settled_sentences(debrief.motion.charted)
    if track.put_right:
        stretches = "; ".join(f"{stretch.word}, at {clock(stretch.start_s)}" for stretch in track.put_right)
        yield f"The log's clock was corrected, and all later times were shifted with it: {stretches}."
    if track.filled_in:
        no_bank = ", and bank cannot be measured" if track.turns_hidden else ""
        yield f"Most fixes of the log are interpolated; only the measured ones are used{no_bank}."


def reading_sentence(debrief: DebriefData) -> str:
    """Format, samples and gaps of the log, and the scatter of its positions."""
    track = debrief.motion.track
    gaps = f", {len(track.gaps)} {'gap' if len(track.gaps) == 1 else 'gaps'}" if track.gaps else ""
    noise = debrief.motion.path.noise_sd
    return (
        f"{track.format}, {len(track):,} samples, one every {track.interval_s:g} s{gaps}. "
        f"Positions scatter by {noise:.2g} m about the smoothed track."
    )


def variation_sentence(debrief: DebriefData) -> str:
    """The variation with its source, and the warnings about the procedure."""
    variation, warnings = debrief.motion.charted.variation, debrief.motion.charted.warnings
    side = "east" if variation.east_rad >= 0.0 else "west"
    return " ".join([f"Variation {abs(variation.east_rad) / DEG:.1f}° {side}: {variation.model}.", *warnings])

"""Attempts as plain values, which can be kept with each flight, so that many flights are compared without a new debrief.

The values are those that `compare` reads, and the comparison of kept attempts is the same: same figures, trends and tests.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from typing import TYPE_CHECKING, Any, Literal

from analyzer.checks.finding import OUTSIDE
from analyzer.checks.overall import overall
from analyzer.checks.phrases import height_unit
from analyzer.comparison.attempt import Attempt, attempts_in, judged_by
from analyzer.comparison.comparing import Column, Row, figure_rows
from analyzer.comparison.figure_limits import Limited, limit_of
from analyzer.comparison.figures import FIGURES
from analyzer.comparison.measuring import Measured
from analyzer.frozen import dataclass

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["KeptAttempt", "kept_attempts", "kept_rows"]


@dataclass(frozen=True)
class KeptAttempt:
    """One attempt at a procedure or hold, as plain values.

    Attributes
    ----------
    basis : str
        A digest of what it was judged by: only attempts with the same one are compared.
    of, number
        Whether it is an approach (``reversal``) or a ``hold``, and its number in the flight, from 1.
    hold : str
        The name of the hold; empty for an approach.
    start_s : float
        Start of its first part. [s since 1970]
    flown, verdict, why : str
        The shape, the result and its explanation.
    values, limits : mapping
        Values of the figures that it has, by their keys, and the limits of those that are judged; heights in `height`.
    height : {"ft", "m"}
        The chart's unit of heights.
    outside : tuple of str
        The checks with a finding outside.
    excused : int
        Number of findings that are excused.
    """

    basis: str
    of: Literal["reversal", "hold"]
    number: int
    hold: str
    start_s: float
    flown: str
    verdict: str
    why: str
    values: Mapping[str, Measured]
    limits: Mapping[str, Limited]
    outside: tuple[str, ...]
    excused: int
    height: Literal["ft", "m"] = "ft"

    def to_json(self) -> dict[str, Any]:
        """The attempt as JSON values, for `of_json`."""
        return {
            **{name: getattr(self, name) for name in _PLAIN},
            "values": {key: [one.value, one.sd] for key, one in self.values.items()},
            "limits": {key: [one.limit, one.verdict] for key, one in self.limits.items()},
            "outside": list(self.outside),
        }

    @classmethod
    def of_json(cls, kept: Mapping[str, Any]) -> KeptAttempt:
        """The attempt of such values. Raises `KeyError`, `TypeError` or `ValueError` for others."""
        return cls(
            **{name: str(kept[name]) for name in _TEXTS},
            of="hold" if kept["of"] == "hold" else "reversal",
            number=int(kept["number"]),
            start_s=_finite(kept["start_s"]),
            excused=int(kept["excused"]),
            height="m" if kept["height"] == "m" else "ft",
            values={key: Measured(_finite(value), _finite_or_none(sd)) for key, (value, sd) in kept["values"].items()},
            limits={key: Limited(_finite(limit), str(verdict)) for key, (limit, verdict) in kept["limits"].items()},
            outside=tuple(map(str, kept["outside"])),
        )


_TEXTS = ("basis", "hold", "flown", "verdict", "why")
_PLAIN = (*_TEXTS, "of", "number", "start_s", "excused", "height")


def kept_attempts(debrief: DebriefData) -> tuple[KeptAttempt, ...]:
    """The approaches and holds of a flight as plain values, in the order flown."""
    made = [_kept(attempt, of, number) for of, number, attempt in attempts_in(debrief)]
    return tuple(sorted(made, key=lambda one: (one.start_s, one.of)))


def kept_rows(attempts: Sequence[KeptAttempt]) -> tuple[Row, ...]:
    """The figures of attempts side by side, as `compare` has them. The attempts are in the order flown, of one basis."""
    height = height_unit(attempts[0].height if attempts else "ft")
    return figure_rows(
        [
            Column(
                figure.shown_in(height),
                tuple(attempt.values.get(figure.key) for attempt in attempts),
                tuple(figure.judged_by in attempt.outside for attempt in attempts),
            )
            for figure in FIGURES
        ]
    )


def _finite(value: Any) -> float:
    """A number of a file. Raises `TypeError` or `ValueError` for anything else."""
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"{value}: not a finite number")
    return number


def _finite_or_none(value: Any) -> float | None:
    return None if value is None else _finite(value)


def _kept(attempt: Attempt, of: Literal["reversal", "hold"], number: int) -> KeptAttempt:
    verdict, why = overall(attempt.approach.findings, attempt.approach.reversal)
    charted = attempt.debrief.motion.charted.altitude_unit
    read = [(figure, value) for figure in FIGURES if (value := figure.read(attempt)) is not None]
    one = {figure.key: figure.in_one(height_unit(charted)) for figure, _ in read}
    values = {figure.key: value.times(one[figure.key]) for figure, value in read}
    limits = {figure.key: limit_of(figure, attempt, value) for figure, value in read}
    return KeptAttempt(
        basis=sha256(repr((judged_by(attempt.debrief), attempt.hold)).encode()).hexdigest()[:20],
        of=of,
        number=number,
        hold=attempt.hold or "",
        start_s=attempt.start_s,
        flown=attempt.approach.reversal.flown,
        verdict=verdict,
        why=why,
        values=values,
        limits={key: Limited(limit.limit * one[key], limit.verdict) for key, limit in limits.items() if limit is not None},
        outside=tuple(dict.fromkeys(_outside(attempt))),
        excused=sum(finding.excused is not None for finding in attempt.approach.findings),
        height=charted,
    )


def _outside(attempt: Attempt) -> Iterator[str]:
    for finding in (*attempt.approach.findings, *attempt.hold_findings):
        if finding.verdict == OUTSIDE:
            yield finding.check

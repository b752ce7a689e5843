"""Further circuits of a hold: they belong to the reversal that entered it."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from analyzer.legs.reversal import Reversal

__all__ = ["CIRCUITS", "is_further_circuit", "is_parallel_entry_alone", "join_circuit"]

# From the inbound course, another circuit begins as a direct entry does; beside the fix, or blown, it looks like a teardrop.
CIRCUITS: Final = ("hold-direct", "hold-teardrop")


def is_further_circuit(before: Reversal, then: Reversal) -> bool:
    """Whether a reversal that begins where a hold came back to the fix is another circuit of that hold."""
    return before.flown.startswith("hold") and then.flown in CIRCUITS and then.side == before.side


def is_parallel_entry_alone(reversal: Reversal) -> bool:
    """Whether a parallel entry is all that was flown of a hold.

    It turns the other way than the hold does, as a direct entry into the hold on the other side would.
    """
    return reversal.flown == "hold-parallel" and sum(part.name == "reversal_turn" for part in reversal.parts) == 1


def join_circuit(before: Reversal, then: Reversal) -> Reversal:
    """The reversal with one more circuit: its parts continue, and it ends as the circuit does."""
    start = next(part.start_s for part in then.parts if part.name != "arrival")
    kept = [part for part in before.parts if part.name != "final" and part.start_s < start]
    kept[-1] = replace(kept[-1], end_s=start)  # up to the fix, or to a turn that is begun before it
    return replace(
        before,
        parts=(*kept, *(part for part in then.parts if part.name != "arrival")),
        passages=(*before.passages, *then.passages[1:]),
        established_s=then.established_s,
        entered_s=before.first_established_s,
    )

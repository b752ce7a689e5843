"""The day on which the desk is asked for something."""

from __future__ import annotations

import datetime as dt

__all__ = ["today"]


def today() -> str:
    """The day, UTC: an excuse is dated by it, and a magnetic model is asked for it where the chart gives no variation."""
    return dt.datetime.now(tz=dt.UTC).date().isoformat()

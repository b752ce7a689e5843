"""The caution in every report."""

from __future__ import annotations

__all__ = ["CAUTION"]

CAUTION = (
    "Training aid, never for navigation. Current charts, local rules, the operator's procedures and a licensed instructor "
    "come first."
)

"""Tables of figures, for display in a notebook and conversion to pandas."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape
from typing import TYPE_CHECKING, Any

from analyzer.frozen import dataclass

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Table"]

_INSTANTS = ("start", "end", "time")
_COUNTS = ("reversal", "hold", "lap")  # missing where a row belongs to none


@dataclass(frozen=True, repr=False)
class Table:
    """Rows with the same columns, with names and units of the JSON."""

    rows: tuple[Mapping[str, Any], ...]

    def __len__(self) -> int:
        return len(self.rows)

    def __iter__(self) -> Iterator[Mapping[str, Any]]:
        return iter(self.rows)

    def to_frame(self) -> pd.DataFrame:
        """Convert to a data frame: instants in UTC, numbers of approaches, holds and laps as nullable integers."""
        import pandas as pd

        frame = pd.DataFrame([dict(row) for row in self.rows])
        for column in _INSTANTS:
            if column in frame:
                frame[column] = pd.to_datetime(frame[column], utc=True, format="ISO8601")
        for column in _COUNTS:
            if column in frame:
                frame[column] = frame[column].astype("Int64")
        return frame

    def __repr__(self) -> str:
        if not self.rows:
            return "no rows"
        columns = list(self.rows[0])
        cells = [columns, *([_text(row[column]) for column in columns] for row in self.rows)]
        widths = [max(len(row[k]) for row in cells) for k in range(len(columns))]
        lines = ("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells)
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        columns = list(self.rows[0]) if self.rows else []
        head = "".join(f'<th scope="col">{escape(column)}</th>' for column in columns)
        body = "".join(
            f"<tr>{''.join(f'<td>{escape(_text(row[column]))}</td>' for column in columns)}</tr>" for row in self.rows
        )
        return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _text(value: object) -> str:
    return "" if value is None else str(value)

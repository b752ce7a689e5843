"""Plain text laid out for a terminal, 80 columns wide unless asked otherwise: wrapped, labelled, clipped and in columns."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Sequence

__all__ = ["WIDTH", "clipped", "fitted", "labelled", "shown_name", "table", "wrapped"]

WIDTH = 80
_LONGEST_NAME = 16  # letters of the name of a fix where there is little room


def wrapped(text: str, indent: str = "", hanging: str | None = None, width: int = WIDTH) -> list[str]:
    """The lines of a paragraph, the first indented by `indent`, the others by `hanging`, or by `indent` without it.

    Lines break at blanks only, never at the hyphen of a name.
    """
    following = indent if hanging is None else hanging
    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=following, break_on_hyphens=False)


def labelled(label: str, text: str, columns: int) -> list[str]:
    """A paragraph to the right of its label, which is `columns` wide."""
    return wrapped(text, label.ljust(columns), " " * columns)


def clipped(text: str, width: int) -> str:
    """The text cut to `width` characters, with an ellipsis where something is cut off."""
    return text if len(text) <= width else f"{text[: width - 1]}…" if width else ""


def shown_name(name: str) -> str:
    """The name of a fix as pictures and cards write it, cut off where it is long."""
    return clipped(name, _LONGEST_NAME)


def fitted(line: str, width: int) -> list[str]:
    """A line that is laid out already, with its end below it where it is wider."""
    indent = line[: len(line) - len(line.lstrip())]
    return [line] if len(line) <= width else wrapped(line.strip(), indent, f"{indent}  ", width)


def table(rows: Sequence[Sequence[str]], left: Collection[int] = (0,), width: int = WIDTH) -> list[str]:
    """Headings, a rule and the other rows, columns as wide as they need, those in `left` flush left.

    A table that is wider than both `width` and 80 columns stays so. One that is wider than a narrower `width` has a paragraph a
    row, with each cell after its heading.
    """
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [cell.ljust(w) if k in left else cell.rjust(w) for k, (cell, w) in enumerate(zip(row, widths, strict=True))]
        lines.append("  ".join(cells).rstrip())
    if max(map(len, lines)) > width < WIDTH:
        return [line for row in rows[1:] for line in _folded(rows[0], row, width)]
    return [lines[0], "-" * max(map(len, lines)), *lines[1:]]


def _folded(headings: Sequence[str], row: Sequence[str], width: int) -> list[str]:
    cells = [f"{heading} {cell.strip()}" for heading, cell in zip(headings[1:], row[1:], strict=True) if cell.strip(" -")]
    return [*wrapped(row[0], width=width), *wrapped(", ".join(cells), "  ", width=width)]

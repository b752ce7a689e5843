"""Reading a rubric: what each check weighs in a mark, and which fail an approach outright."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from analyzer.checks.run import CHECKS
from analyzer.errors import GradeError
from analyzer.files import read_bounded
from analyzer.vocabulary import CheckName

__all__ = ["DEFAULT_RUBRIC", "Rubric", "built_in_rubrics", "read_rubric"]

DEFAULT_RUBRIC = "protection"
_KEYS = ("title", "fails_outright", "least_assessed", "weights")
_GREATEST_WEIGHT = 1000.0
_LARGEST_BYTES = 1_000_000
_MOST_SHOWN = 60


@dataclass(frozen=True)
class Rubric:
    """A rubric. `weights` holds the checks that count, in the order they are reported.

    `fails_outright` are checks of which one finding outside makes the mark nought. A mark for which less than `least_assessed`
    of the weights that apply could be assessed says so.
    """

    name: str
    title: str
    weights: Mapping[CheckName, float]
    fails_outright: tuple[CheckName, ...]
    least_assessed: float


# What keeps an aircraft clear of terrain counts most, and fails outright: the weights of the checks' own rows, which are this
# project's choice, for no publication gives any. And a plain share of what was inside.
_PROTECTION = Rubric(
    "protection",
    "Protection first",
    {name: check.weight for name, check in CHECKS.items() if check.weight},
    tuple(name for name, check in CHECKS.items() if check.fails_outright),
    0.6,
)
_EVEN = replace(
    _PROTECTION,
    name="even",
    title="All checks alike",
    weights=dict.fromkeys(_PROTECTION.weights, 1.0),
    fails_outright=(),
)
_BUILT_IN = {rubric.name: rubric for rubric in (_EVEN, _PROTECTION)}


def built_in_rubrics() -> tuple[str, ...]:
    """Names of the rubrics that come with the program."""
    return tuple(_BUILT_IN)


def read_rubric(name_or_path: str | Path = DEFAULT_RUBRIC) -> Rubric:
    """A rubric by name, or from a TOML file.

    Raises
    ------
    GradeError
        The name is unknown, the file cannot be read, or something in it is wrong: what, where, and what is accepted.
    """
    name = str(name_or_path)
    if name in _BUILT_IN:
        return _BUILT_IN[name]
    try:
        content = read_bounded(name_or_path, _LARGEST_BYTES)
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise GradeError(f"{name}: cannot be read: {error}; give a text file in UTF-8") from error
    except (OSError, ValueError) as error:
        why = "" if isinstance(error, FileNotFoundError) else f" ({getattr(error, 'strerror', None) or error})"
        raise GradeError(f"{name}: no such rubric or file{why}; built in are: {', '.join(_BUILT_IN)}") from error
    if len(content) > _LARGEST_BYTES:
        raise GradeError(f"{name}: over {_LARGEST_BYTES:,} bytes, too long for a rubric; is it a log?")
    return _parse(name, text)


def _parse(name: str, text: str) -> Rubric:
    try:
        document = tomllib.loads(text)
    except RecursionError:
        raise GradeError(f"{name}: not valid TOML: nested too deep; a rubric has one table, [weights]") from None
    except ValueError as error:  # TOML's own errors are of this kind, and numbers of thousands of digits
        raise GradeError(f"{name}: not valid TOML: {error}") from error
    for key in document:
        if key not in _KEYS:
            raise GradeError(f"{name}: {key} is unknown; known are {', '.join(_KEYS)}")
    title = document.get("title", Path(name).name)
    if not isinstance(title, str) or not title.isprintable():
        raise GradeError(f"{name}: title = {_shown(title)}: must be a line of text")
    weights = _weights(name, document.get("weights"))
    outright = document.get("fails_outright", [])
    if not isinstance(outright, list) or not all(isinstance(check, str) for check in outright):
        raise GradeError(f"{name}: fails_outright = {_shown(outright)}: must be a list of names of checks")
    for check in outright:
        _known(name, "fails_outright", check)
    return Rubric(
        Path(name).name,
        title,
        weights,
        tuple(check for check in CHECKS if check in outright),
        _number(name, "least_assessed", document.get("least_assessed", 0.0), 1.0),
    )


def _weights(name: str, table: Any) -> Mapping[CheckName, float]:
    if not isinstance(table, dict):
        raise GradeError(f"{name}: [weights] is missing: a table of checks with what each counts, like distance_limit = 20")
    for check in table:
        _known(name, "[weights]", check)
    given = {check: _number(name, f"[weights] {check}", table[check], _GREATEST_WEIGHT) for check in CHECKS if check in table}
    if not sum(given.values()):
        raise GradeError(f"{name}: [weights] are all 0: some check must count")
    return {check: weight for check, weight in given.items() if weight}


def _known(name: str, where: str, check: str) -> None:
    if check not in CHECKS:
        raise GradeError(f"{name}: {where}: {_shown(check)} is no check; there are: {', '.join(CHECKS)}")


def _number(name: str, key: str, value: Any, greatest: float) -> float:
    fits = isinstance(value, int | float) and not isinstance(value, bool)
    if not fits or not 0.0 <= value <= greatest:  # no comparison holds of a NaN
        raise GradeError(f"{name}: {key} = {_shown(value)}: must be a number from 0 to {greatest:g}")
    return float(value)


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}..."

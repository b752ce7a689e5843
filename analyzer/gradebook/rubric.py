"""Reading a rubric: the weight of each check in a mark, and the checks that fail an approach outright."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated

from pydantic import Field

from analyzer.checks.run import CHECKS
from analyzer.errors import GradeError
from analyzer.toml_files import Line, Table, checked, read_toml
from analyzer.vocabulary import CheckName

__all__ = ["DEFAULT_RUBRIC", "Rubric", "built_in_rubrics", "read_rubric"]

DEFAULT_RUBRIC = "protection"


class _Tables(Table):
    """The tables of the file."""

    title: Line | None = None
    weights: dict[CheckName, Annotated[float, Field(ge=0, le=1000, description="a number from 0 to 1000")]] = Field(
        description="a table of checks with what each counts, like distance_limit = 20"
    )
    fails_outright: list[CheckName] = Field(default_factory=list, description="a list of names of checks")
    least_assessed: Annotated[float, Field(ge=0, le=1, description="a number from 0 to 1")] = 0.0


@dataclass(frozen=True)
class Rubric:
    """A rubric.

    Attributes
    ----------
    weights : mapping
        The checks that count, in the order they are reported.
    fails_outright : tuple of str
        The checks in which one finding outside makes the mark zero.
    least_assessed : float
        The share of the weights that must be assessed for a mark without a caution, from 0 to 1.
    """

    name: str
    title: str
    weights: Mapping[CheckName, float]
    fails_outright: tuple[CheckName, ...]
    least_assessed: float


# Protection from terrain counts most, and fails outright: the weights of the rows of checks. They are this project's choice, as
# no publication gives any.
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
    """Names of the built-in rubrics."""
    return tuple(_BUILT_IN)


def read_rubric(name_or_path: str | Path = DEFAULT_RUBRIC) -> Rubric:
    """Read a rubric by its name, or from a TOML file.

    Raises
    ------
    GradeError
        The name is unknown, the file cannot be read, or a value is wrong; the message says where, and what is accepted.
    """
    name = str(name_or_path)
    if name in _BUILT_IN:
        return _BUILT_IN[name]
    tables = read_toml(name_or_path, "rubric", GradeError, ", ".join(_BUILT_IN))
    rubric = checked(_Tables, tables, name, GradeError)
    if not any(rubric.weights.values()):
        raise GradeError(f"{name}: [weights] are all 0: some check must count")
    return Rubric(
        Path(name).name,
        rubric.title if rubric.title is not None else Path(name).name,
        {check: rubric.weights[check] for check in CHECKS if rubric.weights.get(check)},
        tuple(check for check in CHECKS if check in rubric.fails_outright),
        rubric.least_assessed,
    )

"""Reading a rubric: the weight of each check, what a value outside earns, and the checks that fail an approach outright."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from analyzer.checks.run import CHECKS
from analyzer.errors import GradeError
from analyzer.frozen import dataclass
from analyzer.toml_faults import shown
from analyzer.toml_files import Line, Table, checked, read_toml
from analyzer.vocabulary import CheckName

__all__ = ["BY_MARGIN", "DEFAULT_RUBRIC", "INSIDE_ONLY", "OF_LIMIT", "Rubric", "built_in_rubrics", "read_rubric"]

DEFAULT_RUBRIC = "protection"
BY_MARGIN = "by margin"
INSIDE_ONLY = "inside only"
OF_LIMIT = "of_limit"
_Unit = Literal["NM", "ft", "m", "deg", "kt", "s", "fpm", "of_limit"]
_Weight = Annotated[float, Field(ge=0, le=1000, description="a number from 0 to 1000")]
_Room = Annotated[float, Field(ge=0.001, le=10_000, description="a number from 0.001 to 10,000")]
_Rooms = Annotated[dict[_Unit, _Room], Field(description="a table of units, as { NM = 1 }")]


class _Tables(Table):
    """The tables of the file."""

    based_on: Line | None = None
    title: Line | None = None
    weights: dict[CheckName, _Weight] = Field(
        default_factory=dict, description="a table of checks with what each counts, like distance_limit = 20"
    )
    credit: Literal["by margin", "inside only"] | None = None
    all_lost_by: dict[CheckName, _Rooms] = Field(
        default_factory=dict, description="a table of checks, like distance_limit = { NM = 1 }"
    )
    fails_outright: list[CheckName] | None = Field(default=None, description="a list of check names")
    least_assessed: Annotated[float, Field(ge=0, le=1, description="a number from 0 to 1")] | None = None


@dataclass(frozen=True)
class Rubric:
    """A rubric.

    `all_lost_by` gives, by check and unit, the distance outside at which a finding earns nothing; without it no finding outside
    earns anything. `fails_outright` lists checks of which one finding that earns nothing makes the mark 0. If less than
    `least_assessed` of the applicable weights could be assessed, the mark says so.
    """

    name: str
    title: str
    weights: Mapping[CheckName, float]
    fails_outright: tuple[CheckName, ...]
    least_assessed: float
    all_lost_by: Mapping[CheckName, Mapping[str, float]] = field(default_factory=dict)


# The distances outside at which all is lost, from the definitions of the checks, are this project's choice: none is published.
_BY_MARGIN: Mapping[CheckName, Mapping[str, float]] = {
    name: check.all_lost_by for name, check in CHECKS.items() if check.all_lost_by
}
# One rubric in which clearance from terrain counts most and fails outright, and one that counts all checks alike.
_PROTECTION = Rubric(
    "protection",
    "Protection first",
    {name: check.weight for name, check in CHECKS.items() if check.weight},
    tuple(name for name, check in CHECKS.items() if check.fails_outright),
    0.6,
    _BY_MARGIN,
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
    """Read a built-in rubric by its name, or one from a TOML file.

    A file may be based on a built-in rubric, ``based_on = "protection"``, and give only what differs: single weights, with 0 to
    leave a check out, and single rows of ``all_lost_by``. With ``credit = "inside only"`` no finding outside earns anything.

    Raises
    ------
    GradeError
        The name is unknown, the file cannot be read, or a value is wrong; the message says where, and what is accepted.
    """
    name = str(name_or_path)
    if name in _BUILT_IN:
        return _BUILT_IN[name]
    tables = read_toml(name_or_path, "rubric", GradeError, ", ".join(_BUILT_IN))
    return _rubric(name, tables, checked(_Tables, tables, name, GradeError))


def _rubric(name: str, tables: dict[str, Any], file: _Tables) -> Rubric:
    base = _base(name, tables, file)
    weights = {**base.weights, **file.weights}
    if not any(weights.values()):
        raise GradeError(f"{name}: [weights] are all 0: some check must count")
    if file.credit == INSIDE_ONLY and file.all_lost_by:
        raise GradeError(
            f"{name}: credit = {shown(INSIDE_ONLY)} gives nothing outside, so [all_lost_by] says nothing: leave out one of them"
        )
    own: dict[CheckName, Mapping[str, float]] = {check: dict(rooms.items()) for check, rooms in file.all_lost_by.items()}
    by_margin = {**base.all_lost_by, **own}
    failing = base.fails_outright if file.fails_outright is None else file.fails_outright
    return Rubric(
        Path(name).name,
        file.title if file.title is not None else Path(name).name,
        {check: weights[check] for check in CHECKS if weights.get(check)},
        tuple(check for check in CHECKS if check in failing),
        base.least_assessed if file.least_assessed is None else file.least_assessed,
        {check: by_margin[check] for check in CHECKS if check in by_margin} if file.credit != INSIDE_ONLY else {},
    )


def _base(name: str, tables: dict[str, Any], file: _Tables) -> Rubric:
    """The rubric that a file changes: the one that it is based on, or an empty one."""
    if file.based_on is None:
        if "weights" not in tables:
            raise GradeError(
                f"{name}: [weights]: missing; accepted: a table of checks with what each counts, like distance_limit = 20; "
                f"or begin the file with based_on = {shown(DEFAULT_RUBRIC)}"
            )
        return Rubric("", "", {}, (), 0.0, _BY_MARGIN)
    if file.based_on not in _BUILT_IN:
        ships = ", ".join(map(shown, _BUILT_IN))
        raise GradeError(f"{name}: based_on = {shown(file.based_on)}: not a built-in rubric; accepted: {ships}")
    return _BUILT_IN[file.based_on]

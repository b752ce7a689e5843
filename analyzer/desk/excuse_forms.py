"""The forms at the findings of a flight's page: to excuse one, with a reason and a name, and to take an excuse back."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from analyzer.checks.excuse import Excuse
from analyzer.checks.phrases import check_name, part_words

__all__ = ["with_excuse_forms"]

_NAMED = ("approach", "hold", "check", "leg", "part", "fix", "lap", "time_s", "sentence")


@cache
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("analyzer.desk"), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return environment.get_template("excuse.html.j2")


def with_excuse_forms(content: dict[str, Any], address: str, by: str) -> dict[str, Any]:
    """The values of a debrief's page, with a form at each finding that can be excused or is, and at each unused excuse.

    `address` is that of the flight's page; `by` is the name that is offered, empty for none.
    """
    for place, row in enumerate(_rows(content)):
        excuse = row["excuse"]
        if isinstance(excuse, Excuse):
            row["form"] = _form(excuse, address, by, place)
    return content


def _rows(content: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield from content["idle"]
    for approach in content["approaches"]:
        yield from approach["faults"]
        yield from approach["excused"]
        for group in approach["groups"]:
            yield from group["findings"]


def _form(excuse: Excuse, address: str, by: str, place: int) -> Markup:
    named = {name: value for name in _NAMED if (value := getattr(excuse, name)) not in (None, "")}
    where = excuse.fix or part_words(excuse.part or excuse.leg or "", excuse.lap)
    words = f"{check_name(excuse.check)}, {where}" if where else check_name(excuse.check)
    given = excuse.key if excuse.reason else ""
    return Markup(_template().render(address=address, named=named, given=given, words=words, by=by, id=f"excuse-{place}"))  # noqa: S704 (escaped by the template)

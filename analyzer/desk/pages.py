"""The pages of the desk, from templates; their scripts and style sheet are separate files."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from importlib import resources
from urllib.parse import quote

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse, JSONResponse, Response

from analyzer.program import program_version
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.folded_headings import FOLDED_HEADINGS

__all__ = ["answer_json", "fragment", "page", "script", "stylesheet_of"]

_SCRIPTS = {
    "desk.js": "analyzer.desk.static",
    "chart.js": "analyzer.desk.static",
    "brief.js": "analyzer.desk.static",
    "pilot.js": "analyzer.desk.static",
    "class.js": "analyzer.desk.static",
    "attempts.js": "analyzer.report.pages.templates",
    "cursor.js": "analyzer.report.pages.templates",
    "replay.js": "analyzer.report.pages.templates",
}


@cache
def _environment() -> Environment:
    """The templates. Values are escaped, and a missing name is an error."""
    environment = Environment(
        loader=ChoiceLoader([PackageLoader("analyzer.desk"), PackageLoader("analyzer.report.pages")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["caution"] = CAUTION
    environment.globals["version"] = program_version()
    environment.globals["spoken"] = FOLDED_HEADINGS
    environment.filters["unbroken"] = str
    environment.filters["path"] = lambda name: quote(name, safe="")
    environment.filters["log_path"] = lambda name: quote(name, safe="/", errors="surrogateescape")
    return environment


def page(template: str, status: int = 200, **values: object) -> Response:
    """A page made from a template of the desk."""
    return HTMLResponse(_environment().get_template(template).render(**{"changed": None, "of_class": None, **values}), status)


def fragment(template: str, **values: object) -> str:
    """A piece of a page, for a script that puts it into its place."""
    return _environment().get_template(template).render(**values)


def answer_json(values: Mapping[str, object], status: int = 200) -> Response:
    """Values for a script of a page."""
    return JSONResponse(json.loads(json.dumps(values)), status)


@cache
def script(name: str) -> str | None:
    """A script of the pages; None for an unknown name."""
    folder = _SCRIPTS.get(name)
    if folder is None:
        return None
    package, _, inner = folder.rpartition(".")
    return resources.files(package).joinpath(inner, name).read_text(encoding="utf-8")


def stylesheet_of(colours: Mapping[str, tuple[str, str]]) -> str:
    """The style of the reports and of the desk's own pages, with the colours of the pictures."""
    reports = _environment().get_template("style.html.j2").render(theme=colours)
    own = resources.files("analyzer.desk").joinpath("static", "desk.css").read_text(encoding="utf-8")
    return reports.replace("<style>", "").replace("</style>", "") + own

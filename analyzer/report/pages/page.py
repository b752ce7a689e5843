"""What all pages have in common: their templates, their end, and scripts written into them and allowed by their hash."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Mapping
from functools import cache
from hashlib import sha256
from importlib import resources
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from analyzer.program import program_version
from analyzer.report.pictures.style import THEME
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.folded_headings import FOLDED_HEADINGS

__all__ = ["filled", "inline_script", "script_hash", "unbroken_options", "whole_page"]

_OPTION = re.compile(r"--[a-z]+(?:-[a-z]+)*")


@cache
def _environment() -> Environment:
    """The templates of the pages. Values are escaped, and a missing name is an error."""
    environment = Environment(
        loader=PackageLoader("analyzer.report.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["theme"] = THEME
    environment.globals["spoken"] = FOLDED_HEADINGS
    environment.filters["unbroken"] = unbroken_options
    return environment


def unbroken_options(text: str) -> Markup:
    """Text as HTML in which command-line options, such as ``--altitude-from``, do not break at their hyphens."""
    return Markup(_OPTION.sub(r'<span class="value">\g<0></span>', str(escape(text))))  # noqa: S704 (escaped)


def filled(template: str, content: Mapping[str, Any]) -> str:
    """A template with its values, as HTML."""
    return _environment().get_template(f"{template}.html.j2").render(**content)


def whole_page(template: str, content: Mapping[str, Any], script: str | None = None) -> str:
    """A page with its head and foot, and with a script where it has one."""
    allowed = {} if script is None else {"script": script, "script_hash": script_hash(script)}
    return filled(template, {**content, **allowed, "caution": CAUTION, "version": program_version()})


@cache
def inline_script(name: str) -> str:
    """The text of a script, to be written into a page."""
    return resources.files("analyzer.report.pages.templates").joinpath(name).read_text(encoding="utf-8")


def script_hash(script: str) -> str:
    """The source expression by which a Content-Security-Policy allows a script (W3C, CSP level 3, hash-source)."""
    return f"sha256-{b64encode(sha256(script.encode()).digest()).decode()}"

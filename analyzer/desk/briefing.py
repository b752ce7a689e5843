"""The work on a brief at the desk: its form, its numbers and pictures as the form is changed, and its knee card.

These functions run in worker processes. They do what the command ``brief`` does, on the charts of the folder.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from analyzer.brief.briefing import Brief, brief
from analyzer.desk.brief_fields import brief_fields, conditions_of, line_asked, misses
from analyzer.desk.brief_values import BriefDrawn, BriefForm
from analyzer.desk.field_words import in_fields, with_fields
from analyzer.desk.names import safe_name
from analyzer.desk.store import Store
from analyzer.errors import AnalyzerError, BriefError
from analyzer.physics.units import NM, bearing_text
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.read import read_procedure
from analyzer.report.pages.brief_page import brief_content
from analyzer.report.paper.knee_card import knee_card
from analyzer.report.paper.sizes import CARDS, paper_named
from analyzer.report.pictures.layout import NARROW, WIDE

__all__ = ["ABOUT", "brief_asked", "brief_form", "draw_brief_form", "print_knee_card"]

ABOUT = ("chart", "name", "file", "was", "layout", "paper", "as")  # what a form sends besides its fields


def brief_form(folder: str, sent: Mapping[str, str], today: str) -> BriefForm:
    """The form of a brief of a chart, with what was sent. Raises `AnalyzerError` where the chart cannot be briefed."""
    texts = _texts(sent)
    charted = _charted(folder, sent, today)
    name, file, was = (sent.get(about, "") for about in ("name", "file", "was"))
    return BriefForm(sent.get("chart", ""), charted.procedure.title, brief_fields(charted, texts), name, file, was)


def draw_brief_form(folder: str, sent: Mapping[str, str], today: str) -> BriefDrawn:
    """A brief as a form asks for it. Raises `BriefError` in the words of the form."""
    made = brief_asked(folder, sent, today)
    content = brief_content(made, (NARROW if sent.get("layout") == NARROW.name else WIDE,))
    return BriefDrawn(_said(made), {**with_fields(content), "pictures": [_picture(one) for one in content["pictures"]]})


def print_knee_card(folder: str, sent: Mapping[str, str], today: str) -> tuple[str, bytes]:
    """The knee card of a brief as a form asks for it (PDF), and the name of its file. Raises `AnalyzerError`."""
    sheet = paper_named(sent.get("paper", "") or CARDS[0].name, CARDS)
    made = brief_asked(folder, sent, today)
    stem = safe_name(sent.get("name", "").strip() or sent.get("chart", "").removesuffix(".toml"), "brief")
    return f"{stem}-brief.pdf", knee_card(made, sheet)


def brief_asked(folder: str, sent: Mapping[str, str], today: str) -> Brief:
    """The brief that a form asks for.

    Raises
    ------
    BriefError
        It cannot be flown, or a field is not accepted; said in the words of the form.
    """
    texts, charted = _texts(sent), _charted(folder, sent, today)
    try:
        return brief(charted, conditions_of(charted, texts), missed=misses(texts) and charted.missed is not None)
    except AnalyzerError as error:
        raise BriefError(in_fields(str(error))) from error


def _texts(sent: Mapping[str, str]) -> Mapping[str, str]:
    return {name: text for name, text in sent.items() if name not in ABOUT}


def _charted(folder: str, sent: Mapping[str, str], today: str) -> Charted:
    procedure = read_procedure(Store(Path(folder)).there("procedures", sent.get("chart", "")))
    return resolve(procedure, dt.date.fromisoformat(today), line_asked(sent, procedure))


def _said(made: Brief) -> str:
    """The straight legs of the reversal and how far it reaches, in a sentence."""
    farthest, limit = made.plan.farthest_m / NM, made.charted.limit_m
    east = made.charted.variation.east_rad
    legs = (
        f"{part.part.replace('_', ' ')} {bearing_text(part.heading_rad - east)} for {part.seconds:.0f} s"
        for part in made.plan.parts
        if part.leg in ("outbound", "reversal") and part.bank_rad is None and part.part != "arc"
    )
    reached = f"{made.plan.pattern.shape}: {'; '.join((*legs, f'greatest distance {farthest:.2f} NM'))}"
    if limit is None:
        return f"{reached}."
    room = limit / NM - farthest
    return f"{reached}, {abs(room):.2f} NM {'inside' if room >= 0.0 else 'beyond'} the limit of {limit / NM:g} NM."


def _picture(picture: Any) -> Mapping[str, Any]:
    """A picture as plain values, for a process that has loaded no pictures."""
    views = [{"svg": view.svg} for view in picture.views]
    return {"name": picture.name, "caption": picture.caption, "alt": picture.alt, "views": views}

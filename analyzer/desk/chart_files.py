"""Charts between the form and the files of the folder: opened, drawn as they are, and saved as `procedure new` writes them."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
import tomllib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from analyzer.desk.asked import ChartSeen
from analyzer.desk.changes import make_change
from analyzer.desk.chart_fields import answers_of
from analyzer.desk.chart_forms import ChartForm, form_of
from analyzer.desk.chart_pictures import pictures_of
from analyzer.desk.chart_words import typed_as
from analyzer.desk.charting import see_chart
from analyzer.desk.flown_offers import FLOWN
from analyzer.desk.label_words import in_labels
from analyzer.desk.locked import locked
from analyzer.desk.names import safe_name
from analyzer.desk.store import Store
from analyzer.errors import DeskError
from analyzer.procedure.altitude_unit import value_as_written
from analyzer.procedure.charted import resolve
from analyzer.procedure.read import read_procedure
from analyzer.procedure.schema import Procedure

__all__ = ["draw_saved", "save_chart", "texts_of"]


def save_chart(folder: str, sent: Mapping[str, str], today: str) -> tuple[str, str]:
    """Write the chart of a form into the procedures of a folder, over the one that it was made from if any.

    Returns its file, and the name of the change where it was written over another.

    Raises
    ------
    DeskError
        The chart is not whole, or the file was changed since it was opened.
    """
    form = form_of(sent)
    seen = see_chart(form.texts, today, drafted=form.drafted)
    if not seen.whole:
        raise DeskError(f"The chart is not complete yet: {seen.said}")
    store = Store(Path(folder))
    if form.file:
        with locked(store.folder):
            return form.file, _written_over(store, form, seen.toml.encode())
    title = safe_name(form.texts["title"].strip().lower().replace(" ", "_"), "procedure")
    return store.add("procedures", f"{title}.toml", seen.toml.encode()), ""


def _written_over(store: Store, form: ChartForm, content: bytes) -> str:
    path = store.there("procedures", form.file)
    if version_of(path.read_bytes()) != form.was:
        raise DeskError(
            f"{form.file}: changed by another page or program since it was opened here. What you typed is still below: save it "
            "as a new chart, or open the chart again and compare"
        )
    same = read_procedure(path) == _procedure_in(content.decode())
    if same and set(_drafted(path.read_text(encoding="utf-8", errors="replace"))) == set(_drafted(content.decode())):
        return ""  # nothing was changed in the form, so that remarks which somebody wrote into the file stay
    return make_change(store, f"{form.file}: chart changed", {("procedures", form.file): content})


def _procedure_in(text: str) -> Procedure:
    return Procedure.model_validate(tomllib.loads(text))


def version_of(content: bytes) -> str:
    """What tells one version of a file from another."""
    return hashlib.sha256(content).hexdigest()


def texts_of(folder: str, name: str, today: str) -> tuple[dict[str, str], tuple[str, ...], str]:
    """The texts of a form for a chart of the folder, the fields among them that were drafted from a flight, and its version.

    Raises
    ------
    DeskError
        Saving the file from the form would change it.
    """
    path = Store(Path(folder)).there("procedures", name)
    procedure = read_procedure(path)
    texts = _texts_from(procedure)
    seen = see_chart(texts, today)
    if not seen.whole or _procedure_in(seen.toml) != procedure:
        raise DeskError(f"{name}: the form cannot hold this chart without changing it ({seen.said}); use a text editor")
    content = path.read_bytes()
    drafted = tuple(name for name in _drafted(content.decode(errors="replace")) if name in texts)
    return texts, drafted, version_of(content)


def _texts_from(procedure: Procedure) -> dict[str, str]:
    answers = answers_of(procedure)
    unit = procedure.altitude_unit
    return {
        f"{table}.{key}" if table else key: typed_as(key, value, _as_typed(value_as_written(key, value, unit)))
        for (table, key), value in answers.items()
    }


def draw_saved(folder: str, name: str, today: str) -> ChartSeen:
    """A chart of the folder as it is."""
    procedure = read_procedure(Store(Path(folder)).there("procedures", name))
    charted = resolve(procedure, dt.date.fromisoformat(today))
    return ChartSeen({}, (), pictures_of(charted), {}, procedure.title, tuple(map(in_labels, charted.warnings)), True)


def _drafted(text: str) -> Iterator[str]:
    """The fields of a file whose line has the remark of a draft."""
    table, rows = "", dict[str, int]()
    for line in text.splitlines():
        if heading := re.fullmatch(r"\[\[(\w+)\]\]\s*(?:#.*)?", line):
            rows[heading[1]] = rows.get(heading[1], 0) + 1
            table = f"{heading[1]} {rows[heading[1]]}"
        elif heading := re.fullmatch(r"\[(\w+)\]\s*(?:#.*)?", line):
            table = heading[1]
        elif (value := re.match(r"(\w+) = ", line)) and line.endswith(f"# {FLOWN}"):
            yield f"{table}.{value[1]}" if table else value[1]


def _as_typed(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{Decimal(repr(value)):f}".removesuffix(".0")
    return str(value)

"""A fault of a TOML file in the words of the file: table, key, value, what is wrong, and what is accepted.

The tables of a file are pydantic models, and places are as pydantic gives them: names of tables and keys, numbers in lists, and
``"[key]"`` after a name that is itself what is wrong.
"""

from __future__ import annotations

import difflib
import json
import re
import types
import typing
from collections.abc import Callable, Collection, Iterator, Mapping
from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeAlias

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from analyzer.frozen import dataclass

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

__all__ = ["Spelling", "accepted_text", "fault_text", "shown"]

Place: TypeAlias = tuple[int | str, ...]

_NAME_ITSELF = "[key]"
# What is wrong, by pydantic's name of the fault.
_WRONG = {
    "missing": "missing",
    "greater_than_equal": "too small",
    "less_than_equal": "too large",
    "finite_number": "not a finite number",
    "float_type": "not a number",
    "int_type": "not a whole number",
    "string_type": "not text in quotes",
    "string_too_short": "empty",
    "string_too_long": "too long",
    "string_pattern_mismatch": "holds a line break, or a control or directing character",
    "bool_type": "neither true nor false",
    "date_type": "not a date",
    "datetime_type": "not a date with a time",
    "dict_type": "not a table",
    "model_type": "not a table",
    "list_type": "not a list",
    "tuple_type": "not a list of tables",
    "too_short": "too few",
    "too_long": "too many, more than {max_length}",
}


@dataclass(frozen=True)
class Spelling:
    """How a file spells what its model holds, where that differs: keys, values by their keys, and words on what a key takes.

    `advice` is on an unknown key that is a known one in another spelling, and empty for any other.
    """

    key: Callable[[str], str] = lambda key: key
    value: Callable[[str, Any], Any] = lambda _, value: value
    words: Callable[[str, str], str] = lambda _, words: words
    advice: Callable[[str, Collection[str]], str] = lambda _, known: ""  # noqa: ARG005 (called by position)


_AS_IN_THE_MODEL = Spelling()


def fault_text(
    fault: ErrorDetails, model: type[BaseModel], under: tuple[str, ...] = (), spelling: Spelling = _AS_IN_THE_MODEL
) -> str:
    """One fault reported by a model, as ``[table] key = value: what is wrong; what is accepted``.

    `under` are the headings that the model's own tables stand under.
    """
    kind, value, place = fault["type"], fault["input"], fault["loc"]
    node = _at(model, place)
    name_itself = place[-1:] == (_NAME_ITSELF,)
    place = place[:-1] if name_itself else place
    where = _where(model, place, None if name_itself or kind == "missing" else value, under, spelling)
    if kind == "extra_forbidden":
        return f"{where}: unknown {'table' if isinstance(value, dict) else 'key'}; {_instead(model, place, spelling)}"
    if kind == "contradiction":  # of several keys: it says itself what goes together
        return f"{where}: {fault['msg']}"
    accepted = spelling.words(str(place[-1]) if place else "", _accepted(node))
    if kind == "literal_error":
        return f"{where}: not one of the choices; {_near_choice(place[-1] if name_itself else value, node)}accepted: {accepted}"
    wrong = _WRONG.get(kind, fault["msg"])
    return f"{where}: {wrong.format(**fault['ctx']) if kind == 'too_long' else wrong}; accepted: {accepted}"


def accepted_text(model: type[BaseModel], place: Place) -> str:
    """What a model takes at a place, in words."""
    return _accepted(_at(model, place))


def shown(value: object) -> str:
    """A value as TOML would write it, cut to a length that fits a message."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "[...]"
    if isinstance(value, dict):
        return "{...}"
    if isinstance(value, int) and value.bit_length() > 64:
        return "a number of more than 19 digits"
    text = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else f"{text[:56]} ..."


@dataclass(frozen=True)
class _Node:
    """What a model takes at a place: a type, and what the field's description says of it."""

    annotation: Any
    description: str | None = None

    @property
    def table(self) -> type[BaseModel] | None:
        """The model of the table, where it is one."""
        return next((one for one in _either(self.annotation) if isinstance(one, type) and issubclass(one, BaseModel)), None)

    @property
    def choices(self) -> tuple[str, ...]:
        """The words that may stand there, where it is one of words."""
        words = (typing.get_args(one) for one in _either(self.annotation) if typing.get_origin(one) is Literal)
        return tuple(str(word) for word in next(words, ()))

    def _arguments(self, *kinds: type) -> tuple[Any, ...]:
        return next((typing.get_args(one) for one in _either(self.annotation) if typing.get_origin(one) in kinds), ())

    @property
    def element(self) -> _Node | None:
        """What a list holds; None where it is no list."""
        arguments = self._arguments(list, tuple)
        return _Node(arguments[0]) if arguments else None

    @property
    def entries(self) -> tuple[_Node, _Node] | None:
        """The names and the values of a table that takes any of a kind; None where it is none."""
        arguments = self._arguments(dict)
        return (_Node(arguments[0]), _Node(arguments[1])) if arguments else None

    @property
    def headed(self) -> bool:
        """Whether it stands under a heading of its own: a table, or tables of a list."""
        return self.table is not None or self.entries is not None or (self.element is not None and self.element.headed)


def _either(annotation: Any) -> Iterator[Any]:
    """The types that a union is of, without what is annotated of them."""
    origin = typing.get_origin(annotation)
    if origin is Annotated:
        yield from _either(typing.get_args(annotation)[0])
    elif origin in (typing.Union, types.UnionType):
        for one in typing.get_args(annotation):
            yield from _either(one)
    else:
        yield annotation


def _at(model: type[BaseModel], place: Place) -> _Node | None:
    """What a model takes at a place, None where it knows none such."""
    node: _Node | None = _Node(model)
    for number, part in enumerate(place):
        if node is None or part == _NAME_ITSELF:
            break
        if node.table is not None:
            field = node.table.model_fields.get(str(part))
            node = _Node(field.annotation, field.description) if field is not None else None
        elif node.entries is not None:
            node = node.entries[0 if place[number + 1 :] == (_NAME_ITSELF,) else 1]
        else:
            node = node.element
    return node


def _where(model: type[BaseModel], place: Place, value: object, under: tuple[str, ...], spelling: Spelling) -> str:
    """The place in the file, with the value found there where it is a plain one; tables of a list by number, from 1."""
    if not place:
        return _heading(under) if under else "the file"
    node = _at(model, place)
    if isinstance(place[-1], int):
        if node is None or not node.headed:  # of plain values it is enough to say which list
            return _where(model, place[:-1], value, under, spelling)
        return _heading(under + place) if isinstance(value, dict) else f"{_heading(under + place)} = {shown(value)}"
    if isinstance(value, dict) or (value is None and node is not None and node.headed):
        return _heading(under + place)
    above = f"{_heading(under + place[:-1])} " if under + place[:-1] else ""
    key = f"{above}{_quoted(spelling.key(place[-1]))}"
    return key if value is None else f"{key} = {shown(spelling.value(place[-1], value))}"


def _heading(place: Place) -> str:
    """A table as the file heads it: ``[reversal.within_from]``, or ``[[fixes]] 2`` for the second of a list."""
    number = next((part for part in place if isinstance(part, int)), None)
    name = ".".join(_quoted(part) for part in place if isinstance(part, str))
    return f"[{name}]" if number is None else f"[[{name}]] {number + 1}"


def _quoted(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else shown(key)


def _accepted(node: _Node | None) -> str:
    if node is None:
        return "nothing"
    if node.table is not None:
        return f"a table with the keys {', '.join(node.table.model_fields)}"
    if node.element is not None and node.element.table is not None:
        return f"[[...]] tables with the keys {', '.join(node.element.table.model_fields)}"
    choices = [f'"{choice}"' for choice in node.choices]
    words = " or ".join(filter(None, [", ".join(choices[:-1]), *choices[-1:]]))
    return words or node.description or _described(node.annotation) or _plain(node.annotation)


def _described(annotation: object) -> str | None:
    """The description inside an annotation such as ``Annotated[float, Field(description=...)] | None``."""
    for part in getattr(annotation, "__metadata__", ()):
        if isinstance(part, FieldInfo) and part.description:
            return part.description
    return next((found for part in typing.get_args(annotation) if (found := _described(part))), None)


def _plain(annotation: object) -> str:
    return "true or false" if bool in _either(annotation) else "text in quotes"


def _near_choice(value: object, node: _Node | None) -> str:
    """Which of the choices was probably meant, as a question; empty where none is near."""
    near = difflib.get_close_matches(str(value).lower(), node.choices if node is not None else (), n=1)
    return f'did you mean "{near[0]}"? ' if near else ""


def _instead(model: type[BaseModel], place: Place, spelling: Spelling) -> str:
    """The key or table that an unknown one was probably meant to be."""
    key, home = str(place[-1]), _at(model, place[:-1])
    known: Mapping[str, FieldInfo] = home.table.model_fields if home is not None and home.table is not None else {}
    other = spelling.advice(key, known)
    if other:
        return other
    begins = [name for name in known if name.startswith(key.lower()) or key.lower().startswith(name)]
    near = difflib.get_close_matches(key.lower(), known, n=1) or begins[:1]
    if near:
        meant = _Node(known[near[0]].annotation)
        listed = f"[[{near[0]}]]" if meant.element is not None else f"[{near[0]}]"
        return f"did you mean {listed if meant.headed else spelling.key(near[0])}?"
    own = ".".join(part for part in place[:-1] if isinstance(part, str))
    elsewhere = [table for table, keys in _tables(model).items() if key in keys and table.strip("[]") != own]
    if elsewhere:
        return f"it belongs under {' or '.join(table if table else 'no table, at the top' for table in elsewhere)}"
    return f"accepted: {', '.join(map(spelling.key, known))}"


def _tables(model: type[BaseModel]) -> Mapping[str, Collection[str]]:
    """The keys of the file itself (as ``""``) and of every table directly under it, by its heading."""
    tables: dict[str, Collection[str]] = {"": model.model_fields}
    for name, field in model.model_fields.items():
        node = _Node(field.annotation)
        if node.table is not None:
            tables[f"[{name}]"] = node.table.model_fields
        elif node.element is not None and node.element.table is not None:
            tables[f"[[{name}]]"] = node.element.table.model_fields
    return tables

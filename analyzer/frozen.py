"""Frozen dataclasses whose methods are made when they are first used.

`dataclasses.dataclass` compiles six methods of a frozen class as it is defined. There are over two hundred such classes here,
and that took a sixth of the time of a whole debrief; most of them are never compared, hashed or printed, and many not even
made. The decorator here takes the place of that one for frozen classes. What it makes behaves alike, and is a dataclass to type
checkers and to `dataclasses.fields`, `replace` and `asdict`; fields are all parameters, by position.
"""

from __future__ import annotations

import dataclasses
from dataclasses import MISSING, FrozenInstanceError
from typing import TYPE_CHECKING, Any, Literal, NoReturn

if TYPE_CHECKING:
    from collections.abc import Callable
    from dataclasses import dataclass

__all__ = ["dataclass"]


class _OnFirstUse:
    """A method that is made when it is first looked up, and takes this one's place."""

    def __init__(self, home: type, name: str, make: Callable[[type], Any]) -> None:
        self._home, self._name, self._make = home, name, make

    def __get__(self, instance: object, owner: type) -> Any:
        made = self._make(self._home)
        made.__name__, made.__qualname__ = self._name, f"{self._home.__qualname__}.{self._name}"
        made.__module__ = self._home.__module__
        setattr(self._home, self._name, made)
        return made.__get__(instance, owner)


def _init(home: type) -> Any:
    fields = dataclasses.fields(home)
    known: dict[str, Any] = {"_set": object.__setattr__, "_missing": MISSING}
    parameters, lines = ["self"], []
    for one in fields:
        if one.default is not MISSING:
            known[f"_of_{one.name}"] = one.default
            parameters.append(f"{one.name}=_of_{one.name}")
        elif one.default_factory is not MISSING:
            known[f"_of_{one.name}"] = one.default_factory
            parameters.append(f"{one.name}=_missing")
            lines.append(f"if {one.name} is _missing: {one.name} = _of_{one.name}()")
        else:
            parameters.append(one.name)
        lines.append(f"_set(self, {one.name!r}, {one.name})")
    if hasattr(home, "__post_init__"):
        lines.append("self.__post_init__()")
    made = _compiled(parameters, lines, known)
    made.__annotations__ = {**{one.name: one.type for one in fields}, "return": None}
    return made


def _eq(home: type) -> Any:
    compared = [one.name for one in dataclasses.fields(home) if one.compare]
    ours, theirs = ("".join(f"{whose}.{name}, " for name in compared) for whose in ("self", "other"))
    same = f"({ours}) == ({theirs}) if other.__class__ is self.__class__ else NotImplemented"
    return _compiled(["self", "other"], [f"return {same}"])


def _hash(home: type) -> Any:
    counted = (one.name for one in dataclasses.fields(home) if (one.compare if one.hash is None else one.hash))
    return _compiled(["self"], [f"return hash(({''.join(f'self.{name}, ' for name in counted)}))"])


def _repr(home: type) -> Any:
    shown = ", ".join(f"{one.name}={{self.{one.name}!r}}" for one in dataclasses.fields(home) if one.repr)
    return _compiled(["self"], [f"return f'{{self.__class__.__qualname__}}({shown})'"])


def _compiled(parameters: list[str], lines: list[str], known: dict[str, Any] | None = None) -> Any:
    """A function of these parameters and lines; nothing in them is from outside the program."""
    names = {} if known is None else known
    exec("\n ".join([f"def made({', '.join(parameters)}):", *(lines or ["pass"])]), names)  # noqa: S102
    return names["made"]


def _no_setting(_self: object, name: str, _value: object) -> NoReturn:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _no_deleting(_self: object, name: str) -> NoReturn:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


if not TYPE_CHECKING:

    def dataclass(*, frozen: Literal[True], eq: bool = True, repr: bool = True) -> Callable[[type], type]:  # noqa: A002, ARG001
        """As `dataclasses.dataclass` of a frozen class, but for when its methods are made."""
        compared = {"__eq__": _eq, "__hash__": _hash} if eq else {}
        methods = {"__init__": _init, **compared, **({"__repr__": _repr} if repr else {})}

        def made(home: type) -> type:
            own = set(vars(home))
            dataclasses.dataclass(init=False, eq=False, repr=False)(home)
            for name, make in methods.items():
                if name not in own:
                    setattr(home, name, _OnFirstUse(home, name, make))
            home.__setattr__, home.__delattr__ = _no_setting, _no_deleting
            return home

        return made

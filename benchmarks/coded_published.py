"""Procedures imported from coded records, against what has been published about the same places elsewhere.

Run ``python benchmarks/coded_published.py FILE``. FILE is not in the repository: coded instrument procedures of the United
States (ARINC 424) of about the turn of 2020/21, whole or in part. Of fourteen approaches it prints one line a fact, then the
tolerances, the sources and what is not counted. It exits with 1 if a fact differs. An approach that the file does not hold is
not counted. Records of another cycle may differ because the place has changed since.
"""

from __future__ import annotations

import argparse
import sys
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from published_facts import FACTS, NOT_COUNTED, SOURCES, Fact, Imported, Value, apart_deg, distance_m

from analyzer.errors import ProcedureError
from analyzer.procedure.coded.approach import approach_records
from analyzer.procedure.coded.file import CodedFile, read_coded
from analyzer.procedure.coded.select import choose

WIDTH = 128


@dataclass(frozen=True)
class Compared:
    """A fact next to what was imported; `off` is in the unit of the quantity, None if words differ or nothing was imported."""

    fact: Fact
    imported: Value
    published: Value
    off: float | None

    @property
    def agrees(self) -> bool:
        """Whether the difference is within tolerance."""
        return self.off is not None and self.off <= self.fact.tolerance.most


def compared(fact: Fact, made: Imported) -> Compared:
    """Compare a fact with the procedure imported."""
    try:
        imported = fact.quantity.measure(made)
    except KeyError:  # the procedure has no such table, or no such key in it
        imported = "none"
    published = fact.published(made) if callable(fact.published) else fact.published
    return Compared(fact, imported, published, _off(imported, published, fact.quantity.unit))


def _off(imported: Value, published: Value, unit: str) -> float | None:
    if isinstance(imported, tuple) and isinstance(published, tuple):
        return distance_m(imported, published)
    if isinstance(imported, float) and isinstance(published, float):
        return abs(apart_deg(published, imported)) if unit == "°" else abs(imported - published)
    return 0.0 if imported == published else None


def held(file: CodedFile, airport: str, approach: str) -> bool:
    """Whether the file has records of an approach."""
    return approach in approach_records(file, airport)


def imported(file: CodedFile, airport: str, approach: str, route: str | None) -> Imported:
    """Import a procedure. Raises `ProcedureError`."""
    chosen = choose(file, airport, approach, route)
    return Imported(file, chosen, chosen.made.procedure.to_json())


def line(one: Compared) -> str:
    """A fact in a line."""
    fact, unit = one.fact, one.fact.quantity.unit
    difference = "-" if one.off is None else f"{one.off:.2f} of {fact.tolerance.most:g}{_after(unit)}"
    if isinstance(one.published, str) and one.agrees:
        difference = "the same"
    return (
        f"{_name(fact):18s}{fact.quantity.name:30s}{_text(one.imported, unit):>22s}{_text(one.published, unit):>22s}"
        f"{difference:>18s}  {fact.source:6s}{'' if one.agrees else 'DIFFERS'}"
    ).rstrip()


def _name(fact: Fact) -> str:
    return f"{fact.airport} {fact.approach}{f' {fact.route}' if fact.route is not None else ''}"


def _text(value: Value, unit: str) -> str:
    if isinstance(value, tuple):
        return f"{value[0]:.5f} {value[1]:.5f}"
    return value if isinstance(value, str) else f"{round(value, 3):g}{_after(unit)}"


def _after(unit: str) -> str:
    return unit if unit in ("", "°") else f" {unit}"


def comparisons(file: CodedFile, facts: Sequence[Fact]) -> Iterator[tuple[Fact, Compared | ProcedureError]]:
    """Every fact of the approaches that the file holds, or why it was not imported."""
    made: dict[tuple[str, str, str | None], Imported] = {}
    for fact in facts:
        key = fact.airport, fact.approach, fact.route
        try:
            if key not in made:
                made[key] = imported(file, *key)
            yield fact, compared(fact, made[key])
        except ProcedureError as error:
            yield fact, error


def _paragraph(key: str, words: str) -> str:
    return textwrap.fill(words, WIDTH, initial_indent=f"{key:4s}", subsequent_indent=" " * 4, break_on_hyphens=False)


def main() -> None:
    """Print the comparison."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("file", type=Path, help="a file of coded records (ARINC 424)")
    try:
        file = read_coded(parser.parse_args().file)
    except ProcedureError as error:
        parser.error(str(error))
    facts = sorted(FACTS, key=lambda fact: (fact.airport, fact.approach, fact.route or ""))
    approaches = sorted({(fact.airport, fact.approach) for fact in facts})
    there = [one for one in approaches if held(file, *one)]
    print(f"{'approach':18s}{'fact':30s}{'imported':>22s}{'published':>22s}{'difference':>18s}  source")
    agree, counted = 0, [fact for fact in facts if (fact.airport, fact.approach) in there]
    for fact, result in comparisons(file, counted):
        if isinstance(result, Compared):
            print(line(result))
            agree += result.agrees
        else:
            print(f"{_name(fact):18s}{fact.quantity.name:30s}not imported: {result}  DIFFERS")
    for airport, approach in approaches:
        if (airport, approach) not in there:
            print(f"{airport} {approach}: not in the file, and not counted")
    print("\ntolerances, in the unit of the fact")
    for most, why in sorted({(fact.tolerance.most, fact.tolerance.why) for fact in FACTS}):
        print(f"{most:7g}  {why}")
    print("\nsources")
    for key, words in SOURCES.items():
        print(_paragraph(key, words))
    print("\nnot counted")
    for words in NOT_COUNTED:
        print(_paragraph("-", words))
    print(f"\n{agree} of {len(counted)} facts agree, of {len(there)} approaches")
    if agree < len(counted):
        sys.exit(1)


if __name__ == "__main__":
    main()

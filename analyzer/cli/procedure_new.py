"""The command ``procedure new``: the questions of a chart, one by one, with a way back, and kept where they are broken off."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from analyzer.cli.options import Coded, Force
from analyzer.errors import ProcedureError
from analyzer.temporary import whole_file

if TYPE_CHECKING:
    from analyzer.procedure.coded.facilities import Facility
    from analyzer.procedure.questions import Question

__all__ = ["procedure_new"]

_BACK, _UNFINISHED = "<", ".unfinished"
_LARGEST = 1_000_000  # bytes of what is kept of answers
_Place = tuple[str, str]


def procedure_new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="File to write.")],
    fix: Annotated[
        str | None, typer.Option("--fix", metavar="IDENT", help="Fix of the reversal by its ident, with --coded.")
    ] = None,
    coded: Coded = None,
    force: Force = False,
) -> None:
    """Ask for the values of a chart one by one. Writes the procedure file."""
    from analyzer.report.exports.write import check_new

    if fix is not None and coded is None:
        raise ProcedureError(f"--fix {fix}: give --coded FILE as well, the coded procedures that hold it")
    check_new(file, force=force)
    places = _Places(coded)
    kept = file.with_name(f"{file.name}{_UNFINISHED}")
    interview = _Interview(places, places.of_fix(fix) if fix is not None else {}, _kept_answers(kept))
    try:
        interview.run()
    except typer.Abort:
        if interview.typed:
            with whole_file(kept) as unfinished:
                unfinished.write(json.dumps(interview.typed, ensure_ascii=False, indent=1).encode())
            typer.echo(f"\nWhat was typed is kept in {kept}; the same command goes on from there.", err=True)
        raise
    _write(file, interview.answers, force=force)
    kept.unlink(missing_ok=True)


def _write(file: Path, answers: dict[_Place, Any], *, force: bool) -> None:
    """Write the procedure, read it back to the user, and name the next command."""
    from analyzer.procedure.ask import procedure_of
    from analyzer.procedure.charted import resolve
    from analyzer.procedure.write import procedure_toml
    from analyzer.report.exports.write import write_new
    from analyzer.report.words.procedure_text import procedure_text

    procedure = procedure_of(answers)
    write_new(file, procedure_toml(procedure, "Training aid, never for navigation.").encode(), force=force)
    try:
        typer.echo(f"\n{procedure_text(procedure, resolve(procedure, datetime.now().date()))}")
    except ProcedureError as error:  # positions that do not fit; the file is worth keeping, for correction
        for note in (*procedure.warnings, f"{error}; correct it in the file."):
            typer.echo(f"Note: {note}")
    typer.echo(f"Procedure: {file}\nNext: analyzer debrief LOG --procedure {file}")


def _answers(count: int) -> str:
    return "answer" if count == 1 else f"{count} answers"


def _kept_answers(path: Path) -> dict[str, str]:
    """What was typed before it was broken off, by ``table.key``; nothing where nothing is kept. Raises `ProcedureError`."""
    from analyzer.files import read_bounded

    try:
        typed = json.loads(read_bounded(path, _LARGEST))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError) as error:
        raise ProcedureError(f"{path}: cannot be read: {error}; remove it to begin anew") from None
    if not isinstance(typed, dict) or not all(isinstance(text, str) for text in typed.values()):
        raise ProcedureError(f"{path}: holds no answers; remove it to begin anew")
    return typed


class _Interview:
    """The questions under way. `typed` holds the texts by ``table.key``, `answers` the values that they gave."""

    def __init__(self, places: _Places, known: dict[_Place, Any], before: dict[str, str]) -> None:
        self.answers: dict[_Place, Any] = {}
        self.typed: dict[str, str] = {}
        self._places, self._known, self._before = places, known, before
        self._order: list[_Place] = []

    def run(self) -> None:
        """Ask until there is nothing left to ask, and nothing contradicts itself."""
        from analyzer.procedure.ask import what_is_wrong
        from analyzer.procedure.questions import questions

        typer.echo(f"{_BACK} goes back a question.")
        if self._before:
            typer.echo(f"Going on from the {_answers(len(self._before))} that you gave before.")
        while (question := self._next()) is not None:
            self._ask(question)
        asked = {(one.table, one.key): one for one in questions(self.answers)}
        self.answers = {place: value for place, value in self.answers.items() if place in asked}
        while wrong := [one for one in what_is_wrong(self.answers) if (one.table, one.key) in asked]:
            typer.echo(f"  {wrong[0].words}")
            question = asked[wrong[0].table, wrong[0].key]
            self.answers[wrong[0].table, wrong[0].key], _ = self._places.answered(question, None, self._known)

    def _next(self) -> Question | None:
        """The first question that has no answer yet; which are asked depends on the answers before."""
        from analyzer.procedure.questions import questions

        return next((one for one in questions(self.answers) if (one.table, one.key) not in self.answers), None)

    def _ask(self, question: Question) -> None:
        place = (question.table, question.key)
        if place in self._known:
            self.answers[place] = self._known.pop(place)
            return
        value, text = self._places.answered(question, self._before.pop(".".join(place), None), self._known)
        if text == _BACK:
            self._back()
            return
        self.answers[place], self.typed[".".join(place)] = value, text
        self._order.append(place)

    def _back(self) -> None:
        """Take back the last answer, so that it is asked for again."""
        if not self._order:
            typer.echo("  This is the first question.")
            return
        place = self._order.pop()
        del self.answers[place]
        self.typed.pop(".".join(place))


class _Places:
    """Positions by ident, if a file of coded records is given."""

    def __init__(self, coded: Path | None) -> None:
        from analyzer.procedure.coded.file import read_coded

        self._file = read_coded(coded) if coded is not None else None

    def of_fix(self, ident: str) -> dict[_Place, Any]:
        """The values of the fix of the reversal from its record, by table and key."""
        at = self._at(ident)
        known = {"name": at.ident, "kind": at.kind, "latitude_deg": at.latitude_deg, "longitude_deg": at.longitude_deg}
        known |= {"elevation_ft": at.elevation_ft} if at.kind == "vor" else {}
        known |= {"variation_deg_east": at.variation_deg_east} if at.variation_deg_east is not None else {}
        return {("fix", key): value for key, value in known.items()}

    def answered(self, question: Question, before: str | None, known: dict[_Place, Any]) -> tuple[Any, str]:
        """The value of an answer and its text, asked for until it is one; `before` is what was typed earlier.

        An ident in the place of a latitude makes the longitude `known`, too.
        """
        from analyzer.procedure.ask import answered
        from analyzer.procedure.coded.places import is_ident

        by_ident = self._file is not None and question.key.endswith("latitude_deg")
        prompt = f"{question.prompt}, or an ident" if by_ident else question.prompt
        while True:
            text = before if before is not None else typer.prompt(prompt, default="", show_default=False)
            before = None
            if text.strip() == _BACK:
                return None, _BACK
            try:
                return answered(question, text), text
            except ProcedureError as error:
                refused = error
            try:
                if by_ident and is_ident(text):
                    at = self._at(text)
                    known[question.table, question.key.replace("latitude", "longitude")] = at.longitude_deg
                    return at.latitude_deg, text
            except ProcedureError as error:
                refused = error
            typer.echo(f"  {refused}")

    def _at(self, ident: str) -> Facility:
        from analyzer.procedure.coded.places import place_of

        if self._file is None:
            raise ProcedureError(f"{ident}: no file of coded records is given; give --coded FILE")
        return place_of(self._file, ident)

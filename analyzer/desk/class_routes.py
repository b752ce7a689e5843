"""The routes of classes: the list, a class with its grading, a flight of it, and what is downloaded."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from copy import copy
from dataclasses import replace
from pathlib import Path
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from analyzer.desk.asked import Look
from analyzer.desk.bodies import read_form, save_upload
from analyzer.desk.change_routes import after, changed_in
from analyzer.desk.class_asked import ClassFlight
from analyzer.desk.class_runs import Run, Runs
from analyzer.desk.jobs import Jobs
from analyzer.desk.pages import answer_json, page
from analyzer.desk.safety import sealed_policy
from analyzer.desk.store import Store, class_room
from analyzer.desk.today import today
from analyzer.errors import DeskError

__all__ = ["Classes"]

_TABLES = {
    "grades.csv": "text/csv",
    "details.csv": "text/csv",
    "grades.xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


class Classes:
    """The pages of the classes of one folder."""

    def __init__(self, store: Store, jobs: Jobs, runs: Runs) -> None:
        self._store, self._jobs, self._runs = store, jobs, runs
        self._folder = str(store.folder)

    def routes(self) -> list[Route]:
        """Their addresses."""
        get, post, one = ["GET"], ["POST"], "/classes/{name}"
        flight = f"{one}/flights/{{log:path}}"
        return [
            Route("/classes", self._list, methods=get),
            Route("/classes", self._new, methods=post),
            Route(one, self._class, methods=get),
            Route(f"{one}/files", self._upload, methods=post),
            Route(f"{one}/plan", self._plan, methods=post),
            Route(f"{one}/grade", self._grade, methods=post),
            Route(f"{one}/stop", self._stop, methods=post),
            Route(f"{one}/progress", self._progress, methods=get),
            Route(f"{one}/sheets.zip", self._all_sheets, methods=get),
            Route(f"{one}/tables/{{table}}", self._table, methods=get),
            Route(f"{flight}/sheet.{{form}}", self._sheet, methods=get),
            Route(f"{flight}/review", self._review, methods=post),
            Route(f"{one}/back/{{log}}", self._bring_back, methods=post),
            Route(f"{flight}/out", self._take_out, methods=post),
            Route(f"{flight}/reading", self._reading, methods=get),
            Route(f"{flight}/answers", self._answers, methods=post),
            Route(f"{flight}/excuse/back", self._take_back, methods=post),
            Route(f"{flight}/excuse", self._excuse, methods=post),
            Route(flight, self._flight, methods=get),
        ]

    async def _list(self, _request: Request) -> Response:
        return page("classes.html.j2", classes=await self._jobs.run("list_classes", self._folder))

    async def _new(self, request: Request) -> Response:
        form = await read_form(request.stream())
        name = await self._jobs.run("new_class", self._folder, form.get("title", ""))
        return RedirectResponse(_address(name), 303)

    async def _class(self, request: Request) -> Response:
        name = request.path_params["name"]
        run = copy(
            self._run_of(name)
        )  # as it is before the rows are read: one that ends meanwhile has the page fetch them anew
        seen = await self._jobs.run("see_class", self._folder, name)
        changed = changed_in(Path(self._folder), request)
        out = request.query_params.get("out", "")
        return page("class_desk.html.j2", seen=seen, run=run, changed=changed, out=out)

    async def _upload(self, request: Request) -> Response:
        name, file = request.path_params["name"], request.query_params.get("name", "log.csv")
        room = class_room(name)
        temporary = self._store.unsettled(room)
        if not temporary.parent.is_dir():
            return answer_json({"fault": f"{room}: no such class; it may have been renamed or taken away"}, 404)
        try:
            await save_upload(request.stream(), temporary)
            await self._jobs.run("take_file", self._folder, name, str(temporary), file)
        except DeskError as error:
            return answer_json({"fault": str(error)}, 400)
        finally:
            temporary.unlink(missing_ok=True)
        return answer_json({"address": _address(name)})

    async def _plan(self, request: Request) -> Response:
        name, form = request.path_params["name"], dict(await read_form(request.stream()))
        changed = await self._jobs.run("keep_plan", self._folder, name, form)
        if form.get("do") == "grade":
            await self._begin(name)
        return RedirectResponse(after(_address(name), changed), 303)

    async def _grade(self, request: Request) -> Response:
        name, form = request.path_params["name"], await read_form(request.stream())
        await self._begin(name, sheets=form.get("sheets") == "yes")
        return RedirectResponse(_address(name), 303)

    async def _begin(self, name: str, *, sheets: bool = False) -> None:
        """Grade a class; where sheets were made before, those of logs that are graded anew are made anew with them."""
        count = await self._jobs.run("count_class", self._folder, name)  # raises where it cannot be graded
        if not count.logs:
            raise DeskError(f"{name}: no logs there yet; drop some onto the page of the class")
        self._runs.begin(name, sheets=sheets or count.with_sheets)

    async def _stop(self, request: Request) -> Response:
        await asyncio.to_thread(self._runs.stop, request.path_params["name"])
        return RedirectResponse(_address(request.path_params["name"]), 303)

    async def _progress(self, request: Request) -> Response:
        run = self._run_of(request.path_params["name"])
        return answer_json({"under_way": run.under_way, "words": run.words(), "done": run.done, "total": run.total})

    def _run_of(self, name: str) -> Run:
        return self._runs.of(name) or Run(name, sheets=False, under_way=False)

    async def _table(self, request: Request) -> Response:
        name, table = request.path_params["name"], request.path_params["table"]
        content = await self._jobs.run("class_table", self._folder, name, table)
        return _download(content, _TABLES[table], f"{name}-{table}")

    async def _all_sheets(self, request: Request) -> Response:
        name = request.path_params["name"]
        return _download(await self._jobs.run("all_sheets", self._folder, name), "application/zip", f"{name}-sheets.zip")

    async def _flight(self, request: Request) -> Response:
        seen = await self._jobs.run("open_class_flight", self._folder, *_named(request))
        return page("class_flight.html.j2", flight=seen, changed=changed_in(Path(self._folder), request))

    async def _sheet(self, request: Request) -> Response:
        stem, html, pdf = await self._jobs.run("one_sheet", self._folder, *_named(request))
        if request.path_params["form"] == "pdf":
            return _download(pdf, "application/pdf", f"{stem}.pdf")
        return Response(html, media_type="text/html", headers={"content-security-policy": sealed_policy()})

    async def _review(self, request: Request) -> Response:
        name, log = _named(request)
        form = dict(await read_form(request.stream()))
        try:
            changed = await self._jobs.run("keep_review", self._folder, name, log, form)
        except DeskError as error:
            seen = await self._jobs.run("open_class_flight", self._folder, name, log)
            return page("class_flight.html.j2", 422, flight=_as_typed(seen, form, str(error)), changed=None)
        return RedirectResponse(after(_address(name, log), changed), 303)

    async def _reading(self, request: Request) -> Response:
        return self._look(*_named(request), await self._jobs.run("look_in_class", self._folder, *_named(request)))

    async def _answers(self, request: Request) -> Response:
        form = dict(await read_form(request.stream()))
        seen, changed = await self._jobs.run("answer_for_class", self._folder, *_named(request), form)
        if seen.asks or seen.fault:
            return self._look(*_named(request), seen, 422 if seen.fault else 200)
        return RedirectResponse(after(_address(request.path_params["name"]), changed), 303)

    def _look(self, name: str, log: str, seen: Look, status: int = 200) -> Response:
        of_class = {"at": _address(name), "title": name, "answers": f"{_address(name, log)}/answers"}
        return page("reading.html.j2", status, look=seen, anew=True, of_class=of_class)

    async def _take_out(self, request: Request) -> Response:
        name = request.path_params["name"]
        out = await self._jobs.run("take_out_of_class", self._folder, *_named(request))
        return RedirectResponse(f"{_address(name)}?out={quote(out, safe='')}", 303)

    async def _bring_back(self, request: Request) -> Response:
        await self._jobs.run("bring_back_into_class", self._folder, *_named(request))
        return RedirectResponse(_address(request.path_params["name"]), 303)

    async def _excuse(self, request: Request) -> Response:
        name, log = _named(request)
        form = dict(await read_form(request.stream()))
        return await self._graded_again(
            name, log, await self._jobs.run("excuse_in_class", self._folder, name, log, form, today())
        )

    async def _take_back(self, request: Request) -> Response:
        name, log = _named(request)
        form = await read_form(request.stream())
        changed = await self._jobs.run("take_back_in_class", self._folder, name, log, form.get("key", ""))
        return await self._graded_again(name, log, changed)

    async def _graded_again(self, name: str, log: str, changed: str) -> Response:
        """Back to a flight one of whose findings counts otherwise now; its row is made anew, unless a class is being graded."""
        if changed and not self._runs.busy:
            await self._begin(name)
        return RedirectResponse(after(_address(name, log), changed), 303)


def _named(request: Request) -> tuple[str, str]:
    """The class and the log that an address names."""
    return request.path_params["name"], request.path_params["log"]


def _address(name: str, log: str = "") -> str:
    flight = f"/flights/{quote(log, safe='/')}" if log else ""
    return f"/classes/{quote(name, safe='')}{flight}"


def _as_typed(seen: ClassFlight, form: Mapping[str, str], wrong: str) -> ClassFlight:
    """A flight with its form as it was sent, and what is wrong with that."""
    parts = tuple(
        replace(
            part,
            mark=form.get(f"mark {part.field}", part.mark),
            reason=form.get(f"reason {part.field}", part.reason),
            was=(form.get(f"was mark {part.field}", part.was[0]), form.get(f"was reason {part.field}", part.was[1])),
        )
        for part in seen.parts
    )
    remark, was = form.get("remark", seen.remark), form.get("was remark", seen.was_remark)
    return replace(seen, parts=parts, remark=remark, was_remark=was, by=form.get("by", seen.by), wrong=wrong)


def _download(content: bytes, kind: str, name: str) -> Response:
    headers = {"content-disposition": f"attachment; filename*=UTF-8''{quote(name, safe='')}"}
    return Response(content, media_type=kind, headers={**headers, "content-security-policy": sealed_policy()})

"""The routes of charts: typed, drawn, saved, opened again, and made of coded procedures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from urllib.parse import quote, urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from analyzer.desk.bodies import read_form
from analyzer.desk.change_routes import after, changed_in
from analyzer.desk.changes import Change
from analyzer.desk.jobs import Jobs
from analyzer.desk.pages import answer_json, page
from analyzer.desk.store import Store
from analyzer.desk.today import today
from analyzer.errors import DeskError

__all__ = ["Charts"]

_CODED = ("file", "airport", "approach", "route")


class Charts:
    """The pages of charts of one folder."""

    def __init__(self, store: Store, jobs: Jobs) -> None:
        self._folder, self._jobs = str(store.folder), jobs

    def routes(self) -> list[Route]:
        """Their addresses."""
        get, post = ["GET"], ["POST"]
        return [
            Route("/charts/new", self._new, methods=get),
            Route("/charts/coded", self._coded, methods=get),
            Route("/charts/coded", self._save_coded, methods=post),
            Route("/charts/draw", self._draw, methods=post),
            Route("/charts", self._save, methods=post),
            Route("/charts/saved/{file}", self._saved, methods=get),
        ]

    async def _new(self, request: Request) -> Response:
        sent = {"for": request.query_params.get("for", "")}
        return self._form(await self._jobs.run("see_form", self._folder, sent, today()), sent)

    async def _saved(self, request: Request) -> Response:
        """A chart of the folder in the form, or as a picture where the form cannot hold it."""
        file = request.path_params["file"]
        try:
            texts, drafted, was = await self._jobs.run("texts_of", self._folder, file, today())
        except DeskError as error:
            seen = await self._jobs.run("draw_saved", self._folder, file, today())
            return page("chart_seen.html.j2", chart=seen, file=file, why=str(error))
        sent = {"file": file, "was": was, "drafted": ",".join(drafted), "for": request.query_params.get("for", "")}
        seen = await self._jobs.run("see_form", self._folder, {**texts, **sent}, today())
        return self._form(seen, sent, changed=changed_in(Path(self._folder), request))

    async def _draw(self, request: Request) -> Response:
        sent = dict(await read_form(request.stream()))
        return answer_json(asdict(await self._jobs.run("see_form", self._folder, sent, today())))

    async def _save(self, request: Request) -> Response:
        sent = dict(await read_form(request.stream()))
        if sent.pop("as", "") == "new":
            sent["file"] = ""
        try:
            name, changed = await self._jobs.run("save_chart", self._folder, sent, today())
        except DeskError as error:
            seen = await self._jobs.run("see_form", self._folder, sent, today())
            return self._form(seen, sent, 422, str(error))
        return await self._then(sent.get("for", ""), name, changed)

    async def _coded(self, request: Request) -> Response:
        asked = [request.query_params.get(key, "") for key in _CODED]
        seen = await self._jobs.run("see_coded", self._folder, *asked, today())
        if seen.choosing == "airport" and len(seen.choices) == 1:
            file, _, *others = asked
            seen = await self._jobs.run("see_coded", self._folder, file, seen.choices[0].value, *others, today())
        return page("coded.html.j2", seen=seen, log=request.query_params.get("for", ""), encode=urlencode)

    async def _save_coded(self, request: Request) -> Response:
        form = await read_form(request.stream())
        name = await self._jobs.run("save_coded", self._folder, *(form.get(key, "") for key in _CODED))
        return await self._then(form.get("for", ""), name)

    async def _then(self, log: str, name: str, changed: str = "") -> Response:
        """On to the flight that a chart was made for, else to the chart."""
        if not log:
            return RedirectResponse(after(f"/charts/saved/{quote(name, safe='')}", changed), 303)
        changed = await self._jobs.run("choose", self._folder, log, name) or changed
        return RedirectResponse(after(f"/flights/{quote(log, safe='')}", changed), 303)

    def _form(
        self, seen: object, sent: Mapping[str, str], status: int = 200, fault: str = "", changed: Change | None = None
    ) -> Response:
        about = {name: sent.get(name, "") for name in ("for", "file", "was", "drafted")}
        return page("chart.html.j2", status, chart=seen, about=about, fault=fault, changed=changed)

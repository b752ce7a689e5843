"""The routes of briefs: asked for and drawn as the form is changed, printed, kept, opened again, and compared with a flight."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from analyzer.desk.bodies import read_form
from analyzer.desk.change_routes import after, changed_in
from analyzer.desk.changes import Change
from analyzer.desk.jobs import Jobs
from analyzer.desk.pages import answer_json, fragment, page
from analyzer.desk.safety import sealed_policy
from analyzer.desk.store import Store
from analyzer.desk.today import today
from analyzer.errors import DeskError

__all__ = ["Briefings"]


class Briefings:
    """The pages of briefs of one folder."""

    def __init__(self, store: Store, jobs: Jobs) -> None:
        self._folder, self._jobs = str(store.folder), jobs

    def routes(self) -> list[Route]:
        """Their addresses."""
        get, post = ["GET"], ["POST"]
        return [
            Route("/briefs", self._list, methods=get),
            Route("/briefs", self._keep, methods=post),
            Route("/briefs/new", self._new, methods=get),
            Route("/briefs/drawn", self._draw, methods=post),
            Route("/briefs/card.pdf", self._card, methods=post),
            Route("/briefs/kept/{file}", self._kept, methods=get),
            Route("/flights/{log}/brief", self._lay, methods=post),
            Route("/flights/{log}/brief/again", self._again, methods=get),
        ]

    async def _list(self, _request: Request) -> Response:
        return page("briefs.html.j2", seen=await self._jobs.run("list_briefs", self._folder))

    async def _new(self, request: Request) -> Response:
        sent = {"chart": request.query_params.get("chart", "")}
        return self._form(await self._jobs.run("brief_form", self._folder, sent, today()))

    async def _again(self, request: Request) -> Response:
        return self._form(await self._jobs.run("brief_again", self._folder, request.path_params["log"], today()))

    async def _kept(self, request: Request) -> Response:
        form = await self._jobs.run("open_brief", self._folder, request.path_params["file"], today())
        return self._form(form, changed=changed_in(Path(self._folder), request))

    async def _draw(self, request: Request) -> Response:
        """The answer to a change of the form: pieces of the page, or what is wrong with it."""
        sent = dict(await read_form(request.stream()))
        try:
            drawn = await self._jobs.run("draw_brief_form", self._folder, sent, today())
        except DeskError as error:
            return answer_json({"fault": str(error)})
        plan, rest = (fragment(f"brief_{part}.html.j2", **drawn.content) for part in ("plan", "rest"))
        return answer_json({"said": drawn.said, "plan": plan, "rest": rest})

    async def _card(self, request: Request) -> Response:
        sent = dict(await read_form(request.stream()))
        name, content = await self._jobs.run("print_knee_card", self._folder, sent, today())
        headers = {"content-disposition": f"attachment; filename*=UTF-8''{quote(name, safe='')}"}
        headers["content-security-policy"] = sealed_policy("")
        return Response(content, media_type="application/pdf", headers=headers)

    async def _keep(self, request: Request) -> Response:
        sent = dict(await read_form(request.stream()))
        try:
            file, changed = await self._jobs.run("keep_brief", self._folder, sent, today())
        except DeskError as error:
            return self._form(await self._jobs.run("brief_form", self._folder, sent, today()), 422, str(error))
        return RedirectResponse(after(f"/briefs/kept/{quote(file, safe='')}", changed), 303)

    async def _lay(self, request: Request) -> Response:
        log, form = request.path_params["log"], await read_form(request.stream())
        changed = await self._jobs.run("lay_brief", self._folder, log, form.get("brief", ""))
        return RedirectResponse(after(f"/flights/{quote(log, safe='')}", changed), 303)

    def _form(self, form: object, status: int = 200, fault: str = "", changed: Change | None = None) -> Response:
        return page("briefing.html.j2", status, form=form, papers=_PAPERS, fault=fault, changed=changed)


_PAPERS: Mapping[str, str] = {"a5": "A5", "half-letter": "Half letter", "a4": "A4", "letter": "Letter"}

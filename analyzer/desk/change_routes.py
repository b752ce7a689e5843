"""The routes for undoing changes and restoring removed files."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from analyzer.desk.changes import Change, change_of
from analyzer.desk.jobs import Jobs
from analyzer.desk.pages import page
from analyzer.desk.store import Store
from analyzer.errors import DeskError

__all__ = ["Undoing", "after", "changed_in"]


_PAGES = {"logs": "/flights/", "procedures": "/charts/saved/", "briefs": "/briefs/kept/"}


class Undoing:
    """The pages of what can be undone in one folder."""

    def __init__(self, store: Store, jobs: Jobs) -> None:
        self._folder, self._jobs = str(store.folder), jobs

    def routes(self) -> list[Route]:
        """Their addresses."""
        get, post = ["GET"], ["POST"]
        return [
            Route("/changes", self._list, methods=get),
            Route("/changes/{name}/undo", self._undo, methods=post),
            Route("/out/{room}/{name}", self._take_out, methods=post),
            Route("/back/{room}/{name}", self._bring_back, methods=post),
        ]

    async def _list(self, _request: Request) -> Response:
        return page("changes.html.j2", seen=await self._jobs.run("put_away", self._folder), changed=None)

    async def _undo(self, request: Request) -> Response:
        where, made = await self._jobs.run("undo_change", self._folder, request.path_params["name"])
        return RedirectResponse(after(where, made), 303)

    async def _take_out(self, request: Request) -> Response:
        room = request.path_params["room"]
        name = await self._jobs.run("take_out", self._folder, room, request.path_params["name"])
        return RedirectResponse(f"/?out={quote(f'{room}/{name}', safe='')}", 303)

    async def _bring_back(self, request: Request) -> Response:
        room = request.path_params["room"]
        name = quote(await self._jobs.run("bring_back", self._folder, room, request.path_params["name"]), safe="")
        return RedirectResponse(f"{_PAGES.get(room, '/')}{name}", 303)


def after(where: str, change: str) -> str:
    """The address of a page that offers to undo a change, where there was one."""
    return f"{where}?changed={change}" if change else where


def changed_in(folder: Path, request: Request) -> Change | None:
    """The change that a page is shown after, where it can still be undone."""
    name = request.query_params.get("changed", "")
    if not name:
        return None
    try:
        change = change_of(Store(folder), name)
    except DeskError:
        return None
    return change if change.can_be_undone else None

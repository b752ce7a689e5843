"""The routes of the settings, and of what an open page asks for from time to time: whether anything is new."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from analyzer.desk.asked import Seen, Watched
from analyzer.desk.bodies import read_form
from analyzer.desk.change_routes import after, changed_in
from analyzer.desk.jobs import Jobs
from analyzer.desk.pages import answer_json, page
from analyzer.desk.store import ROOMS, Store
from analyzer.errors import DeskError

__all__ = ["Setting", "Watch"]


class Watch:
    """What was last seen of the folder that is watched."""

    def __init__(self, store: Store, jobs: Jobs) -> None:
        self._folder, self._jobs = str(store.folder), jobs
        self._files: Mapping[str, Seen] = {}
        self.seen = Watched()

    async def look(self) -> None:
        """Look at it once more."""
        try:
            self.seen = await self._jobs.run("look_for_logs", self._folder, dict(self._files))
        except DeskError as error:
            self.seen = Watched(said=f"The folder that is watched is not looked at: {error}", gone=True)
        self._files = self.seen.files


class Setting:
    """The page of settings, and the news."""

    def __init__(self, store: Store, jobs: Jobs, watch: Watch) -> None:
        self._store, self._jobs, self._watch = store, jobs, watch
        self._folder = str(store.folder)

    def routes(self) -> list[Route]:
        """Their addresses."""
        get, post = ["GET"], ["POST"]
        return [
            Route("/settings", self._settings, methods=get),
            Route("/settings/standard", self._standard, methods=post),
            Route("/settings/watched", self._watched, methods=post),
            Route("/news", self._news, methods=get),
        ]

    async def _settings(self, request: Request) -> Response:
        seen = await self._jobs.run("see_settings", self._folder)
        changed = changed_in(Path(self._folder), request)
        return page("settings.html.j2", seen=seen, watch=self._watch.seen, changed=changed, fault="", place=seen.watched)

    async def _standard(self, request: Request) -> Response:
        form = await read_form(request.stream())
        changed = await self._jobs.run("set_standard", self._folder, form.get("standard", ""))
        return RedirectResponse(after("/settings", changed), 303)

    async def _watched(self, request: Request) -> Response:
        form = await read_form(request.stream())
        place = form.get("folder", "") if form.get("do") != "end" else ""
        try:
            changed = await self._jobs.run("watch", self._folder, place, form.get("already", "") == "yes")
        except DeskError as error:
            seen = await self._jobs.run("see_settings", self._folder)
            return page("settings.html.j2", 422, seen=seen, watch=self._watch.seen, fault=str(error), place=place)
        await self._watch.look()
        return RedirectResponse(after("/settings", changed), 303)

    async def _news(self, _request: Request) -> Response:
        """What changes where the list would be another, and what is said of the folder that is watched."""
        stamps = []
        for room in ROOMS:
            about = (self._store.folder / room).stat()
            stamps.append(f"{about.st_mtime_ns:x}")
        return answer_json({"stamp": "-".join(stamps), "said": self._watch.seen.said, "gone": self._watch.seen.gone})

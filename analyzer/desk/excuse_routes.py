"""The routes by which a finding of a flight is excused, and an excuse taken back."""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from analyzer.desk.bodies import read_form
from analyzer.desk.change_routes import after
from analyzer.desk.jobs import Jobs
from analyzer.desk.store import Store
from analyzer.desk.today import today

__all__ = ["Excuses"]


class Excuses:
    """The forms at the findings of the flights in one folder."""

    def __init__(self, store: Store, jobs: Jobs) -> None:
        self._folder, self._jobs = str(store.folder), jobs

    def routes(self) -> list[Route]:
        """Their addresses."""
        return [
            Route("/flights/{log}/excuse", self._give, methods=["POST"]),
            Route("/flights/{log}/excuse/back", self._take_back, methods=["POST"]),
        ]

    async def _give(self, request: Request) -> Response:
        log, form = request.path_params["log"], dict(await read_form(request.stream()))
        return _back_to(log, await self._jobs.run("give_excuse", self._folder, log, form, today()))

    async def _take_back(self, request: Request) -> Response:
        log, form = request.path_params["log"], await read_form(request.stream())
        return _back_to(log, await self._jobs.run("take_back_excuse", self._folder, log, form.get("key", "")))


def _back_to(log: str, changed: str) -> Response:
    return RedirectResponse(after(f"/flights/{quote(log, safe='')}", changed), 303)

"""The routes of the pilots: the list, one pilot's page, the measuring that it waits for, and flights side by side."""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from analyzer.desk.jobs import Jobs
from analyzer.desk.pages import answer_json, page
from analyzer.desk.store import Store

__all__ = ["Pilots"]

_A_PIECE_S = 1.0  # of measuring, between two words on how far it is


class Pilots:
    """The pages of the pilots of one folder."""

    def __init__(self, store: Store, jobs: Jobs) -> None:
        self._folder, self._jobs = str(store.folder), jobs

    def routes(self) -> list[Route]:
        """Their addresses. A name is a parameter, since it may hold anything."""
        return [
            Route("/pilots", self._list, methods=["GET"]),
            Route("/pilots/names", self._names, methods=["GET"]),
            Route("/pilot", self._pilot, methods=["GET"]),
            Route("/pilot/measured", self._measure, methods=["POST"]),
            Route("/pilot/compared", self._compared, methods=["GET"]),
        ]

    async def _list(self, _request: Request) -> Response:
        return page("pilots.html.j2", seen=await self._jobs.run("list_pilots", self._folder))

    async def _names(self, _request: Request) -> Response:
        """The names of all pilots, for fields that one is typed into."""
        seen = await self._jobs.run("list_pilots", self._folder)
        return answer_json({"names": [name for name, *_ in seen.pilots]})

    async def _pilot(self, request: Request) -> Response:
        seen = await self._jobs.run("see_pilot", self._folder, request.query_params.get("name", ""))
        return page("pilot.html.j2", pilot=seen)

    async def _measure(self, request: Request) -> Response:
        """Measure for a while. A script is told how many flights are left; a form goes back to the page."""
        name = request.query_params.get("name", "")
        left = await self._jobs.run("measure_flights", self._folder, name, _A_PIECE_S)
        if "script" in request.query_params:
            return answer_json({"left": left})
        return RedirectResponse(f"/pilot?name={quote(name, safe='')}", 303)

    async def _compared(self, request: Request) -> Response:
        logs = tuple(request.query_params.getlist("log"))
        return page("compared.html.j2", seen=await self._jobs.run("flights_compared", self._folder, logs))

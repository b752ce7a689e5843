"""The routes of the desk: the page at each address and the action of each form."""

from __future__ import annotations

from collections import OrderedDict
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from analyzer.desk.asked import Look, Shown
from analyzer.desk.bodies import read_form, save_upload
from analyzer.desk.brief_routes import Briefings
from analyzer.desk.change_routes import Undoing, after, changed_in
from analyzer.desk.changes import Change
from analyzer.desk.chart_routes import Charts
from analyzer.desk.class_routes import Classes
from analyzer.desk.class_runs import Runs
from analyzer.desk.excuse_routes import Excuses
from analyzer.desk.field_words import in_fields
from analyzer.desk.jobs import Jobs
from analyzer.desk.pages import answer_json, page, script
from analyzer.desk.pilot_routes import Pilots
from analyzer.desk.presence import Presence
from analyzer.desk.safety import sealed_policy
from analyzer.desk.setting_routes import Setting, Watch
from analyzer.desk.store import CARD, CHART, Store
from analyzer.errors import DeskError

__all__ = ["Desk"]

_WAITING_S = 20.0  # of debriefing flights that wait, at most, before the list is shown again
_A_PAGE = 100  # flights listed on a page
_REMEMBERED = 24  # debriefs kept in memory, each with the stamps of the files it was made from
_DOWNLOADS = {
    "html": "text/html",
    "pdf": "application/pdf",
    "json": "application/json",
    "kml": "application/vnd.google-earth.kml+xml",
}


class Desk:
    """The pages over one folder."""

    def __init__(self, store: Store, jobs: Jobs, presence: Presence, watch: Watch, runs: Runs) -> None:
        self._store, self._jobs, self._presence, self._watch = store, jobs, presence, watch
        self._folder, self._runs = str(store.folder), runs
        self._shown: OrderedDict[str, tuple[object, Shown]] = OrderedDict()
        self._style = ""

    def app(self) -> Starlette:
        """The application to serve; requests must pass the guard first."""
        get, post = ["GET"], ["POST"]
        routes = [
            Route("/", self._home, methods=get),
            Route("/static/{name}", self._static, methods=get),
            Route("/alive", self._alive, methods=post),
            Route("/logs", self._upload, methods=post),
            Route("/logs/waiting", self._waiting, methods=post),
            Route("/flights/{log}", self._flight, methods=get),
            Route("/flights/{log}/answers", self._answers, methods=post),
            Route("/flights/{log}/procedures", self._procedures, methods=get),
            Route("/flights/{log}/procedure", self._choose, methods=post),
            Route("/flights/{log}/flown", self._flown, methods=get),
            Route("/flights/{log}/flown", self._say_flown, methods=post),
            Route("/flights/{log}/flown/back", self._take_back_flown, methods=post),
            Route("/flights/{log}/card", self._card, methods=post),
            Route("/flights/{log}/report.{form}", self._report, methods=get),
            Route("/flights/{log}/reading", self._reading, methods=get),
            Route("/flights/{log}/compared", self._compared, methods=get),
            *Charts(self._store, self._jobs).routes(),
            *Briefings(self._store, self._jobs).routes(),
            *Classes(self._store, self._jobs, self._runs).routes(),
            *Excuses(self._store, self._jobs).routes(),
            *Pilots(self._store, self._jobs).routes(),
            *Undoing(self._store, self._jobs).routes(),
            *Setting(self._store, self._jobs, self._watch).routes(),
        ]
        return Starlette(
            routes=routes,
            exception_handlers={DeskError: self._refused, ClientDisconnect: _gone, 404: _not_found, 405: _not_found},
        )

    async def _home(self, request: Request) -> Response:
        find, first = request.query_params.get("find", ""), _number(request.query_params.get("from", ""))
        listed = await self._jobs.run("list_flights", self._folder, find, first, _A_PAGE)
        rest = first + _A_PAGE < listed.count
        return page(
            "home.html.j2",
            flights=listed.flights,
            find=find,
            count=_count_words(listed.count, first, len(listed.flights)),
            more=f"/?find={quote(find, safe='')}&from={first + _A_PAGE}" if rest else "",
            charts=await self._jobs.run("list_charts", self._folder),
            coded=self._coded_files(),
            folder=self._folder,
            watch=self._watch.seen,
            waiting=sum(not (flight.verdict or flight.fault) for flight in listed.flights),
            debriefed=request.query_params.get("debriefed", ""),
            out=_room_and_name(request.query_params.get("out", "")),
        )

    async def _static(self, request: Request) -> Response:
        name = request.path_params["name"]
        if name == "desk.css":
            if not self._style:
                self._style = await self._jobs.run("stylesheet")
            return Response(self._style, media_type="text/css")
        text = script(name)
        if text is None:
            return PlainTextResponse("No such file.\n", 404)
        return Response(text, media_type="text/javascript")

    async def _alive(self, request: Request) -> Response:
        self._presence.seen(request.query_params.get("page", ""))
        if "left" in request.query_params:
            self._presence.left(request.query_params["left"])
        return Response(status_code=204)

    async def _upload(self, request: Request) -> Response:
        name = request.query_params.get("name", "log.csv")
        temporary = self._store.unsettled("logs")
        try:
            await save_upload(request.stream(), temporary)
            room, kept = await self._jobs.run("settle_dropped", self._folder, str(temporary), name)
        except DeskError as error:
            return answer_json({"fault": str(error)}, 400)
        finally:
            temporary.unlink(missing_ok=True)
        if room == "logs":
            return answer_json({"log": kept, "address": f"/flights/{quote(kept, safe='')}"})
        at = "/charts/saved/" if kept.endswith(CHART) else "/charts/coded?file="
        return answer_json({"chart": kept, "address": f"{at}{quote(kept, safe='')}"})

    async def _waiting(self, request: Request) -> Response:
        """Debrief what waits and leaves no choice, then show the list again."""
        pilot = " ".join((await read_form(request.stream())).get("pilot", "").split())[:200]
        done = await self._jobs.run("debrief_waiting", self._folder, pilot, _WAITING_S)
        return RedirectResponse(f"/?debriefed={done}", 303)

    async def _flight(self, request: Request) -> Response:
        log = request.path_params["log"]
        stamp = self._stamp(log)
        known = self._shown.get(log)
        if known is not None and known[0] == stamp:
            seen: Look | Shown = known[1]
        else:
            seen = await self._jobs.run("open_flight", self._folder, log)
        if isinstance(seen, Shown):
            self._remember(log, seen)
            return await self._flight_page(seen, {}, "", changed_in(self._store.folder, request))
        if seen.asks or seen.fault:
            return page("reading.html.j2", look=seen, anew=bool(seen.fault))
        return RedirectResponse(f"/flights/{quote(log, safe='')}/procedures", 303)

    async def _flight_page(self, seen: Shown, typed: dict[str, str], fault: str, changed: Change | None) -> Response:
        """The page of a debriefed flight; with a fault, that of the form on it, and what was typed there."""
        before = await self._jobs.run("count_before", self._folder, seen.file)  # which other files change, too
        values = {"flight": seen, "before": before, "typed": typed, "fault": fault, "changed": changed}
        return page("flight.html.j2", 422 if fault else 200, **values)

    async def _reading(self, request: Request) -> Response:
        seen = await self._jobs.run("read_anew", self._folder, request.path_params["log"])
        return page("reading.html.j2", look=seen, anew=True)

    async def _compared(self, request: Request) -> Response:
        return page("compared.html.j2", seen=await self._jobs.run("compared", self._folder, request.path_params["log"]))

    async def _answers(self, request: Request) -> Response:
        log = request.path_params["log"]
        seen = await self._jobs.run("answer", self._folder, log, dict(await read_form(request.stream())))
        if seen.asks or seen.fault:
            return page("reading.html.j2", 422 if seen.fault else 200, look=seen, anew=bool(seen.fault))
        return RedirectResponse(f"/flights/{quote(log, safe='')}", 303)

    async def _procedures(self, request: Request) -> Response:
        log = request.path_params["log"]
        fitting = await self._jobs.run("procedures_for", self._folder, log)
        return page("procedures.html.j2", log=log, fitting=fitting, coded=self._coded_files())

    async def _choose(self, request: Request) -> Response:
        log, form = request.path_params["log"], await read_form(request.stream())
        changed = await self._jobs.run("choose", self._folder, log, form.get("procedure", ""))
        return RedirectResponse(after(f"/flights/{quote(log, safe='')}", changed), 303)

    async def _flown(self, request: Request) -> Response:
        return page("flown.html.j2", seen=await self._jobs.run("see_flown", self._folder, request.path_params["log"]))

    async def _say_flown(self, request: Request) -> Response:
        log, form = request.path_params["log"], await read_form(request.stream())
        seen = await self._jobs.run("say_flown", self._folder, log, dict(form))
        if not isinstance(seen, Shown):
            return page("flown.html.j2", 422, seen=seen)
        self._remember(log, seen)
        return RedirectResponse(f"/flights/{quote(log, safe='')}", 303)

    async def _take_back_flown(self, request: Request) -> Response:
        log, form = request.path_params["log"], await read_form(request.stream())
        self._remember(log, await self._jobs.run("take_back_flown", self._folder, log, form.get("word", "")))
        return RedirectResponse(f"/flights/{quote(log, safe='')}", 303)

    async def _card(self, request: Request) -> Response:
        log, typed = request.path_params["log"], dict(await read_form(request.stream()))
        try:
            changed = await self._jobs.run("describe", self._folder, log, typed)
        except DeskError as error:
            seen = await self._jobs.run("open_flight", self._folder, log)
            if not isinstance(seen, Shown):
                raise
            return await self._flight_page(seen, typed, in_fields(str(error)), None)
        return RedirectResponse(after(f"/flights/{quote(log, safe='')}", changed), 303)

    async def _report(self, request: Request) -> Response:
        log, form = request.path_params["log"], request.path_params["form"]
        if form not in _DOWNLOADS:
            raise DeskError(f"a report is one of {', '.join(_DOWNLOADS)}")
        name, content, script_hash = await self._jobs.run("exported", self._folder, log, form)
        kept = "inline" if "show" in request.query_params else "attachment"
        headers = {"content-disposition": f"{kept}; filename*=UTF-8''{quote(name, safe='')}"}
        headers["content-security-policy"] = sealed_policy(script_hash)
        return Response(content, media_type=_DOWNLOADS[form], headers=headers)

    async def _refused(self, request: Request, error: Exception) -> Response:
        """Why something does not work, and the way back; a log that cannot be read can be removed, as it has no other page."""
        log = request.path_params.get("log", "") if request.url.path.startswith("/flights/") else ""
        names = {entry.name for entry in self._store.entries("logs")} if log else set[str]()
        known = log if log in names else ""
        elsewhere = request.method == "GET" and request.url.path.rstrip("/").count("/") > 2
        back = f"/flights/{quote(log, safe='')}" if known and elsewhere else ""
        return page("refused.html.j2", 400, said=in_fields(str(error)), log=known, back=back)

    def _coded_files(self) -> list[str]:
        """The files of coded procedures in the folder."""
        names = (entry.name for entry in self._store.entries("procedures"))
        return sorted(name for name in names if not name.endswith((CHART, ".approach-index")))

    def _stamp(self, log: str) -> object:
        """The modification times and sizes of the files a debrief is made from; if any changes, it is made again."""
        self._store.there("logs", log)
        paths = [self._store.path("logs", log), self._store.path("logs", log + CARD), self._store.settings]
        known = self._shown.get(log)
        if known is not None:
            paths.append(self._store.path("procedures", known[1].procedure))
        files = [(path.stat().st_mtime_ns, path.stat().st_size) if path.is_file() else None for path in paths]
        return [*files, (self._store.folder / "briefs").stat().st_mtime_ns]  # a brief that is kept is offered

    def _remember(self, log: str, shown: Shown) -> None:
        self._shown[log] = (None, shown)
        self._shown[log] = (self._stamp(log), shown)
        self._shown.move_to_end(log)
        while len(self._shown) > _REMEMBERED:
            self._shown.popitem(last=False)


def _room_and_name(text: str) -> tuple[str, str] | None:
    """The room and name of a removed file, read from an address; None if it names no such room."""
    room, _, name = text.partition("/")
    return (room, name) if room in ("logs", "procedures", "briefs") and name else None


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0


def _count_words(count: int, first: int, shown: int) -> str:
    if shown == count:
        return f"{count:,} {'flight' if count == 1 else 'flights'}, the latest first."
    return f"{first + 1:,} to {first + shown:,} of {count:,} flights, the latest first."


async def _not_found(_request: Request, error: Exception) -> Response:
    status, said = getattr(error, "status_code", 404), "There is nothing at this address."
    return page("refused.html.j2", status, said=said, log="", back="")


async def _gone(_request: Request, _error: Exception) -> Response:
    return Response(status_code=400)

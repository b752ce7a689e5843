"""Starting and ending the desk: its folder, a port that only this computer reaches, the address, and the shutdown."""

from __future__ import annotations

import asyncio
import gc
import socket
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import uvicorn

from analyzer.desk.app import Desk
from analyzer.desk.bodies import UPLOAD_BYTES
from analyzer.desk.class_runs import Runs
from analyzer.desk.jobs import Jobs
from analyzer.desk.presence import Presence
from analyzer.desk.safety import Guard, Keys
from analyzer.desk.setting_routes import Watch
from analyzer.desk.store import open_store
from analyzer.errors import DeskError

__all__ = ["serve_desk"]

_LOOPBACK = "127.0.0.1"
_MOST_CONNECTIONS = 100
_LOOK_EVERY_S = 1.0
_WATCH_EVERY_S = 3.0


def serve_desk(folder: Path, port: int, while_s: float, announce: Callable[[str], None]) -> None:
    """Serve the desk of a folder until it is ended or its last page has been closed for a while.

    Parameters
    ----------
    folder : Path
        The folder, created if missing.
    port : int
        The port on this computer; 0 for any free one.
    while_s : float
        The time after the last page was closed until the desk ends, unless work is running. [s]
    announce : callable
        Called with the address once it can be opened.

    Raises
    ------
    DeskError
        The folder cannot be used, or the port is taken.
    """
    store = open_store(folder)
    listener = _listener(port)
    keys, jobs, presence = Keys(listener.getsockname()[1]), Jobs(), Presence(while_s)
    watch, runs = Watch(store, jobs), Runs(str(store.folder))
    jobs.warm()
    config = uvicorn.Config(
        Guard(Desk(store, jobs, presence, watch, runs).app(), keys, UPLOAD_BYTES),
        http="h11",
        ws="none",
        lifespan="off",
        loop="asyncio",
        log_config=None,
        log_level="critical",
        access_log=False,
        proxy_headers=False,
        server_header=False,
        limit_concurrency=_MOST_CONNECTIONS,
        timeout_graceful_shutdown=2,
    )
    server = uvicorn.Server(config)
    gc.enable()  # other commands run without it, being short
    announce(keys.address)
    try:
        with suppress(KeyboardInterrupt):
            asyncio.run(_serve_until_over(server, listener, jobs, presence, watch, runs))
    finally:
        listener.close()
        runs.end()
        jobs.end()


async def _serve_until_over(
    server: uvicorn.Server, listener: socket.socket, jobs: Jobs, presence: Presence, watch: Watch, runs: Runs
) -> None:
    async def end_in_time() -> None:
        while not server.should_exit:
            await asyncio.sleep(_LOOK_EVERY_S)
            if presence.over() and not jobs.in_work and not runs.busy:
                server.should_exit = True

    async def look() -> None:
        while not server.should_exit:
            await watch.look()
            await asyncio.sleep(_WATCH_EVERY_S)

    beside = [asyncio.create_task(end_in_time()), asyncio.create_task(look())]
    try:
        await server.serve(sockets=[listener])
    finally:
        for task in beside:
            task.cancel()


def _listener(port: int) -> socket.socket:
    """A socket that only this computer reaches. Raises `DeskError`."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listener.bind((_LOOPBACK, port))
        listener.listen()
    except (OSError, OverflowError) as error:
        listener.close()
        raise DeskError(f"--port {port}: cannot be used: {error}; leave it out, and one that is free is taken") from error
    return listener

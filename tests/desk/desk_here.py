"""A desk served in this process, with everything that a desk of its own has but the start of the program.

The program takes a second of work to start, and its worker processes take as long again, of which a test of what a page does
sees nothing. Here the same server runs in a thread, and all desks have the same workers, which take the folder with each job.
What is about the process itself, as its end and what it prints, is tested with `desk_served.served`.
"""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from queue import SimpleQueue
from urllib.parse import parse_qs, urlsplit

import pytest
import uvicorn
from desk_served import Served

from analyzer.desk import server
from analyzer.desk.jobs import Jobs

_START_S, _END_S, _WHILE_S = 60.0, 20.0, 60.0


class _Workers(Jobs):
    """Workers that outlive the desks that have them."""

    def warm(self) -> None:
        """The first work for a desk starts them, and for the next ones they are warm."""

    def end(self) -> None:
        """A desk ends, and they stay."""


@contextmanager
def workers() -> Iterator[Jobs]:
    """The workers of all desks of this process, ended afterwards."""
    made = _Workers()
    yield made
    Jobs.end(made)


@contextmanager
def served_here(folder: Path, jobs: Jobs) -> Iterator[Served]:
    """A desk on a folder, ended afterwards. What fails in it fails here."""
    addresses: SimpleQueue[str] = SimpleQueue()
    servers: list[uvicorn.Server] = []

    class Kept(uvicorn.Server):
        def __init__(self, config: uvicorn.Config) -> None:
            super().__init__(config)
            servers.append(self)

    with ThreadPoolExecutor(1, thread_name_prefix="desk") as thread:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(server, "Jobs", lambda: jobs)
            patch.setattr(uvicorn, "Server", Kept)
            desk = thread.submit(server.serve_desk, folder, 0, _WHILE_S, addresses.put)
            desk.add_done_callback(lambda _: addresses.put(""))
            address = addresses.get(timeout=_START_S)
        try:
            if address:
                at = urlsplit(address)
                assert at.port is not None
                yield Served(folder, at.port, parse_qs(at.query)["token"][0])
        finally:
            for one in servers:
                one.should_exit = True
            desk.result(_END_S)

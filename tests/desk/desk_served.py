"""A desk served in a process of its own, as a user starts it, and plain requests to it that a browser would not send."""

import http.client
import os
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
CHART = SAMPLES / "wendle_island_vor24.toml"
CLEAN, STRONG_WIND = SAMPLES / "clean.csv", SAMPLES / "strong_wind.csv"
_ADDRESS = re.compile(r"^http://127\.0\.0\.1:(\d+)/open\?token=(\S+)$")
_START_S = 60.0


@dataclass
class Answer:
    status: int
    headers: Mapping[str, str]
    text: str


@dataclass
class Served:
    """A running desk: its folder, port and token, and the cookie once the token is exchanged."""

    folder: Path
    port: int
    token: str
    cookie: str = ""

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.port}"

    @property
    def address(self) -> str:
        return f"http://{self.host}/open?token={self.token}"

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str | None) -> Answer:
        """A request as the desk's own page would send it, but for the headers given; None leaves one out."""
        sent: dict[str, str | None] = {"Host": self.host, "Cookie": self.cookie or None}
        if method != "GET":
            sent["Origin"] = f"http://{self.host}"
        sent |= {name.replace("_", "-").title(): value for name, value in headers.items()}
        if body is not None and "Content-Length" not in sent:
            sent["Content-Length"] = str(len(body))
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)) as connection:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in sent.items():
                if value is not None:
                    connection.putheader(name, value)
            connection.endheaders()
            with suppress(BrokenPipeError):  # refused by its head, before the body was read
                connection.send(body or b"")
            answer = connection.getresponse()
            return Answer(
                answer.status,
                {name.lower(): value for name, value in answer.getheaders()},
                answer.read().decode(errors="replace"),
            )

    def enter(self) -> None:
        """Exchange the token for the cookie."""
        answer = self.ask("GET", f"/open?token={self.token}")
        assert answer.status == 200
        self.cookie = answer.headers["set-cookie"].partition(";")[0]


@dataclass
class ServedApart(Served):
    """A desk in a process of its own, and what this said."""

    process: subprocess.Popen[str] = field(kw_only=True)
    said: list[str] = field(kw_only=True)


@contextmanager
def served(folder: Path, *arguments: str) -> Iterator[ServedApart]:
    """A desk on a folder, ended afterwards."""
    command = [sys.executable, "-m", "analyzer", "desk", str(folder), "--no-browser", *arguments]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=dict(os.environ))  # noqa: S603 (our own program)
    stop = threading.Timer(_START_S, process.kill)
    stop.start()
    try:
        said = []
        assert process.stdout is not None
        for line in process.stdout:
            said.append(line.rstrip("\n"))
            if found := _ADDRESS.match(line):
                break
        else:
            raise AssertionError((said, process.stderr.read() if process.stderr else ""))
        stop.cancel()
        yield ServedApart(folder, int(found[1]), found[2], process=process, said=said)
    finally:
        stop.cancel()
        if process.poll() is None:
            process.send_signal(signal.SIGINT)
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
        for stream in (process.stdout, process.stderr):
            if stream is not None:
                stream.close()

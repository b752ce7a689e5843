"""Who reaches the desk: the browser that opened its address, and nobody else; what is sent is bounded."""

import json
import socket
import time
import urllib.parse
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from desk_served import CHART, CLEAN, SAMPLES, Served

PAGES = (
    "/", "/static/desk.css", "/static/desk.js", "/flights/clean.csv", "/charts/new", "/changes", "/settings", "/news",
    "/classes", "/classes/Spring", "/classes/Spring/progress", "/classes/Spring/tables/grades.csv", "/nothing",
)  # fmt: skip


def packed(members: dict[str, bytes]) -> bytes:
    """A zip with some files."""
    made = BytesIO()
    with zipfile.ZipFile(made, "w") as zipped:
        for name, content in members.items():
            zipped.writestr(name, content)
    return made.getvalue()


def test_the_address_stands_on_a_line_of_its_own_and_is_of_this_computer(shared: Served):
    assert shared.said[-1] == shared.address
    assert shared.address.startswith("http://127.0.0.1:")


def test_nothing_listens_beyond_this_computer(shared: Served):
    """Every address of 127.0.0.0/8 is this computer; the desk is bound to one, so that the others find nobody."""
    with pytest.raises(ConnectionRefusedError), socket.create_connection(("127.0.0.2", shared.port), timeout=5):
        pass


@pytest.mark.parametrize("path", PAGES)
def test_without_the_cookie_nothing_is_shown(shared: Served, path: str):
    answer = shared.ask("GET", path, cookie=None)
    assert answer.status == 403
    assert "clean.csv" not in answer.text
    assert "<" not in answer.text


@pytest.mark.parametrize("cookie", ["{name}=", "{name}=x", "{name}=x{value}", "other={value}", "{name}={value}x"])
def test_a_cookie_that_is_nearly_right_is_none(shared: Served, cookie: str):
    name, _, value = shared.cookie.partition("=")
    assert shared.ask("GET", "/", cookie=cookie.format(name=name, value=value)).status == 403


def test_the_token_works_once(desk: Served):
    assert desk.ask("GET", "/open?token=wrong").status == 403
    desk.enter()
    again = desk.ask("GET", f"/open?token={desk.token}", cookie=None)
    assert again.status == 403
    assert "set-cookie" not in again.headers
    assert desk.ask("GET", "/").status == 200


def test_the_cookie_is_strict_and_its_name_this_starts_own(desk: Served, shared: Served):
    """RFC 6265bis, 8.6: cookies do not keep ports apart, so two desks must not share a name."""
    answer = desk.ask("GET", f"/open?token={desk.token}")
    said = answer.headers["set-cookie"]
    name, *attributes = said.split("; ")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} == set(attributes)
    assert name.partition("=")[0] != shared.cookie.partition("=")[0]


@pytest.mark.parametrize(
    "host", ["evil.example", "localhost:{port}", "127.0.0.1", "127.0.0.1:{port}.evil.example", "[::1]:{port}", None]
)
def test_another_host_reaches_nothing(shared: Served, host: str | None):
    """As a page would ask whose name is made to lead to this computer (DNS rebinding)."""
    answer = shared.ask("GET", "/", host=host and host.format(port=shared.port))
    assert answer.status in (400, 421)
    assert "Flights" not in answer.text


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "http://localhost:{port}", "https://127.0.0.1:{port}", "http://127.0.0.1", None]
)
@pytest.mark.parametrize(
    "path", ["/logs?name=x.csv", "/charts/draw", "/charts", "/out/logs/clean.csv", "/settings/watched", "/alive?page=a"]
)
def test_another_origin_writes_nothing(shared: Served, origin: str | None, path: str):
    answer = shared.ask("POST", path, b"title=x", origin=origin and origin.format(port=shared.port))
    assert answer.status == 403
    assert not (shared.folder / "logs" / "x.csv").exists()


def test_another_origin_reads_nothing(shared: Served):
    assert shared.ask("GET", "/", origin="http://evil.example").status == 403
    for site in ("cross-site", "same-site"):
        assert shared.ask("GET", "/", sec_fetch_site=site).status == 403


def test_what_changes_things_is_no_get(shared: Served):
    for path in ("/logs?name=x.csv", "/out/logs/clean.csv", "/settings/watched", "/charts/draw"):
        assert shared.ask("GET", path).status in (404, 405)


@pytest.mark.parametrize("path", ["/", "/charts/new", "/nothing"])
def test_pages_run_nothing_but_their_own_files(shared: Served, path: str):
    headers = shared.ask("GET", path).headers
    policy = dict(part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == policy["form-action"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"
    assert "server" not in headers


HOSTILE = (
    "../../escaped.csv", "..\\..\\escaped.csv", "/etc/escaped.csv", "C:\\escaped.csv", "logs/../../escaped.csv", "..", ".",
    ".hidden.csv", "a\0b.csv", "con.csv", "a" * 400 + ".csv", "<script>alert(1)</script>.csv", "flight.csv.toml",
    "%2e%2e%2fescaped.csv",
    "\u202evsc.exe", "settings.toml", "",
)  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_names_of_uploads_stay_in_the_folder(desk: Served, name: str):
    desk.enter()
    before = set(desk.folder.parent.rglob("*"))
    answer = desk.ask("POST", f"/logs?name={urllib.parse.quote(name, safe='')}", CLEAN.read_bytes())
    made = set(desk.folder.parent.rglob("*")) - before
    assert answer.status == 200, answer.text
    (kept,) = made
    assert kept.parent == desk.folder / "logs"
    assert not kept.name.startswith(".")
    assert not kept.name.endswith(".toml")
    assert kept.read_bytes() == CLEAN.read_bytes()


@pytest.mark.parametrize(
    ("sample", "name", "kept"),
    [
        ("wendle_island_vor24.toml", "../wendle.TOML", "wendle.toml"),
        ("wendle_island_vor24.toml", "wendle.toml.txt", "wendle.toml"),  # as mail and file managers rename it
        ("wendle_island_coded.txt", "cycle 2606.dat", "cycle 2606.dat"),
    ],
)
def test_a_dropped_chart_or_coded_file_is_no_log(desk: Served, sample: str, name: str, kept: str):
    desk.enter()
    content = (SAMPLES / sample).read_bytes()
    answer = desk.ask("POST", f"/logs?name={urllib.parse.quote(name, safe='')}", content)
    assert answer.status == 200, answer.text
    assert (desk.folder / "procedures" / kept).read_bytes() == content
    assert list((desk.folder / "logs").iterdir()) == []
    seen = desk.ask("GET", json.loads(answer.text)["address"])
    assert seen.status == 200
    assert ("<h1>Wendle Island VOR 24</h1>" if kept.endswith(".toml") else "VOR/DME 24") in seen.text


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        (
            "photo.jpg",
            b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + bytes(64),
            "a picture, not a log: export the log as CSV or GPX. A chart has to be typed in",
        ),
        ("chart.pdf", b"%PDF-1.7\n" + bytes(64), "a PDF, not a log: export the log as CSV or GPX. A chart has to be typed in"),
        ("flight.xlsx", packed({"xl/workbook.xml": b"<workbook/>"}), "save its sheet as CSV there"),
        ("notes.txt", b"Remember the headset.\n", "line 1: not a table"),
        ("photos.zip", packed({"photo.png": b"\x89PNG\r\n\x1a\n" + bytes(64)}), "a picture, not a log"),
        (
            "points.gpx",
            b'<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="1" lon="2"/></gpx>',
            "this GPX file has no track points",
        ),
        ("two.zip", packed({"a.csv": b"1", "b.csv": b"2"}), "a zip with 2 files (a.csv, b.csv): unpack it, and give one log"),
    ],
)
def test_what_no_answer_makes_a_log_is_refused_where_it_is_dropped(desk: Served, name: str, content: bytes, said: str):
    desk.enter()
    answer = desk.ask("POST", f"/logs?name={name}", content)
    assert answer.status == 400
    assert said in json.loads(answer.text)["fault"]
    assert not list((desk.folder / "logs").iterdir())


def test_a_zip_of_one_log_is_taken(desk: Served):
    desk.enter()
    answer = desk.ask("POST", "/logs?name=flight.zip", packed({"clean.csv": CLEAN.read_bytes()}))
    assert json.loads(answer.text)["log"] == "flight.zip"


def test_a_chart_with_a_fault_is_refused_where_it_is_dropped(desk: Served):
    desk.enter()
    content = CHART.read_bytes().replace(b"outbound_course_deg = 61", b"outbound_course_deg = 461")
    answer = desk.ask("POST", "/logs?name=wendle.toml", content)
    assert answer.status == 400
    assert "461" in json.loads(answer.text)["fault"]
    assert str(desk.folder) not in answer.text
    assert [*(desk.folder / "logs").iterdir(), *(desk.folder / "procedures").iterdir()] == []


def test_a_file_that_is_no_log_can_be_removed_from_its_page(desk: Served):
    desk.enter()
    photo = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + bytes(range(256)) * 8
    (desk.folder / "logs" / "photo.jpg").write_bytes(photo)  # copied into the folder
    answer = desk.ask("GET", "/flights/photo.jpg")
    assert answer.status == 400
    assert 'action="/out/logs/photo.jpg"' in answer.text
    assert 'action="/out/logs/' not in desk.ask("GET", "/flights/other.jpg").text


@pytest.mark.parametrize(
    "name", ["..%2f..%2fsecret.csv", "..%5csecret.csv", "%2fetc%2fpasswd", ".hidden", "a%00b", "..", "%2e%2e"]
)
@pytest.mark.parametrize("path", ["/flights/{}", "/flights/{}/procedures", "/flights/{}/report.html"])
def test_names_that_are_asked_for_stay_in_the_folder(shared: Served, name: str, path: str):
    (shared.folder.parent / "secret.csv").write_bytes(CLEAN.read_bytes())
    answer = shared.ask("GET", path.format(name))
    assert answer.status in (400, 404)
    assert "root:" not in answer.text


def test_links_are_not_followed(desk: Served):
    desk.enter()
    outside = desk.folder.parent / "outside"
    outside.mkdir()
    (outside / "secret.csv").write_bytes(CLEAN.read_bytes())
    (desk.folder / "logs" / "link.csv").symlink_to(outside / "secret.csv")
    (desk.folder / "procedures" / "link.toml").symlink_to(CHART)
    (desk.folder / "reports" / "flight.csv.json").symlink_to(outside / "written.json")
    assert "link.csv" not in desk.ask("GET", "/").text
    assert desk.ask("GET", "/flights/link.csv/procedures").status == 400
    assert desk.ask("POST", "/logs?name=flight.csv", CLEAN.read_bytes()).status == 200
    assert "link.toml" not in desk.ask("GET", "/flights/flight.csv/procedures").text
    (desk.folder / "procedures" / "chart.toml").write_bytes(CHART.read_bytes())
    assert desk.ask("POST", "/flights/flight.csv/procedure", b"procedure=chart.toml").status == 303
    desk.ask("GET", "/flights/flight.csv")
    assert sorted(path.name for path in outside.iterdir()) == ["secret.csv"]


def test_a_room_that_is_a_link_is_refused(tmp_path):
    from analyzer.desk.store import open_store
    from analyzer.errors import DeskError

    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "desk").mkdir()
    (tmp_path / "desk" / "logs").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(DeskError, match="a link"):
        open_store(tmp_path / "desk")


def head_of(desk: Served, name: str) -> str:
    """The first lines of an upload, without its length."""
    return f"POST /logs?name={name} HTTP/1.1\r\nHost: {desk.host}\r\nOrigin: http://{desk.host}\r\nCookie: {desk.cookie}\r\n"


def test_uploads_are_bounded_in_size(shared: Served):
    answer = shared.ask("POST", "/logs?name=large.csv", b"", content_length=str(64 * 2**20 + 1))
    assert answer.status == 413
    assert not (shared.folder / "logs" / "large.csv").exists()


def test_an_upload_that_does_not_say_its_size_is_bounded_too(shared: Served):
    """Sent in chunks (RFC 9112, 7.1), so that only counting shows how much it is."""
    piece = b"0" * 2**20
    with socket.create_connection(("127.0.0.1", shared.port), timeout=60) as line:
        head = head_of(shared, "chunks.csv")
        line.sendall(f"{head}Transfer-Encoding: chunked\r\nConnection: close\r\n\r\n".encode())
        try:
            for _ in range(66):
                line.sendall(b"%x\r\n%s\r\n" % (len(piece), piece))
            line.sendall(b"0\r\n\r\n")
        except (BrokenPipeError, ConnectionResetError):
            pass
        try:
            answer = line.recv(4096)
        except ConnectionResetError:
            answer = b""
    assert b" 200 " not in answer
    assert not [path for path in (shared.folder / "logs").iterdir() if "chunks" in path.name or path.stat().st_size > 2**20]


def waited_for(come: Callable[[], bool]) -> bool:
    """Whether something comes within ten seconds."""
    until = time.monotonic() + 10.0
    while not come() and time.monotonic() < until:
        time.sleep(0.02)
    return come()


def test_an_upload_that_breaks_off_leaves_nothing(desk: Served):
    desk.enter()
    with socket.create_connection(("127.0.0.1", desk.port), timeout=60) as line:
        head = head_of(desk, "broken.csv")
        line.sendall(f"{head}Content-Length: 1000\r\n\r\ntime,lat".encode())
        begun = waited_for(lambda: any((desk.folder / "logs").iterdir()))
    assert begun
    assert waited_for(lambda: not any((desk.folder / "logs").iterdir()))


def test_forms_are_bounded(shared: Served):
    assert shared.ask("POST", "/charts/draw", b"title=" + b"x" * 300_000).status == 400
    assert shared.ask("POST", "/charts/draw", b"&".join(b"a%d=1" % k for k in range(2000))).status == 400
    assert shared.ask("POST", "/charts/draw", b"title=\xff").status in (200, 400)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\0" * 1000,
        b"PK\x03\x04",
        b"\x1f\x8b\x08",
        b"<?xml version='1.0'?><!DOCTYPE a [<!ENTITY b 'c'>]><gpx>&b;</gpx>",
        b"a,b\n1",
    ],
)
def test_hostile_logs_are_refused_in_words(shared: Served, content: bytes):
    sent = shared.ask("POST", "/logs?name=hostile.csv", content)
    if sent.status == 200:
        name = sent.text.split('"log":"')[1].split('"')[0]
        answer = shared.ask("GET", f"/flights/{name}")
        assert answer.status in (200, 400)
        assert "Traceback" not in answer.text
        assert "program itself failed" not in answer.text


@pytest.mark.parametrize(
    "path",
    ["/out/settings/x", "/out/..%2F../x", "/out/logs/..%2Fsettings.toml", "/back/logs/..%2F..%2Fx", "/changes/..%2Fx/undo"],
)
def test_what_is_taken_out_brought_back_and_undone_is_in_the_folder(shared: Served, path: str):
    assert shared.ask("POST", path, b"").status in (400, 404)
    assert (shared.folder / "logs").is_dir()


def test_the_folder_that_is_watched_does_not_show_what_lies_in_it(shared: Served, tmp_path: Path):
    """A folder without logs: no name of what is in it comes back."""
    (tmp_path / "secret.pem").write_text("x", encoding="utf-8")
    assert shared.ask("POST", "/settings/watched", f"folder={urllib.parse.quote(str(tmp_path))}".encode()).status == 303
    assert "secret" not in shared.ask("GET", "/settings").text + shared.ask("GET", "/news").text
    assert shared.ask("POST", "/settings/watched", b"folder=").status == 303

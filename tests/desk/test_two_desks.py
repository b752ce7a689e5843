"""Two desks on one folder at once, and one that is killed at many instants: nothing is lost, and every file is whole."""

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.parse import urlencode

import pytest
from desk_served import CHART, CLEAN, STRONG_WIND, Answer, Served, served

from analyzer.desk.cards import read_card, read_settings
from analyzer.desk.changes import changes_of
from analyzer.desk.store import Store
from analyzer.procedure.read import read_procedure

LOG, FILE = "flight.csv", "vor24.toml"


@pytest.fixture
def two(tmp_path: Path) -> Iterator[tuple[Served, Served]]:
    folder = tmp_path / "desk"
    with served(folder) as one, served(folder) as other:
        for desk in (one, other):
            desk.enter()
        (folder / "logs" / LOG).write_bytes(CLEAN.read_bytes())
        (folder / "procedures" / FILE).write_bytes(CHART.read_bytes())
        yield one, other


def sent(desk: Served, path: str, **form: str) -> Answer:
    return desk.ask("POST", path, urlencode(form).encode())


def at_once(*works: Callable[[], None]) -> None:
    """Run some work side by side; what fails there fails here."""
    with ThreadPoolExecutor(len(works)) as pool:
        for done in [pool.submit(work) for work in works]:
            done.result()


def test_a_card_that_both_write_keeps_what_each_said(two: tuple[Served, Served]):
    """One changes the pilot and the other the remark, twenty times each: neither is ever set back by the other."""

    def write(desk: Served, key: str) -> Callable[[], None]:
        def work() -> None:
            for k in range(20):
                answer = sent(desk, f"/flights/{LOG}/card", **{key: f"{key} {k}", f"was {key}": f"{key} {k - 1}" if k else ""})
                assert answer.status == 303
                assert re.fullmatch(rf"/flights/{LOG}\?changed=[-0-9a-f]+", answer.headers["location"])

        return work

    one, other = two
    at_once(write(one, "pilot"), write(other, "remark"))
    card = read_card(Store(one.folder), LOG)
    assert (card.pilot, card.remark) == ("pilot 19", "remark 19")
    assert len(list(changes_of(Store(one.folder), 1000))) == 40  # each of them can be looked up


def test_a_chart_that_both_write_is_never_written_over_unseen(two: tuple[Served, Served]):
    """Each opens the form and saves it: of two that opened the same version only the first may write."""
    saved: list[str] = []

    def write(desk: Served, name: str) -> Callable[[], None]:
        def work() -> None:
            for k in range(8):
                form = form_of(desk.ask("GET", f"/charts/saved/{FILE}").text)
                form["title"] = f"{name} {k}"
                answer = sent(desk, "/charts", **form)
                assert answer.status in (303, 422)
                if answer.status == 303:
                    saved.append(form["title"])
                else:
                    assert "changed by another page" in answer.text

        return work

    one, other = two
    at_once(write(one, "one"), write(other, "other"))
    store = Store(one.folder)
    assert read_procedure(store.there("procedures", FILE)).title in saved
    # nothing was written that was not kept: the versions before are all there
    changes = [change.name for change in changes_of(store, 1000)]
    before = {read_procedure(store.earlier(name, "procedures", FILE)).title for name in changes}
    assert before | {read_procedure(store.there("procedures", FILE)).title} == {*saved, "Wendle Island VOR 24"}
    assert len(changes) == len(saved)


def form_of(page: str) -> dict[str, str]:
    """What the form of a chart sends when nothing is typed."""
    import html

    form = page[page.index('<form method="post" action="/charts"') : page.index("</form>")]
    values = {name: html.unescape(text) for name, text in re.findall(r'<input[^>]* name="([^"]*)" value="([^"]*)"', form)}
    for name, inner in re.findall(r'<select[^>]* name="([^"]*)".*?>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected>', inner)
        values[name] = chosen[1] if chosen else ""
    return values


def test_settings_logs_and_moves_at_once(two: tuple[Served, Served], tmp_path: Path):
    """The standard, the folder that is watched, uploads of one name, and a flight taken out and brought back, all at once."""
    one, other = two
    watched = tmp_path / "watched"
    watched.mkdir()

    def standard() -> None:
        for k in range(20):
            assert sent(one, "/settings/standard", standard=("faa-instrument", "icao-ops")[k % 2]).status == 303

    def watching() -> None:
        for k in range(20):
            assert sent(other, "/settings/watched", folder=str(watched) if k % 2 else "").status == 303

    def upload(desk: Served, mark: str) -> Callable[[], None]:
        def work() -> None:
            for k in range(15):
                assert desk.ask("POST", "/logs?name=same.csv", f"{mark} {k}\n".encode()).status == 200

        return work

    def moves() -> None:
        for _ in range(15):
            assert sent(one, f"/out/logs/{LOG}").status == 303
            assert sent(other, f"/back/logs/{LOG}").status == 303

    def listed() -> None:
        for desk in (one, other) * 10:
            assert desk.ask("GET", "/").status == 200

    at_once(standard, watching, upload(one, "one"), upload(other, "other"), moves, listed)
    store = Store(one.folder)
    settings = read_settings(store)
    assert (settings.standard, settings.watched) == ("icao-ops", str(watched))
    contents = {path.read_text(encoding="utf-8") for path in (one.folder / "logs").glob("same*.csv")}
    assert contents == {f"{mark} {k}\n" for mark in ("one", "other") for k in range(15)}
    assert store.there("logs", LOG).read_bytes() == CLEAN.read_bytes()
    assert store.taken_out("logs") == []


def test_both_debrief_one_flight(two: tuple[Served, Served]):
    one, other = two
    assert sent(one, f"/flights/{LOG}/procedure", procedure=FILE).status == 303
    pages: list[str] = []

    def opened(desk: Served) -> Callable[[], None]:
        return lambda: pages.extend(desk.ask("GET", f"/flights/{LOG}").text for _ in range(5))

    at_once(opened(one), opened(other))
    assert all("Inside" in page for page in pages)
    (one.folder / "logs" / LOG).write_bytes(STRONG_WIND.read_bytes())  # as another program writes it
    assert "Outside" in other.ask("GET", f"/flights/{LOG}").text
    assert "Outside" in one.ask("GET", f"/flights/{LOG}").text


def test_killed_at_many_instants_the_folder_is_whole(tmp_path: Path):
    script = Path(__file__).with_name("killed_often.py")
    done = subprocess.run(  # noqa: S603 (our own text)
        [sys.executable, str(script), str(tmp_path / "desk"), "60"], capture_output=True, text=True, timeout=300, check=False
    )
    assert (done.stdout, done.stderr, done.returncode) == ("", "", 0)

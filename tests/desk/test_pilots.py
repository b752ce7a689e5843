"""Pilots at the desk: flights by the name that they carry, attempts kept for what they were made from, and the pages."""

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest
from axe_playwright_python.sync_playwright import Axe
from desk_browser import HAND, entered, needs_chromium, unfold_actions
from desk_flights import write_card, write_settings
from desk_here import served_here
from desk_served import CHART, SAMPLES, Served
from playwright.sync_api import Browser, expect

import analyzer
from analyzer.comparison.comparing import side_by_side
from analyzer.desk.cards import FlightCard, Settings, read_card
from analyzer.desk.excused import give_excuse
from analyzer.desk.flights import open_flight
from analyzer.desk.jobs import Jobs
from analyzer.desk.kept_attempts import Keeping
from analyzer.desk.pilots import list_pilots, measure_flights, see_pilot
from analyzer.desk.side_by_side import flights_compared
from analyzer.desk.store import Store, open_store
from analyzer.errors import AnalyzerError, DeskError
from analyzer.report.pages.compare_page import compare_page

VORZ = "wendle_island_vorz24.toml"
KEA, BO = "Kea Tarn", "Bo <b>Wendle</b> & sons/2"


def fill(folder: Path) -> Store:
    """Two pilots: one with three flights of one procedure, one with two approaches and a hold, and a log without a chart."""
    store = open_store(folder)
    for chart in (CHART, SAMPLES / VORZ):
        shutil.copy(chart, folder / "procedures")
    cards = {
        "clean.csv": FlightCard(pilot=KEA, aircraft="C172", remark="calm day"),
        "strong_wind.csv": FlightCard(pilot="kea  TARN", aircraft="PA-28"),
        "early_descent.gpx": FlightCard(pilot=KEA),
        "missed_and_hold.csv": FlightCard(pilot=BO),
        "step_down.csv": FlightCard(pilot=BO),
    }
    charts = {"missed_and_hold.csv": VORZ, "step_down.csv": ""}
    for log, card in cards.items():
        shutil.copy(SAMPLES / log, folder / "logs")
        write_card(store, log, card.model_copy(update={"procedure": charts.get(log, CHART.name)}))
    shutil.copy(SAMPLES / "clean.csv", folder / "logs" / "nameless.csv")
    return store


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return fill(tmp_path / "desk")


@pytest.fixture
def desk(tmp_path: Path, jobs: Jobs) -> Iterator[Served]:
    fill(tmp_path / "desk")
    with served_here(tmp_path / "desk", jobs) as started:
        started.enter()
        yield started


def measured(store: Store, name: str = KEA) -> str:
    folder = str(store.folder)
    assert measure_flights(folder, name, 1000.0) == 0
    return folder


def test_names_that_differ_in_capitals_and_blanks_are_one_pilot(store: Store):
    seen = list_pilots(str(store.folder))
    assert [(name, flights) for name, flights, _, _ in seen.pilots] == [(BO, 2), (KEA, 3)]
    assert seen.nameless == 1
    measured(store)
    assert list_pilots(str(store.folder)).pilots[1] == (KEA, 3, "2026-07-09", "2 outside, 1 inside")
    with pytest.raises(DeskError, match="no flight carries that name"):
        see_pilot(str(store.folder), "")
    with pytest.raises(DeskError, match="no flight carries that name"):
        see_pilot(str(store.folder), "Nobody")


def test_a_page_never_debriefs_and_says_what_is_missing(store: Store, monkeypatch: pytest.MonkeyPatch):
    folder = str(store.folder)
    assert measure_flights(folder, KEA, -1.0) == 2  # one a call at least, so that it comes to an end
    monkeypatch.setattr("analyzer.desk.pilots.judged_as_kept", None)
    seen = see_pilot(folder, KEA)
    assert seen.unmeasured == 2
    assert sorted(row.why for row in seen.attempts)[-2:] == ["not measured yet", "not measured yet"]


def test_a_pilots_page_shows_what_compare_finds(store: Store):
    """The same sentences and values as the comparison of the same flights."""
    seen = see_pilot(measured(store), KEA)
    assert seen.said == "3 flights, 14 June 2026 to 9 July 2026; 3 attempts: 2 outside, 1 inside."
    assert [(row.name, row.verdict, row.aircraft, row.remark, row.number) for row in seen.attempts] == [
        ("clean.csv", "inside", "C172", "calm day", 1),
        ("strong_wind.csv", "outside", "PA-28", "", 2),
        ("early_descent.gpx", "outside", "", "", 3),
    ]
    assert [(check.name, check.outside, check.close, check.inside) for check in seen.checks] == [
        ("altitude floor", 1, 0, 2), ("distance limit", 1, 0, 2), ("turn bank", 1, 0, 2)
    ]  # fmt: skip
    (series,) = seen.series
    procedure = analyzer.read_procedure(CHART)
    logs = ("clean.csv", "strong_wind.csv", "early_descent.gpx")
    compared = compare_page(side_by_side([analyzer.debrief(analyzer.read_track(SAMPLES / log), procedure) for log in logs]))
    assert series.count == 3
    for sentence in series.sentences:
        assert f"<p>{sentence}</p>" in compared
    assert series.figures[0].caption.startswith("Greatest distance [NM]: first 7.17, last 6.19; limit 10.00; 1 of 3 outside")


def test_approaches_and_holds_are_series_of_their_own_and_what_has_no_chart_is_listed(store: Store):
    seen = see_pilot(measured(store, BO), BO)
    assert [(series.title, series.count) for series in seen.series] == [
        ("Wendle Island VOR Z 24", 2), ("Wendle Island VOR Z 24, hold at WND", 1)
    ]  # fmt: skip
    assert seen.unmeasured == 0
    last = seen.attempts[-1]
    assert (last.file, last.why, last.number) == ("step_down.csv", "no chart is chosen yet", 0)


def test_what_a_debrief_finds_is_kept(store: Store):
    folder = str(store.folder)
    for log in ("clean.csv", "strong_wind.csv", "early_descent.gpx"):
        open_flight(folder, log)
    assert see_pilot(folder, KEA).unmeasured == 0


def test_kept_attempts_hold_for_what_they_were_made_from(store: Store):
    """Another name, aircraft or remark changes no figure; all else does."""
    folder = measured(store)
    card = read_card(store, "clean.csv")
    write_card(store, "clean.csv", card.model_copy(update={"remark": "gusts", "aircraft": "PA-28", "name": "First"}))
    assert see_pilot(folder, KEA).unmeasured == 0
    write_card(store, "clean.csv", card.model_copy(update={"cleared": ["vectors"]}))
    assert see_pilot(folder, KEA).unmeasured == 1
    write_card(store, "clean.csv", card)
    assert see_pilot(folder, KEA).unmeasured == 0
    form = {"check": "distance_limit", "approach": "1", "reason": "cleared", "by": "B. Instructor"}
    give_excuse(folder, "strong_wind.csv", form, "2026-06-29")
    assert see_pilot(folder, KEA).unmeasured == 1
    measured(store)
    assert see_pilot(folder, KEA).said.endswith("3 attempts: 1 outside, 2 inside. 1 finding is excused.")
    chart = store.folder / "procedures" / CHART.name
    chart.write_text(chart.read_text(encoding="utf-8").replace("within_nm = 10", "within_nm = 12"), encoding="utf-8")
    assert see_pilot(folder, KEA).unmeasured == 3
    measured(store)
    write_settings(store, Settings(standard="icao-ops"))
    assert see_pilot(folder, KEA).unmeasured == 3
    measured(store)
    log = store.folder / "logs" / "clean.csv"
    log.write_bytes(log.read_bytes() + b"\n")
    assert see_pilot(folder, KEA).unmeasured == 1


def test_another_program_measures_again(store: Store, monkeypatch: pytest.MonkeyPatch):
    folder = measured(store)
    monkeypatch.setattr("analyzer.desk.kept_attempts.program_digest", lambda: "another")
    assert see_pilot(folder, KEA).unmeasured == 3


@pytest.mark.parametrize("text", ["", "[]", "{}", "null", '{"made_from": 3}', "\x00", "[" * 100_000])
def test_a_file_that_is_broken_is_measured_again(store: Store, text: str):
    folder = measured(store)
    (store.folder / ".cache" / "attempts" / "clean.csv.json").write_text(text, encoding="utf-8")
    assert see_pilot(folder, KEA).unmeasured == 1
    measured(store)
    assert see_pilot(folder, KEA).unmeasured == 0


def test_a_file_from_elsewhere_with_the_right_stamp_and_wrong_values_is_not_believed(store: Store):
    folder = measured(store)
    path = store.folder / ".cache" / "attempts" / "clean.csv.json"
    kept = json.loads(path.read_text(encoding="utf-8"))
    kept["attempts"][0]["values"]["farthest_nm"] = "many"
    path.write_text(json.dumps(kept), encoding="utf-8")
    assert see_pilot(folder, KEA).unmeasured == 1


def test_nothing_is_written_where_the_cache_leads_out_of_the_folder(store: Store, tmp_path: Path):
    outside = tmp_path / "outside"
    outside.mkdir()
    shutil.rmtree(store.folder / ".cache", ignore_errors=True)
    (store.folder / ".cache").mkdir()
    (store.folder / ".cache" / "attempts").symlink_to(outside)
    measure_flights(str(store.folder), KEA, 1000.0)
    assert list(outside.iterdir()) == []


def test_a_flight_that_cannot_be_read_is_listed_with_the_reason_and_not_tried_again(store: Store):
    (store.folder / "logs" / "clean.csv").write_text("time,lat\n1,2\n", encoding="utf-8")
    seen = see_pilot(measured(store), KEA)
    assert seen.unmeasured == 0
    (row,) = [row for row in seen.attempts if row.file == "clean.csv"]
    assert (row.verdict, row.number) == ("", 0)
    assert row.why


def test_a_chart_is_no_way_to_ask_for_other_files(store: Store):
    assert Keeping(store).known("clean.csv", {"procedure": "../../../etc/passwd"}) is None


def test_two_flights_are_compared_as_by_the_command_line(store: Store):
    folder = str(store.folder)
    seen = flights_compared(folder, ("clean.csv", "strong_wind.csv"))
    assert "<h1>Wendle Island VOR 24</h1>" in seen.body
    assert "2 attempts in the order flown" in seen.body
    assert seen.pilot == "kea  TARN"
    write_card(store, "clean.csv", read_card(store, "clean.csv").model_copy(update={"pilot": BO}))
    assert flights_compared(folder, ("clean.csv", "strong_wind.csv")).pilot == ""
    assert "2 attempts in the order flown" in flights_compared(folder, ("missed_and_hold.csv",) * 2).body
    with pytest.raises(DeskError, match="1 ticked: tick two to 6"):
        flights_compared(folder, ("clean.csv",))
    with pytest.raises(AnalyzerError, match="another procedure"):
        flights_compared(folder, ("clean.csv", "missed_and_hold.csv"))
    with pytest.raises(DeskError):
        flights_compared(folder, ("../clean.csv", "clean.csv"))


@needs_chromium
def test_two_pilots_by_keyboard(browser: Browser, desk: Served):
    """From the list of flights to one pilot, measured while one waits, two attempts side by side, and to the other pilot."""
    with entered(browser, desk) as opened:
        page = opened.page
        page.get_by_role("link", name="Pilots").press("Enter")
        expect(page.locator("table.flights")).to_contain_text(BO)
        page.get_by_role("link", name=KEA).press("Enter")
        expect(page.get_by_role("heading", name="Wendle Island VOR 24, 3 attempts")).to_be_visible()
        expect(page.locator("#measure")).to_have_count(0)
        expect(page.locator("section figure").first).to_contain_text(
            "Greatest distance [NM]: first 7.17, last 6.19; limit 10.00"
        )
        page.get_by_text("Figures without a limit").press("Enter")
        expect(page.get_by_role("img", name=re.compile("^Wind "))).to_be_visible()
        page.get_by_label("Compare clean.csv, attempt 1").press("Space")
        page.get_by_label("Compare early_descent.gpx, attempt 3").press("Space")
        with page.expect_request("**/alive?page=*"):  # or the desk would end while the page is read
            page.get_by_role("button", name="Lay side by side").press("Enter")
        expect(page.locator("main")).to_contain_text("2 attempts in the order flown")
        page.locator("main").get_by_role("link", name="clean.csv", exact=True).press("Enter")
        unfold_actions(page)
        expect(page.get_by_role("link", name="Flights of Kea Tarn")).to_be_visible()
        page.go_back()
        page.get_by_role("link", name=f"Flights of {KEA}").press("Enter")
        page.get_by_role("link", name="strong_wind.csv").press("Enter")
        unfold_actions(page)
        page.get_by_role("link", name="Flights of kea TARN").press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text(KEA)
        page.get_by_role("link", name="Pilots").press("Enter")
        page.get_by_role("link", name=BO).press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text(BO)
        expect(page.get_by_role("heading", name="Wendle Island VOR Z 24, 2 attempts")).to_be_visible()
        opened.check_quiet()


@needs_chromium
def test_measuring_is_stopped_and_goes_on(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        page, asked = opened.page, []

        def slowly(route) -> None:
            asked.append(route.request.url)
            route.fulfill(json={"left": 3 - len(asked)})

        page.route("**/pilot/measured**", slowly)
        page.add_init_script(
            "const ask = fetch; window.fetch = (...a) => new Promise((done) => setTimeout(() => done(ask(...a)), 400));"
        )
        opened.go(f"/pilot?name={quote(KEA)}")
        page.get_by_role("button", name="Stop").press("Enter")
        expect(page.get_by_role("status")).to_have_text(re.compile(r"^Stopped: 1 of 3 measured"))
        page.wait_for_timeout(900)
        assert len(asked) == 1
        page.unroute("**/pilot/measured**")
        page.get_by_role("button", name="Go on").press("Enter")
        expect(page.get_by_role("heading", name="Wendle Island VOR 24, 3 attempts")).to_be_visible()
        opened.check_quiet()


@needs_chromium
def test_without_a_script_a_button_measures(browser: Browser, desk: Served):
    with entered(browser, desk, scripts=False) as opened:
        page = opened.page
        opened.go(f"/pilot?name={quote(KEA)}")
        for _ in range(10):
            if not page.get_by_role("button", name="Measure").count():
                break
            page.get_by_role("button", name="Measure").click()
        expect(page.get_by_role("heading", name="Wendle Island VOR 24, 3 attempts")).to_be_visible()


@needs_chromium
@pytest.mark.parametrize("look", [{}, {"color_scheme": "dark"}, {"viewport": HAND}, {"viewport": HAND, "color_scheme": "dark"}])
def test_the_pages_break_no_rule(browser: Browser, desk: Served, look: dict[str, object]):
    for pilot in (KEA, BO):  # so that no page loads itself again
        measure_flights(str(desk.folder), pilot, 1000.0)
    with entered(browser, desk, **look) as opened:
        page = opened.page
        for address in ("/pilots", f"/pilot?name={quote(KEA)}", f"/pilot?name={quote(BO, safe='')}"):
            opened.go(address)
            expect(page.locator("footer")).to_contain_text("Training aid, never for navigation.")
            for summary in page.locator("main details > summary").all():
                summary.click()
            found = Axe().run(page)
            assert found.violations_count == 0, found.generate_report()
            assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
        opened.check_quiet()

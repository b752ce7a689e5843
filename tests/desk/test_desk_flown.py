"""The way of a flight at the desk in a real browser, as a new user goes it: log, answers, chart, debrief, again, and back."""

import re
import time
from pathlib import Path

from desk_browser import HAND, Open, entered, needs_chromium, tab_to, unfold_actions
from desk_flights import without_unit
from desk_served import CHART, CLEAN, STRONG_WIND, Served, served
from playwright.sync_api import Browser, FileChooser, Page, Route, expect

import analyzer
from analyzer.desk.field_words import in_fields

pytestmark = needs_chromium

CAUTION = "Training aid, never for navigation."
# The sample's chart as a chart writes it
TYPED = {
    "title": "Wendle Island VOR 24", "category": "B", "fix.name": "WND", "fix.kind": "vor", "fix.latitude_deg": "N48°21.0'",
    "fix.longitude_deg": "024 42 00 W", "fix.elevation_ft": "120 ft", "fix.variation_deg_east": "8W",
    "reversal.kind": "procedure-turn", "reversal.inbound_course_deg": "241°", "reversal.outbound_course_deg": "061°",
    "reversal.side": "left", "reversal.offset_course_deg": "016", "reversal.within_nm": "10 NM",
    "reversal.maximum_speed_kias": "200",
    "altitudes.arrival_ft": "3,000", "altitudes.outbound_ft": "2,600", "altitudes.reversal_ft": "2600 ft",
    "altitudes.inbound_ft": "1 800", "altitudes.final_ft": "640 ft", "runway.name": "24",
    "runway.threshold_latitude_deg": "48.306868", "runway.threshold_longitude_deg": "-24.785736",
    "runway.threshold_elevation_ft": "40", "runway.true_heading_deg": "231",
}  # fmt: skip


def undecided(folder: Path) -> Path:
    """The sample flight without the unit of its altitudes."""
    log = folder / "my flight.csv"
    log.write_text(without_unit(CLEAN.read_text(encoding="utf-8")), encoding="utf-8")
    return log


def drop(page: Page, log: Path) -> None:
    """Drop a file onto the page, as a hand does it."""
    data = page.evaluate_handle(
        "([text, name]) => { const data = new DataTransfer(); data.items.add(new File([text], name)); return data; }",
        [log.read_text(encoding="utf-8"), log.name],
    )
    page.dispatch_event("body", "drop", {"dataTransfer": data})


def type_chart(page: Page) -> None:
    for name, text in TYPED.items():
        field = page.locator(f'[name="{name}"]')
        field.wait_for()
        if field.evaluate("(one) => one.tagName") == "SELECT":
            field.select_option(text)
        else:
            field.fill(text)
    expect(page.locator("#state")).to_contain_text("Complete")


def test_from_a_dropped_log_and_a_paper_chart_to_the_lesson(browser: Browser, desk: Served, tmp_path: Path):
    with entered(browser, desk) as opened:
        page = opened.page
        drop(page, undecided(tmp_path))
        page.wait_for_url("**/flights/my%20flight.csv")
        # what is open is asked next to what each answer would make of the log
        expect(page.locator("main")).to_contain_text("from 702 to 3,064 ft")
        expect(page.locator("main")).to_contain_text("2,303 to 10,052 ft")
        expect(page.locator("figure.sketch svg")).to_be_visible()
        page.get_by_label("Feet").check()
        page.get_by_role("button", name="Go on").click()
        expect(page.locator("h1")).to_contain_text("Which procedure was flown")
        page.get_by_role("link", name="Draw its chart").click()
        type_chart(page)
        expect(page.locator("#plan svg")).to_be_visible()
        page.get_by_role("button", name="Save the chart").click()
        expect(page.locator(".verdict").first).to_contain_text("Inside")
        expect(page.locator("footer")).to_contain_text(CAUTION)
        opened.check_quiet()
    made = analyzer.read_procedure(desk.folder / "procedures" / "wendle_island_vor_24.toml")
    assert made == analyzer.read_procedure(CHART)
    # the folder holds plain files alone
    assert (desk.folder / "logs" / "my flight.csv").read_bytes() == (tmp_path / "my flight.csv").read_bytes()
    assert 'altitude = "ft"' in (desk.folder / "settings.toml").read_text(encoding="utf-8")


def test_a_log_of_a_known_kind_needs_two_clicks(browser: Browser, desk: Served, tmp_path: Path):
    """The second log with the same columns is not asked about again, and its procedure is offered first."""
    with entered(browser, desk) as opened:
        page = opened.page
        (desk.folder / "procedures" / "vor24.toml").write_bytes(CHART.read_bytes())
        log = undecided(tmp_path)
        page.set_input_files("#files", log)
        page.get_by_label("Feet").check()
        page.get_by_role("button", name="Go on").click()
        page.get_by_role("button", name="Wendle Island VOR 24").click()
        expect(page.locator(".verdict").first).to_contain_text("Inside")
        opened.go("/")
        other = log.with_name("another.csv")
        other.write_text(log.read_text(encoding="utf-8"), encoding="utf-8")
        page.set_input_files("#files", other)
        expect(page.locator("ul.choices")).to_contain_text("Fits well")
        page.get_by_role("button", name="Wendle Island VOR 24").click()
        expect(page.locator("h1")).to_contain_text("Wendle Island VOR 24")
        opened.check_quiet()


def test_a_log_chosen_before_the_page_is_ready_is_taken(browser: Browser, desk: Served, tmp_path: Path):
    """On a slow machine the field is there before the script that listens to it."""
    held: list[Route] = []
    with entered(browser, desk) as opened:
        page = opened.page
        page.route("**/static/desk.js", lambda route: held.append(route))
        with page.expect_request("**/static/desk.js"):
            page.goto(f"http://{desk.host}/", wait_until="commit")
        page.set_input_files("#files", undecided(tmp_path))
        held.pop().continue_()
        expect(page.get_by_label("Feet")).to_be_visible()
        opened.check_quiet()


def debriefed(opened: Open, log: Path) -> None:
    (opened.desk.folder / "procedures" / "vor24.toml").write_bytes(CHART.read_bytes())
    opened.page.set_input_files("#files", log)
    if log == STRONG_WIND:  # its times name no zone
        expect(opened.page.get_by_label("Time zone")).to_have_value("+00:00")
        opened.page.get_by_role("button", name="Go on").click()
    opened.page.get_by_role("button", name="Wendle Island VOR 24").click()
    opened.page.locator(".verdict").first.wait_for()
    opened.page.wait_for_load_state()  # the verdict is seen before the scripts of its page answer to keys


def test_the_page_is_that_of_the_file(browser: Browser, desk: Served, tmp_path: Path):
    """The same words in the same order as the page that the command line writes, and its pictures answer to the keyboard."""
    debrief = analyzer.debrief(analyzer.read_track(STRONG_WIND), analyzer.read_procedure(CHART))
    (file,) = analyzer_html(debrief, tmp_path)
    with entered(browser, desk) as opened:
        debriefed(opened, STRONG_WIND)
        # the desk offers to excuse each finding and what comes next, which a file cannot
        opened.page.evaluate("document.querySelectorAll('.excuse, .next').forEach(form => form.remove())")
        words = opened.page.locator("#content").inner_text()
        slider = opened.page.get_by_label("Instant")
        before = opened.page.locator(".reading").inner_text()
        slider.focus()
        opened.page.keyboard.press("ArrowRight")
        assert opened.page.locator(".reading").inner_text() != before
        opened.page.keyboard.press("ArrowLeft")
        opened.check_quiet()
        other = opened.page.context.new_page()
        other.goto(file.as_uri())
        # but that it names fields of the desk, where the file names options of the command line
        assert in_fields(other.locator("main").inner_text()) in words


def analyzer_html(debrief: analyzer.Debrief, folder: Path) -> tuple[Path, ...]:
    from analyzer.report.exports.write import write_report

    return write_report(debrief, folder)


def test_opened_again_renamed_taken_out_and_brought_back(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        page = opened.page
        debriefed(opened, STRONG_WIND)
        page.get_by_text("Name, pilot, clearance, remark").click()
        page.get_by_label("Name").fill("Third try")
        page.get_by_label("Pilot").fill("A. Pilot")
        page.get_by_label("Remark").fill("gusts\nat the fix")
        page.get_by_role("button", name="Save").click()
        expect(page).to_have_title(re.compile("Third try"))
        opened.go("/")
        row = page.locator("table.flights tbody tr")
        for text in ("Third try", "2026-06-28 15:40", "Wendle Island VOR 24", "Outside", "A. Pilot"):
            expect(row).to_contain_text(text)
        row.get_by_role("link", name="Third try").click()
        expect(page.locator(".verdict").first).to_contain_text("Outside")
        unfold_actions(page)
        page.get_by_role("button", name="Remove this flight").click()
        expect(page.locator("main")).to_contain_text("was removed")
        assert page.locator("table.flights").count() == 0
        page.get_by_role("button", name="Restore").click()
        expect(page).to_have_title(re.compile("Third try"))
        opened.check_quiet()
    assert 'remark = "gusts\\nat the fix"' in (desk.folder / "logs" / "strong_wind.csv.toml").read_text(encoding="utf-8")


def test_the_same_log_dropped_again_is_the_flight_that_is_there(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        debriefed(opened, STRONG_WIND)
        opened.go("/")
        opened.page.set_input_files("#files", STRONG_WIND)
        expect(opened.page.locator(".verdict").first).to_contain_text("Outside")
    assert [path.name for path in (desk.folder / "logs").glob("*.csv")] == ["strong_wind.csv"]


def test_what_was_cleared_is_judged_by(browser: Browser, desk: Served):
    """After vectors no reversal is to be flown (14 CFR 91.175(j), AIM 5-4-9 a), so flying it is outside."""
    with entered(browser, desk) as opened:
        page = opened.page
        debriefed(opened, CLEAN)
        expect(page.locator(".verdict").first).to_contain_text("Inside")
        for words, said in (("vectors", "Outside"), ("vectors straight-in", "give vectors alone"), ("", "Inside")):
            opened.go("/flights/clean.csv")
            page.get_by_text("Name, pilot, clearance, remark").click()
            page.get_by_label("Cleared for").fill(words)
            page.get_by_role("button", name="Save").click()
            expect(page.locator(".verdict", has_text=said).first).to_be_visible()


def test_a_changed_chart_is_judged_anew_and_what_moved_is_shown(browser: Browser, desk: Served):
    with entered(browser, desk) as opened:
        debriefed(opened, STRONG_WIND)
        chart = desk.folder / "procedures" / "vor24.toml"
        chart.write_text(chart.read_text(encoding="utf-8").replace("within_nm = 10", "within_nm = 14"), encoding="utf-8")
        opened.page.reload()
        expect(opened.page.locator(".moved p")).to_contain_text("The procedure is not what it was")
        expect(opened.page.locator(".moved li").first).to_contain_text("outside before, inside now")
        expect(opened.page.locator(".verdict").first).to_contain_text("Inside")


def test_two_tabs_at_once_and_a_start_after_being_killed(browser: Browser, tmp_path: Path):
    with served(tmp_path / "desk") as first:
        with entered(browser, first) as opened:
            debriefed(opened, STRONG_WIND)
            second = opened.page.context.new_page()
            second.goto(f"http://{first.host}/")
            second.set_input_files("#files", CLEAN)
            second.get_by_role("button", name="Wendle Island VOR 24").click()
            expect(second.locator(".verdict").first).to_contain_text("Inside")
            opened.page.reload()
            expect(opened.page.locator(".verdict").first).to_contain_text("Outside")
        first.process.kill()
        first.process.wait()
    with served(tmp_path / "desk") as again, entered(browser, again) as opened:
        expect(opened.page.locator("table.flights tbody tr")).to_have_count(2)
        opened.page.get_by_role("link", name="strong_wind.csv").click()
        expect(opened.page.locator(".verdict").first).to_contain_text("Outside")


def by_space(page: Page, choosers: list[FileChooser]) -> FileChooser:
    """The choice of files that Space opens; a browser on a busy machine may miss one press, and a hand presses again."""
    for _ in range(3):
        page.keyboard.press("Space", delay=50)
        for _ in range(100):
            if choosers:
                return choosers[0]
            page.wait_for_timeout(100)
    raise AssertionError("Space opens no choice of files")


def test_by_keyboard_alone(browser: Browser, desk: Served):
    """The main way with Tab, Enter, Space and letters; a file is chosen in the system's own window, which Space opens."""
    (desk.folder / "procedures" / "vor24.toml").write_bytes(CHART.read_bytes())

    with entered(browser, desk) as opened:
        page = opened.page
        choosers: list[FileChooser] = []
        # asked for before any key, so that the browser surely knows by then that it is not to open a window of the system
        page.on("filechooser", lambda chooser: choosers.append(chooser))
        tab_to(page, "#files")
        by_space(page, choosers).set_files(STRONG_WIND)
        page.wait_for_url("**/flights/strong_wind.csv")
        tab_to(page, '[name="utc_offset"]')
        tab_to(page, "button.main")
        page.keyboard.press("Enter")
        page.wait_for_url("**/procedures")
        tab_to(page, "ul.choices button")
        page.keyboard.press("Enter")
        page.locator(".verdict").first.wait_for()
        tab_to(page, ".instant input")
        opened.go("/charts/new")
        tab_to(page, '[name="title"]')
        page.keyboard.type("Anywhere")
        tab_to(page, '[name="fix.kind"]')
        page.keyboard.type("n")
        assert page.input_value('[name="fix.kind"]') == "ndb"
        tab_to(page, '[name="reversal.inbound_course_deg"]')
        page.keyboard.type("241")
        opened.check_quiet()


def test_the_desk_ends_after_its_last_page(browser: Browser, tmp_path: Path):
    with served(tmp_path / "desk", "--while", "1") as desk:
        with entered(browser, desk) as opened:
            opened.go("/charts/new")
            time.sleep(3.0)
            assert desk.process.poll() is None  # from page to page it stays
        assert desk.process.wait(20) == 0


def test_a_hostile_log_is_text(browser: Browser, desk: Served, tmp_path: Path):
    log = tmp_path / "x.csv"
    evil = "<img src=x onerror=alert(1)>"
    log.write_text(f"time,latitude,longitude,{evil}\n2026-05-01T10:00:00Z,48.3,-24.7,{evil}\n" * 3, encoding="utf-8")
    with entered(browser, desk, viewport=HAND) as opened:
        opened.page.set_input_files("#files", log)
        opened.page.wait_for_url("**/flights/**")
        expect(opened.page.locator("main")).to_contain_text(evil)
        assert opened.page.locator("main img").count() == 0
        opened.check_quiet()

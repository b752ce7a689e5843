"""A class at the desk in a real browser: dropped, graded, remarked on and handed out; stopped and gone on with; by keyboard."""

import csv
import io
import re
import zipfile
from pathlib import Path

import openpyxl
import pytest
from desk_browser import entered, needs_chromium, tab_to
from desk_classes import LOGS, ROSTER, graded, many_alike, spring
from desk_served import CHART, SAMPLES, Served, served
from playwright.sync_api import Browser, Page, expect
from printed import read_pdf

pytestmark = needs_chromium

LONG_MS = 60_000.0
SOME = re.compile(r"^[1-9]\d* of 93 logs graded")


def saved(page: Page, text: str) -> bytes:
    """What a link downloads."""
    with page.expect_download() as download:
        page.get_by_text(text, exact=True).click()
    return Path(download.value.path()).read_bytes()


def names(page: Page) -> list[str]:
    """The names in the list, as far as they are shown, in order."""
    return [link.inner_text() for link in page.locator(".sifted tbody tr:visible th a").all()]


def graded_wholly(page: Page) -> None:
    expect(page.locator("#run-words")).to_have_text(re.compile(r"^(\d+) of \1 logs graded"), timeout=LONG_MS)
    expect(page.locator("#run")).to_have_attribute("data-under-way", "")
    expect(page.locator(".sifted")).to_be_visible(timeout=LONG_MS)


def test_from_logs_and_a_roster_to_sheets_and_a_workbook(browser: Browser, desk: Served, tmp_path: Path):
    (desk.folder / "procedures" / "vor24.toml").write_bytes(CHART.read_bytes())
    (tmp_path / "people.csv").write_text(ROSTER, encoding="utf-8")
    with entered(browser, desk) as opened:
        page = opened.page
        page.get_by_role("link", name="Classes").click()
        page.get_by_label("Name of the class").fill("Spring")
        page.get_by_role("button", name="Make the class").click()
        page.set_input_files("#files", [*(SAMPLES / log for log in LOGS), tmp_path / "people.csv"])
        expect(page.locator("h1 + p")).to_have_text("3 logs, 3 names in roster.csv.")
        page.get_by_label("Your name").fill("M. Halden")
        page.get_by_role("button", name="Save and grade").click()
        graded_wholly(page)
        # as README prints this class: two outside with 0%, the clean one inside with 100%
        expect(page.locator("#graded .verdict").first).to_have_text("3 approaches. 2 outside, 1 inside.", timeout=LONG_MS)
        assert names(page) == ["Bo Wendle", "Cy Tarn", "Ada Quorl"]
        expect(page.locator("figure[data-picture=plan] svg").first).to_be_visible()

        page.get_by_role("link", name="Cy Tarn").first.click()
        expect(page.locator(".who")).to_contain_text("Cy Tarn")
        expect(page.locator(".review")).to_contain_text("Computed: 0%: the distance limit fails the approach")
        expect(page.locator(".verdict.outside ~ .review")).to_be_visible()  # the verdict first
        expect(page.locator(".faults")).to_contain_text("1.48 NM beyond the limit of 10.0 NM")
        page.get_by_label("Changed to, in %").fill("62.5")
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.get_by_role("alert")).to_contain_text("needs a reason and your name")
        expect(page.get_by_label("Changed to, in %")).to_have_value("62.5")  # nothing that was typed is lost
        page.get_by_label("Reason, which is shown").fill("Gusts beyond the forecast.")
        page.get_by_label("Remark").fill("Turn back sooner.")
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.locator(".notice")).to_contain_text("mark or remark of strong_wind.csv changed")
        with page.expect_popup() as popup:  # in a tab of its own: the desk would end with its last page
            page.get_by_role("link", name="Student's sheet").click()
        sheet = popup.value.locator("body")
        for words in ("Cy Tarn", "62.5%", "Changed by M. Halden", "Computed: 0%", "Why:", "Try:", "Turn back sooner."):
            expect(sheet).to_contain_text(words)
        pdf = read_pdf(saved(page, "Sheet as PDF"))
        assert "Gusts beyond the forecast." in pdf.text

        page.get_by_label("Class", exact=True).get_by_role("link", name="Class Spring").click()
        row = page.locator(".sifted tbody tr", has_text="Cy Tarn")
        expect(row).to_contain_text("62.5%")
        expect(row).to_contain_text("Mark changed by M. Halden, computed 0%: Gusts beyond the forecast.")
        book = openpyxl.load_workbook(io.BytesIO(saved(page, "Workbook (XLSX)")))
        head, *others = [[cell.value for cell in line] for line in book["grades"].iter_rows()]
        marks = {line[head.index("name")]: line[head.index("mark_percent")] for line in others}
        assert marks == {"Ada Quorl": 100, "Bo Wendle": 0, "Cy Tarn": 62.5}
        table = list(csv.DictReader(io.StringIO(saved(page, "Grades (CSV)").decode("utf-8-sig"))))
        assert {line["name"]: line["instructor_remark"] for line in table} == {
            "Ada Quorl": "Good briefing.", "Bo Wendle": "", "Cy Tarn": "Turn back sooner. (M. Halden)",
        }  # fmt: skip
        page.get_by_role("button", name="Make all sheets").click()
        expect(page.get_by_text("All sheets (ZIP)")).to_be_visible(timeout=LONG_MS)
        with zipfile.ZipFile(io.BytesIO(saved(page, "All sheets (ZIP)"))) as file:
            assert sorted({name.rpartition(".")[2] for name in file.namelist()}) == ["html", "pdf"]
            assert len(file.namelist()) == 6
        opened.complaints = [text for text in opened.complaints if "422" not in text]  # of the form that was refused
        opened.check_quiet()


def test_what_is_refused_of_a_class_is_said_next_to_what_was_taken(browser: Browser, desk: Served, tmp_path: Path):
    """One file of a folder is empty: the others are there to be graded, and it is named."""
    (desk.folder / "procedures" / "vor24.toml").write_bytes(CHART.read_bytes())
    (tmp_path / "a blank.csv").write_bytes(b"")
    (tmp_path / "people.csv").write_text(ROSTER, encoding="utf-8")
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/classes")
        page.get_by_label("Name of the class").fill("Spring")
        page.get_by_role("button", name="Make the class").click()
        page.set_input_files("#files", [tmp_path / "a blank.csv", *(SAMPLES / log for log in LOGS), tmp_path / "people.csv"])
        expect(page.locator("h1 + p")).to_have_text("3 logs, 3 names in roster.csv.")
        expect(page.locator("#progress")).to_have_text("a blank.csv: the file is empty: export the log again")
        expect(page.get_by_role("button", name="Save and grade")).to_be_enabled()
        page.reload()
        expect(page.locator("#progress")).to_have_text("")  # said once
        opened.complaints = [text for text in opened.complaints if "400" not in text]  # of the file that was refused
        opened.check_quiet()


def test_an_excused_finding_is_struck_through_and_the_flight_marked_anew(browser: Browser, desk: Served):
    graded(spring(desk.folder))
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/classes/Spring/flights/strong_wind.csv")
        page.get_by_label("Excuse distance limit", exact=False).first.click()
        form = page.locator("details.excuse[open] form")
        form.get_by_label("Reason").fill("vectored for traffic")
        form.get_by_label("Excused by").fill("M. Halden")
        form.get_by_role("button", name="Excuse it").click()
        expect(page.locator("main")).to_contain_text("Excused by M. Halden")
        page.get_by_label("Class", exact=True).get_by_role("link", name="Class Spring").click()
        row = page.locator(".sifted tbody tr", has_text="Cy Tarn")
        expect(row.locator("s")).to_contain_text("1.48 NM beyond the limit", timeout=LONG_MS)
        expect(row).to_contain_text("vectored for traffic")
        expect(row.locator(".mark")).not_to_have_text("0%")
        expect(page.locator("#graded")).not_to_contain_text("to be graded again")
        opened.check_quiet()


def test_it_is_stopped_and_goes_on(browser: Browser, tmp_path: Path):
    files = spring(tmp_path / "desk", roster="")
    many_alike(files, 90)
    with served(tmp_path / "desk") as desk, entered(browser, desk) as opened:
        page = opened.page
        opened.go("/classes/Spring")
        page.get_by_role("button", name="Grade them").click()
        expect(page.locator("#run-words")).to_have_text(SOME, timeout=LONG_MS)
        page.get_by_role("button", name="Stop").click()
        expect(page.locator("#run-words")).to_contain_text("Stopped.")
        notice = page.locator("#graded .notice")
        expect(notice).to_contain_text("of 93 logs are not graded yet")
        waiting = int(notice.inner_text().split()[0])
        assert 0 < waiting < 93
        expect(page.locator(".sifted tbody tr")).to_have_count(93 - waiting)  # what is graded is seen
        page.reload()
        expect(notice).to_contain_text(f"{waiting} of 93")
        page.get_by_role("button", name="Go on").click()
        opened.go("/")  # other pages are open to it meanwhile
        expect(page.get_by_role("heading", name="Flights")).to_be_visible()
        opened.go("/classes/Spring")
        graded_wholly(page)
        expect(page.locator(".sifted tbody tr")).to_have_count(93, timeout=LONG_MS)
        opened.check_quiet()


def test_what_is_under_way_ends_with_the_desk(browser: Browser, tmp_path: Path):
    files = spring(tmp_path / "desk", roster="")
    many_alike(files, 90)
    with served(tmp_path / "desk") as desk:
        with entered(browser, desk) as opened:
            opened.go("/classes/Spring")
            opened.page.get_by_role("button", name="Grade them").click()
            expect(opened.page.locator("#run-words")).to_have_text(SOME, timeout=LONG_MS)
        desk.process.kill()
        desk.process.wait()
    with served(tmp_path / "desk") as desk, entered(browser, desk) as opened:
        opened.go("/classes/Spring")
        opened.page.get_by_role("button", name="Go on").click()  # which the first run would hinder if it went on
        graded_wholly(opened.page)


@pytest.fixture
def ready(browser: Browser, desk: Served):
    """The page of a class of three that is graded."""
    graded(spring(desk.folder))
    with entered(browser, desk) as opened:
        opened.go("/classes/Spring")
        yield opened
        opened.check_quiet()


def test_the_list_is_sorted_and_sifted_and_found_so_again(ready):
    page = ready.page
    page.get_by_role("button", name="Name").click()
    assert names(page) == ["Ada Quorl", "Bo Wendle", "Cy Tarn"]
    expect(page.locator("[data-sort=name]")).to_have_attribute("aria-sort", "ascending")
    page.get_by_role("button", name="Mark").click()
    assert names(page)[0] == "Ada Quorl"
    expect(page.locator("[data-sort=mark]")).to_have_attribute("aria-sort", "descending")
    page.get_by_role("button", name="Mark").click()
    assert names(page)[-1] == "Ada Quorl"
    page.get_by_label("Result", exact=True).select_option("Outside")
    assert sorted(names(page)) == ["Bo Wendle", "Cy Tarn"]
    expect(page.locator("#sift-count")).to_have_text("2 of 3")
    page.get_by_label("Find", exact=True).fill("distance")
    assert names(page) == ["Cy Tarn"]
    page.get_by_role("link", name="Cy Tarn").first.click()
    expect(page.locator(".who")).to_contain_text("Cy Tarn")
    page.go_back()
    expect(page.get_by_label("Find", exact=True)).to_have_value("distance")
    assert names(page) == ["Cy Tarn"]


def test_who_goes_through_a_class_and_marks_it_misses_nobody(browser: Browser, desk: Served):
    """The order is by name: a changed mark does not move a flight among those that are still to come."""
    graded(spring(desk.folder))
    with entered(browser, desk) as opened:
        page = opened.page
        opened.go("/classes/Spring")
        page.get_by_role("link", name="Ada Quorl").first.click()
        seen = []
        for _ in range(3):
            seen.append(page.locator(".who strong").inner_text())
            page.get_by_label("Changed to, in %").fill(str(90 - 20 * len(seen)))
            page.get_by_label("Reason, which is shown").fill("Flown as briefed.")
            page.get_by_label("Your name", exact=True).fill("M. Halden")
            page.get_by_role("button", name="Save", exact=True).click()
            expect(page.locator(".notice")).to_contain_text("mark or remark of")
            if page.get_by_role("link", name="Next").count():
                page.get_by_role("link", name="Next").click()
                page.wait_for_load_state()
        assert seen == ["Ada Quorl", "Bo Wendle", "Cy Tarn"]


def test_by_keyboard_alone(browser: Browser, desk: Served):
    """A class graded, a flight found, a mark changed and its sheet opened, with Tab, Enter and letters."""
    spring(desk.folder)

    with entered(browser, desk) as opened:
        page = opened.page
        tab_to(page, 'a[href="/classes"]')
        page.keyboard.press("Enter")
        page.wait_for_url("**/classes")
        tab_to(page, 'a[href="/classes/Spring"]')
        page.keyboard.press("Enter")
        page.wait_for_url("**/classes/Spring")
        tab_to(page, "#graded button.main")
        page.keyboard.press("Enter")
        graded_wholly(page)
        tab_to(page, "#sift-text")
        page.keyboard.type("cy")
        tab_to(page, ".sifted thead [data-sort=mark] button")
        page.keyboard.press("Enter")
        tab_to(page, ".sifted tbody a")
        page.keyboard.press("Enter")
        page.wait_for_url("**/strong_wind.csv")
        tab_to(page, "#mark-1")
        page.keyboard.type("70")
        tab_to(page, "#reason-1")
        page.keyboard.type("Gusts.")
        tab_to(page, "#by")
        page.keyboard.type("M. Halden")
        page.keyboard.press("Enter")
        expect(page.locator(".notice")).to_contain_text("mark or remark of")
        tab_to(page, 'a[href$="/sheet.html"]')
        with page.expect_popup() as popup:
            page.keyboard.press("Enter")
        expect(popup.value.locator(".mark")).to_have_text("70%")
        opened.check_quiet()


def test_two_instructors_at_two_desks_keep_what_each_said(browser: Browser, tmp_path: Path):
    graded(spring(tmp_path / "desk"))
    with (
        served(tmp_path / "desk") as one,
        served(tmp_path / "desk") as other,
        entered(browser, one) as first,
        entered(browser, other) as second,
    ):
        for opened in (first, second):
            opened.go("/classes/Spring/flights/strong_wind.csv")
        first.page.get_by_label("Remark").fill("Turn back sooner.")
        first.page.get_by_role("button", name="Save", exact=True).click()
        expect(first.page.locator(".notice")).to_contain_text("mark or remark of")
        second.page.get_by_label("Remark").fill("Well flown.")
        second.page.get_by_role("button", name="Save", exact=True).click()
        expect(second.page.get_by_role("alert")).to_contain_text("somebody else changed this")
        expect(second.page.get_by_label("Remark")).to_have_value("Well flown.")
    assert "Turn back sooner." in (tmp_path / "desk" / "classes" / "Spring" / "remarks.toml").read_text(encoding="utf-8")

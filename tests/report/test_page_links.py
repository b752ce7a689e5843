"""Rows of a page that can be linked to: what a link marks, and that approaches of one page keep to themselves."""

import pytest
from browsing import bar, boxes, dots, lines, minutes, needs_chromium, opened
from report_flights import seconds

pytestmark = needs_chromium
FLIGHT, TWO = "strong_wind.csv", "two_approaches.csv"


def finding(documents, check: str, approach: int = 0, flight: str = FLIGHT):
    return next(one for one in documents[flight]["reversals"][approach]["findings"] if one["check"] == check)


def clock(text: str) -> str:
    """An instant as the bar tells it: to the nearest second."""
    return f"{round(seconds(text)) // 3600 % 24:02d}:{round(seconds(text)) // 60 % 60:02d}:{round(seconds(text)) % 60:02d}"


def part_span(documents, part: str, approach: int = 0, flight: str = FLIGHT) -> tuple[float, float]:
    one = next(one for one in documents[flight]["reversals"][approach]["parts"] if one["part"] == part)
    return seconds(one["start"]), seconds(one["end"])


class Across:
    """Where instants lie across the strips, by the minutes that are written below them."""

    def __init__(self, page, approach: int = 0) -> None:
        stands = {int(text[:2]) * 3600 + int(text[3:]) * 60: x for text, x in minutes(page, approach).items()}
        self.first, *_, last = sorted(stands)
        self.left = stands[self.first]
        self.a_second = (stands[last] - self.left) / (last - self.first)

    def at(self, time_s: float) -> float:
        return self.left + (time_s % 86400.0 - self.first) * self.a_second


def marks(page, approach: int = 0) -> dict[str, list[tuple[float, ...]]]:
    """The boxes of all stretches that are marked, by picture."""
    return {picture: boxes(page, picture, ".marked > *", approach=approach) for picture in ("plan", "profile", "strips")}


def nothing_marked(page, approach: int = 0) -> bool:
    return not any(marks(page, approach).values())


def check_marked(page, documents, part: str, approach: int = 0, flight: str = FLIGHT) -> None:
    """In each strip a stretch from the part's beginning to its end; in the profile and along the track one each."""
    start, end = part_span(documents, part, approach, flight)
    found = marks(page, approach)
    assert (len(found["plan"]), len(found["profile"]), len(found["strips"])) == (1, 1, 7)
    across = Across(page, approach)
    for left, _, width, _ in found["strips"]:
        assert left == pytest.approx(across.at(start), abs=across.a_second + 0.5)
        assert left + width == pytest.approx(across.at(end), abs=across.a_second + 0.5)
    rows = [(top, bottom) for _, top, bottom in lines(page, "strips", approach)]
    for (_, top, _, height), row in zip(found["strips"], rows, strict=True):
        assert (top, top + height) == (pytest.approx(row[0], abs=0.6), pytest.approx(row[1], abs=0.6))


def follow(row) -> None:
    """The link of a row; the browser tells the page of it a moment later."""
    row.locator("a").first.click()
    row.and_(row.page.locator(".chosen")).wait_for()


@pytest.fixture
def page(browser, page_files):
    with opened(browser, page_files[FLIGHT]) as seen:
        yield seen.page
        assert seen.all_complaints() == []


def test_nothing_is_marked_at_first(page):
    assert nothing_marked(page)
    assert page.locator("[id].chosen").count() == 0


def test_the_link_of_what_is_outside_leads_to_its_instant(page, documents):
    outside = finding(documents, "distance_limit")
    follow(page.locator("li[id^=finding-distance_limit]"))
    (row,) = page.locator("[id].chosen").all()
    assert outside["sentence"] in row.inner_text()
    assert page.url.endswith(f"#{row.get_attribute('id')}")
    assert bar(page).clock == clock(outside["time"])
    assert bar(page).values["distance"] == pytest.approx(outside["measured"], abs=0.011)
    assert row.bounding_box()["y"] >= 0.0
    assert row.bounding_box()["y"] + row.bounding_box()["height"] <= page.evaluate("innerHeight")
    at = Across(page).at(seconds(outside["time"]))
    stretches = marks(page)["strips"]
    assert len(stretches) == 7
    assert all(left - 1.0 <= at <= left + width + 1.0 for left, _, width, _ in stretches)


@pytest.mark.parametrize("part", ["outbound", "offset_turn", "reversal_turn", "final"])
def test_the_link_of_a_part_marks_it(page, documents, part):
    follow(page.locator(f"#part-{part}"))
    check_marked(page, documents, part)
    start, end = part_span(documents, part)
    told = bar(page)
    assert told.part == part.replace("_", " ")
    told_s = sum(int(number) * unit for number, unit in zip(told.clock.split(":"), (3600, 60, 1), strict=True))
    assert start % 86400.0 <= told_s <= min(start + 1.5, end) % 86400.0


def test_the_track_is_marked_from_the_part_s_beginning_to_its_end(page, documents):
    follow(page.locator("#part-offset_leg"))
    ((left, top, width, height),) = marks(page)["plan"]
    start, end = part_span(documents, "offset_leg")
    slider = page.get_by_role("slider")
    shown = int(slider.input_value())
    places = []
    for number in (shown, shown + round(end - start)):
        slider.fill(str(number))
        places.append(dots(page, "plan")[0])
    (x1, y1), (x2, y2) = places
    assert (left, left + width) == (pytest.approx(min(x1, x2), abs=12.0), pytest.approx(max(x1, x2), abs=12.0))
    assert (top, top + height) == (pytest.approx(min(y1, y2), abs=12.0), pytest.approx(max(y1, y2), abs=12.0))


def test_another_link_marks_another_stretch_and_only_that(page, documents):
    follow(page.locator("#part-outbound"))
    follow(page.locator("#part-inbound"))
    check_marked(page, documents, "inbound")
    assert page.locator("[id].chosen").count() == 1


def test_it_is_there_again_after_a_reload(page, documents):
    follow(page.locator("#part-reversal_turn"))
    told = bar(page)
    page.reload()
    check_marked(page, documents, "reversal_turn")
    assert bar(page) == told
    assert page.locator("[id].chosen").get_attribute("id") == "part-reversal_turn"


def test_a_link_from_outside_opens_the_page_there(browser, page_files, documents):
    with opened(browser, page_files[FLIGHT], "#part-offset_leg") as seen:
        check_marked(seen.page, documents, "offset_leg")
        assert seen.all_complaints() == []


def test_escape_clears_and_the_same_link_marks_again(page, documents):
    follow(page.locator("#part-outbound"))
    page.keyboard.press("Escape")
    assert nothing_marked(page)
    assert page.locator("[id].chosen").count() == 0
    follow(page.locator("#part-outbound"))
    check_marked(page, documents, "outbound")


def test_links_work_from_the_keyboard(page, documents):
    page.locator("#part-outbound a").focus()
    page.keyboard.press("Enter")
    page.locator("[id].chosen").wait_for()
    check_marked(page, documents, "outbound")


@pytest.mark.parametrize("fragment", ["#nothing", "#part-%zz"])
def test_a_link_to_no_row_marks_nothing(browser, page_files, fragment):
    with opened(browser, page_files[FLIGHT], fragment) as seen:
        assert nothing_marked(seen.page)
        assert bar(seen.page).clock
        assert seen.all_complaints() == []


def test_every_finding_with_an_instant_leads_to_it(page, documents):
    told = documents[FLIGHT]["reversals"][0]["findings"]
    rows = page.locator("[id^='finding-']").evaluate_all("all => all.map((row) => [row.id, row.dataset.at, row.innerText])")
    assert len(rows) == len(told)
    for one in told:
        ((name, at),) = [(name, at) for name, at, text in rows if one["sentence"] in text]
        assert name.startswith(f"finding-{one['check']}")
        if one["time"] is not None:
            assert float(at) == pytest.approx(seconds(one["time"]), abs=0.6)


class TestTwoApproaches:
    """On one page, each with pictures, a bar and rows of its own."""

    @pytest.fixture
    def page(self, browser, page_files):
        with opened(browser, page_files[TWO]) as seen:
            yield seen.page
            assert seen.all_complaints() == []

    def test_moving_in_one_leaves_the_other_alone(self, page):
        first, second = bar(page, 0), bar(page, 1)
        page.get_by_role("slider").nth(1).fill("30")
        assert bar(page, 0) == first
        assert bar(page, 1) != second
        second, stand = bar(page, 1), lines(page, "strips", 1)
        figure = page.locator("section.approach >> nth=0 >> figure[data-picture=strips]")
        figure.scroll_into_view_if_needed()
        _, top, bottom = lines(page, "strips", 0)[0]
        page.evaluate("y => scrollBy(0, y - innerHeight / 3)", (top + bottom) / 2.0)
        _, top, bottom = lines(page, "strips", 0)[0]
        page.mouse.move(300.0, (top + bottom) / 2.0)
        assert bar(page, 0) != first
        assert bar(page, 1) == second
        assert [x for x, *_ in lines(page, "strips", 1)] == [x for x, *_ in stand]

    @pytest.mark.parametrize("approach", [0, 1])
    def test_a_link_marks_its_own_approach(self, page, documents, approach):
        before = bar(page, 1 - approach)
        follow(page.locator(f"section.approach >> nth={approach} >> tr[id^=part-reversal_turn]"))
        check_marked(page, documents, "reversal_turn", approach, TWO)
        assert nothing_marked(page, 1 - approach)
        assert bar(page, 1 - approach) == before
        assert bar(page, approach).part == "reversal turn"

    def test_a_link_in_one_clears_what_was_marked_in_the_other(self, page):
        for approach in (0, 1):
            follow(page.locator(f"section.approach >> nth={approach} >> tr[id^=part-outbound]").first)
        assert nothing_marked(page, 0)
        assert not nothing_marked(page, 1)

    def test_each_tells_its_own_hour(self, page):
        assert [bar(page, k).clock[:2] for k in (0, 1)] == ["09", "10"]

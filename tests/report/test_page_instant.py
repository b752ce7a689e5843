"""One instant in all pictures of a page: pointed at with the mouse or a finger, chosen with keys, and the values read there.

Where a picture is pointed at is told by the words along its scales, as the browser lays them out; what is read there is
compared with `Motion.to_frame` and with the simulator's record.
"""

import re
from datetime import UTC, datetime
from itertools import pairwise

import numpy as np
import pytest
from browsing import HAND, Bar, bar, boxes, dots, lines, minutes, needs_chromium, opened
from geographiclib.geodesic import Geodesic
from report_flights import FIX, NM, VARIATION_DEG, charted, from_fix, instant, seconds, truth

pytestmark = needs_chromium
FLIGHT = "strong_wind.csv"
QUANTITIES = ("distance", "deviation", "altitude", "vertical_speed", "speed", "bank", "turn_rate")


@pytest.fixture(scope="module")
def frame(debriefs):
    """The flight as a table, its instants in seconds since 1970."""
    table = debriefs[FLIGHT].motion.to_frame()
    table["s"] = [time.timestamp() for time in table["time"]]
    return table


@pytest.fixture
def seen(browser, page_files):
    with opened(browser, page_files[FLIGHT]) as seen:
        yield seen
        assert seen.all_complaints() == []


def second_of(told: Bar) -> float:
    """The instant that a bar tells, in seconds since 1970: within the day of the flight."""
    day = truth(FLIGHT)[0]["time_utc"][:10]
    return seconds(f"{day}T{told.clock}Z")


def expected(frame, time_s: float) -> dict[str, float]:
    """What should be read at an instant: the table interpolated there, courses magnetic."""
    at = {name: float(np.interp(time_s, frame["s"], frame[name])) for name in frame if name not in ("time", "s", "part")
          and np.issubdtype(frame[name].dtype, np.floating)}  # fmt: skip
    return {
        "altitude": at["altitude_ft"],
        "distance": at["distance_nm"],
        "ground speed": at["ground_speed_kt"],
        "bank": at["bank_deg"],
        "turn rate": at["turn_rate_deg_s"],
        "vertical speed": at["vertical_speed_fpm"],
        "track": (at["track_deg_true"] - VARIATION_DEG) % 360.0,
    }


DECIMALS = {"altitude": 0, "distance": 2, "ground speed": 0, "bank": 0, "turn rate": 1, "vertical speed": 0, "track": 0}


def check_values(told: Bar, frame) -> None:
    """Each value is the table's, rounded to its last place (and once before to a tenth of that)."""
    wanted = expected(frame, second_of(told))
    for words, decimals in DECIMALS.items():
        shown = told.values[words]
        assert shown is not None
        off = shown - wanted[words]
        if words == "track":
            off = (off + 180.0) % 360.0 - 180.0
        assert abs(off) <= 0.5501 * 10.0**-decimals, (words, shown, wanted[words])


def strip_rows(page) -> list[float]:
    """The middle height of each strip, from the top: that of the line at the instant."""
    return [(top + bottom) / 2.0 for _, top, bottom in lines(page, "strips")]


def test_pointing_at_a_minute_in_any_strip_shows_that_minute(seen, frame):
    page = seen.page
    page.locator("figure[data-picture=strips]").scroll_into_view_if_needed()
    stands = minutes(page)
    assert len(stands) >= 5
    rows = strip_rows(page)
    assert len(rows) == len(QUANTITIES)
    clocks = sorted(stands)
    for number in range(len(rows)):
        clock = clocks[1 + number % (len(clocks) - 2)]
        page.evaluate("y => scrollBy(0, y - innerHeight / 3)", strip_rows(page)[number])  # clear of the bar
        page.mouse.move(minutes(page)[clock], strip_rows(page)[number])
        told = bar(page)
        assert abs(second_of(told) - seconds(f"{truth(FLIGHT)[0]['time_utc'][:10]}T{clock}:00Z")) <= 1.0, QUANTITIES[number]
        check_values(told, frame)


def test_all_pictures_mark_the_same_instant(seen, frame):
    """All lines of the strips stand above each other, and the mark of each curve lies on that line."""
    page = seen.page
    slider = page.get_by_role("slider")
    last = int(slider.get_attribute("max"))
    for share in (0.12, 0.4, 0.55, 0.9):
        slider.fill(str(round(share * last)))
        stand = lines(page, "strips")
        assert len({round(x, 1) for x, *_ in stand}) == 1
        x = stand[0][0]
        minute = minutes(page)
        clock, off = min(((clock, x - at) for clock, at in minute.items()), key=lambda pair: abs(pair[1]))
        a, *_, b = sorted(minute)
        day = truth(FLIGHT)[0]["time_utc"][:10]
        a_second = (minute[b] - minute[a]) / (seconds(f"{day}T{b}:00Z") - seconds(f"{day}T{a}:00Z"))
        told = second_of(bar(page))
        assert told == pytest.approx(seconds(f"{day}T{clock}:00Z") + off / a_second, abs=1.0)
        for dot_x, dot_y in dots(page, "strips"):
            assert dot_x == pytest.approx(x, abs=0.6)
            assert any(top - 1.0 <= dot_y <= bottom + 1.0 for _, top, bottom in stand)
        check_values(bar(page), frame)


def test_marks_lie_on_the_curves(seen):
    """Under the mark in each picture something is drawn: the curve of the strip, the leg of the track and of the profile."""
    page = seen.page
    slider = page.get_by_role("slider")
    last = int(slider.get_attribute("max"))
    for share in (0.2, 0.5, 0.8):
        slider.fill(str(round(share * last)))
        for picture, count in (("plan", 1), ("profile", 1), ("strips", 7)):
            figure = page.locator(f"figure[data-picture={picture}] svg:visible")
            marks = figure.locator("circle.now:not([visibility=hidden])")
            # off the courses there is no deviation to mark
            assert count - 1 <= marks.count() <= count if picture == "strips" else marks.count() == count
            for number in range(marks.count()):
                assert marks.nth(number).evaluate(_ON_A_CURVE), (picture, share, number)


# whether the middle of a mark lies on the stroke of a curve, a pixel about it: of more points than a frame or a limit has
_ON_A_CURVE = """
(mark) => {
  const svg = mark.ownerSVGElement;
  const curves = [...svg.querySelectorAll("path")].filter((path) =>
    getComputedStyle(path).fill === "none" && (path.getAttribute("d").match(/[\\d.]+/g) || []).length > 5);
  for (const path of curves) path.style.strokeDasharray = "none";  // on a dotted curve a mark may lie between two dots
  const x = mark.cx.baseVal.value, y = mark.cy.baseVal.value;
  return curves.some((path) => [-0.7, 0, 0.7].some((dx) => [-0.7, 0, 0.7].some((dy) =>
    path.isPointInStroke(new DOMPoint(x + dx, y + dy)))));
}
"""


def test_pointing_at_the_profile_shows_where_that_distance_was_flown(seen, frame):
    """By the miles written below it, and the distance that the simulator flew, summed by geographiclib."""
    page = seen.page
    figure = page.locator("figure[data-picture=profile]")
    figure.scroll_into_view_if_needed()
    ((_, top, bottom),) = lines(page, "profile")
    below = [box for box in boxes(page, "profile", "text") if box[1] > bottom]
    words = [text.strip() for text in figure.locator("svg:visible text").all_text_contents()]
    assert "distance flown in this picture, NM" in words
    marks = {float(word): boxes(page, "profile", "text", word) for word in words if re.fullmatch(r"\d+", word)}
    scale = {miles: box[0] + box[2] / 2.0 for miles, found in marks.items() for box in found if box in below}
    assert len(scale) >= 6
    page.mouse.move(scale[min(scale)], (top + bottom) / 2.0)
    start = second_of(bar(page))
    places = [(seconds(row["time_utc"]), float(row["latitude_deg"]), float(row["longitude_deg"])) for row in truth(FLIGHT)]
    after = [row for row in places if row[0] >= start]
    steps = [Geodesic.WGS84.Inverse(*a[1:], *b[1:])["s12"] / NM for a, b in pairwise(after)]
    flown = np.concatenate([[0.0], np.cumsum(steps)])
    for miles in sorted(scale)[1:-1]:
        page.mouse.move(scale[miles], (top + bottom) / 2.0)
        told = bar(page)
        at = float(np.interp(second_of(told), [row[0] for row in after], flown))
        assert at == pytest.approx(miles - min(scale), abs=0.005 * miles + 0.08)  # a second's flight, and the receiver's error
        check_values(told, frame)


def test_pointing_at_the_track_shows_when_it_was_there(seen, frame):
    """Back and forth: the mark of an instant, pointed at, shows that instant; and it lies where the simulator was."""
    page = seen.page
    page.locator("figure[data-picture=plan]").scroll_into_view_if_needed()
    slider = page.get_by_role("slider")
    last = int(slider.get_attribute("max"))
    rows = []
    for share in np.linspace(0.05, 0.95, 9):
        slider.fill(str(round(float(share) * last)))
        ((x, y),) = dots(page, "plan")
        shown = bar(page)
        page.mouse.move(x, y)
        assert abs(second_of(bar(page)) - second_of(shown)) <= 2.0
        near = min(truth(FLIGHT), key=lambda row: abs(seconds(row["time_utc"]) - second_of(shown)))
        distance, bearing = from_fix(float(near["latitude_deg"]), float(near["longitude_deg"]))
        rows.append((x, y, distance * np.sin(np.radians(bearing)), distance * np.cos(np.radians(bearing))))
        check_values(bar(page), frame)
    x, y, east, north = np.array(rows).T
    # one scale for both directions, north up: x = x0 + k east, y = y0 - k north
    unknown = np.vstack([
        np.column_stack([np.ones_like(x), np.zeros_like(x), east]), np.column_stack([np.zeros_like(x), np.ones_like(x), -north])
    ])  # fmt: skip
    found, *_ = np.linalg.lstsq(unknown, np.concatenate([x, y]), rcond=None)
    assert found[2] > 10.0
    assert np.abs(unknown @ found - np.concatenate([x, y])).max() / found[2] < 0.07  # a second's flight


def test_off_course_is_the_angle_at_the_fix(seen):
    """Right positive, by the course that is flown: outbound beyond a mile from the fix."""
    page = seen.page
    slider = page.get_by_role("slider")
    told = []
    for k in range(0, int(slider.get_attribute("max")), 20):
        slider.fill(str(k))
        now = bar(page)
        if now.part in ("outbound", "inbound") and "off course" in now.values and now.values["distance"] > 1.0:
            told.append(now)
    assert {now.part for now in told} == {"outbound", "inbound"}
    course = charted()["reversal"]["outbound_course_deg"] + VARIATION_DEG
    for now in told:
        near = min(truth(FLIGHT), key=lambda row: abs(seconds(row["time_utc"]) - second_of(now)))
        bearing = Geodesic.WGS84.Inverse(*FIX, float(near["latitude_deg"]), float(near["longitude_deg"]))["azi1"]
        off = (bearing - course + 180.0) % 360.0 - 180.0
        right = off if now.part == "outbound" else -off
        assert now.values["off course"] == pytest.approx(right, abs=0.9)  # 12 m of the receiver at a mile, and rounding


def test_on_a_phone_it_leaves_the_page_its_room(browser, page_files):
    """At most a seventh and a bit of the height of a common phone, 390 by 844, and its words stay for those who listen."""
    with opened(browser, page_files[FLIGHT], viewport={"width": 390, "height": 844}) as seen:
        assert seen.page.locator(".instant").first.bounding_box()["height"] <= 0.15 * 844
        assert seen.page.get_by_role("slider", name="Instant").first.is_visible()
        assert seen.page.get_by_label("Speed").first.is_visible()


def test_keys_alone_reach_and_move_it(browser, page_files):
    """The slider of the HTML standard (and ARIA's slider pattern): arrows by one, Home and End to the ends, PageUp by more."""
    with opened(browser, page_files[FLIGHT]) as seen:
        page = seen.page
        for _ in range(3):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.type") == "range":
                break
        slider = page.get_by_role("slider", name="Instant")
        assert slider.evaluate("one => one === document.activeElement")
        first, last = 0, int(slider.get_attribute("max"))
        page.keyboard.press("Home")
        assert int(slider.input_value()) == first
        started = second_of(bar(page))
        for presses, key in ((3, "ArrowRight"), (2, "ArrowUp")):
            for _ in range(presses):
                page.keyboard.press(key)
        assert second_of(bar(page)) == pytest.approx(started + 5.0, abs=0.6)
        page.keyboard.press("ArrowLeft")
        assert int(slider.input_value()) == 4
        page.keyboard.press("PageUp")
        by_page = int(slider.input_value()) - 4
        assert by_page > 5
        page.keyboard.press("PageDown")
        assert int(slider.input_value()) == 4
        page.keyboard.press("End")
        assert int(slider.input_value()) == last
        assert second_of(bar(page)) == pytest.approx(instant(truth(FLIGHT)[-1]["time_utc"]).timestamp(), abs=1.0)
        assert seen.all_complaints() == []


def test_the_slider_says_its_value_in_words(seen):
    """A screen reader tells the instant and the values, not the number of the second."""
    page = seen.page
    slider = page.get_by_role("slider")
    said = set()
    for number in ("10", "300", "600"):
        slider.fill(number)
        text = slider.get_attribute("aria-valuetext")
        shown = page.locator(".reading").locator("strong, span").all_inner_texts()
        assert text == ", ".join(shown)
        for word in ("UTC", "altitude", "distance", "bank"):
            assert word in text
        said.add(text)
    assert len(said) == 3


@pytest.mark.parametrize("size", [HAND, None], ids=["hand", "desk"])
def test_a_finger_shows_an_instant_as_the_mouse_does(browser, page_files, frame, size):
    with opened(browser, page_files[FLIGHT], has_touch=True, **({"viewport": size, "is_mobile": True} if size else {})) as seen:
        page = seen.page
        figure = page.locator("figure[data-picture=strips]")
        figure.scroll_into_view_if_needed()
        page.evaluate("y => scrollBy(0, y - innerHeight / 3)", strip_rows(page)[0])
        width = page.evaluate("document.documentElement.clientWidth")
        inside = {clock: x for clock, x in minutes(page).items() if 60.0 < x < width - 30.0}
        clock = sorted(inside)[len(inside) // 2]
        page.touchscreen.tap(inside[clock], strip_rows(page)[0])
        told = bar(page)
        assert abs(second_of(told) - seconds(f"{truth(FLIGHT)[0]['time_utc'][:10]}T{clock}:00Z")) <= 1.5
        check_values(told, frame)
        assert seen.all_complaints() == []


def test_it_begins_at_the_farthest_point(seen, documents):
    farthest = documents[FLIGHT]["reversals"][0]["farthest"]
    told = bar(seen.page)
    assert second_of(told) == pytest.approx(seconds(farthest["time"]), abs=1.0)
    assert told.values["distance"] == pytest.approx(farthest["distance_nm"], abs=0.011)
    assert datetime.fromtimestamp(second_of(told), tz=UTC).strftime("%H:%M:%S") == told.clock

"""The replay: what the instruments show against the simulator's record and geographiclib, and how clock and keys move it.

The browser's own clock is driven by the test, so that seconds pass when it says so.
"""

import math
import re

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from browsing import BROAD, HAND, bar, check_phone, needs_chromium, opened
from report_flights import FT, NM, VARIATION_DEG, charted, from_fix, seconds, truth, truth_near

from analyzer.report.pages.instruments import Instruments, instruments_of
from analyzer.report.pictures.subject import Subject

FLIGHT = "strong_wind.csv"
INBOUND_DEG = float(charted()["reversal"]["inbound_course_deg"])
ELEVATION_FT = float(charted()["fix"].get("elevation_ft", 0.0))


def shown(debriefs, name: str) -> tuple[Instruments, np.ndarray]:
    debrief = debriefs[name]
    subject = Subject(debrief, debrief.approaches[0] if debrief.approaches else None)
    return instruments_of(subject), subject.states.time_s


def ten(time_s: np.ndarray) -> list[int]:
    return [int(k) for k in np.linspace(20, len(time_s) - 20, 10)]


@pytest.mark.parametrize("name", ["clean.csv", "strong_wind.csv", "early_descent.gpx"])
def test_the_needle_shows_how_far_off_the_course_the_recorded_place_is(debriefs, name):
    """By the bearing from the station; the log's places scatter by some metres."""
    instruments, time_s = shown(debriefs, name)
    assert (instruments.needle, instruments.full_scale) == ("VOR", "full scale 10°")  # AIM 1-1-3: 10° to either side
    for k in ten(time_s):
        row = truth_near(name, float(time_s[k]))
        distance_nm, bearing_deg = from_fix(float(row["latitude_deg"]), float(row["longitude_deg"]))
        scatter_deg = 0.3 + math.degrees(0.01 / distance_nm)
        to_deg = bearing_deg + 180.0 - VARIATION_DEG
        if not np.isfinite(instruments.share[k]):
            continue
        course = instruments.course_deg[k]
        assert course in (pytest.approx(INBOUND_DEG), pytest.approx((INBOUND_DEG + 180.0) % 360.0))
        to_course = math.remainder(to_deg - course, 360.0)
        assert instruments.toward[k] == (1.0 if abs(to_course) < 90.0 else -1.0)
        # inbound, right of the course the station lies to the left of it; outbound the radial is the course
        off = -to_course if abs(to_course) < 90.0 else math.remainder(to_deg + 180.0 - course, 360.0)
        assert instruments.share[k] * 10.0 == pytest.approx(off, abs=scatter_deg)


def test_the_needle_is_set_outbound_until_the_turn_back_and_not_known_on_arrival(debriefs):
    instruments, time_s = shown(debriefs, FLIGHT)
    parts = {part.name: part for part in debriefs[FLIGHT].approaches[0].reversal.parts}
    inside = {name: (time_s > part.start_s + 1.0) & (time_s < part.end_s - 1.0) for name, part in parts.items()}
    assert np.isnan(instruments.course_deg[inside["arrival"]]).all()
    for name in ("outbound", "offset_turn", "offset_leg"):
        assert instruments.course_deg[inside[name]] == pytest.approx((INBOUND_DEG + 180.0) % 360.0)
    for name in ("reversal_turn", "inbound", "final"):
        assert instruments.course_deg[inside[name]] == pytest.approx(INBOUND_DEG)


def test_the_minimum_is_that_of_the_chart_for_the_leg(debriefs):
    instruments, time_s = shown(debriefs, FLIGHT)
    for part in debriefs[FLIGHT].approaches[0].reversal.parts:
        here = instruments.minimum[(time_s > part.start_s + 1.0) & (time_s < part.end_s - 1.0)]
        wanted = charted()["altitudes"].get(f"{part.leg}_ft")
        if wanted is not None and part.leg != "final":
            assert here == pytest.approx(float(wanted))


def test_the_clock_runs_from_the_passage_recorded(debriefs):
    instruments, _ = shown(debriefs, FLIGHT)
    nearest = min(truth(FLIGHT)[:300], key=lambda row: from_fix(float(row["latitude_deg"]), float(row["longitude_deg"]))[0])
    assert instruments.passed_s[0] == pytest.approx(seconds(nearest["time_utc"]), abs=2.0)


def test_a_log_with_a_hole_says_that_nothing_was_measured_there(debriefs):
    instruments, _ = shown(debriefs, "with_gap.csv")
    (note,) = instruments.notes
    assert note == "The log has no position from 09:19:59 to 09:21:00: what moves there is drawn, not measured."
    assert shown(debriefs, "clean.csv")[0].notes == ()


def test_without_altitude_no_slant_range_is_known(debriefs):
    instruments, _ = shown(debriefs, "no_altitude.csv")
    assert not instruments.station.by_dme


def test_an_unrecognised_flight_has_its_instruments_too(debriefs):
    instruments, time_s = shown(debriefs, "arrival_only.csv")
    assert len(instruments.relative_deg) == len(time_s) > 50
    assert np.isfinite(instruments.share).all()


# --- in a browser ---


@pytest.fixture
def seen(browser, page_files):
    with opened(browser, page_files[FLIGHT], kept=False, viewport=BROAD) as seen:
        seen.page.clock.install(time=0)
        seen.page.reload()
        seen.page.clock.pause_at(60)  # s; from then on it runs only where a test lets it, however slow the machine is
        yield seen
        assert seen.all_complaints() == []


def clock_s(page) -> float:
    hours, minutes, rest = bar(page).clock.split(":")
    return int(hours) * 3600.0 + int(minutes) * 60.0 + int(rest)


def large(page, name: str) -> str:
    return page.locator(f".instruments [data-shows={name}] .large").inner_text()


def small(page, name: str) -> str:
    return page.locator(f".instruments [data-shows={name}] .small").inner_text()


@needs_chromium
@pytest.mark.parametrize("speed", [1, 4, 16])
def test_the_replay_runs_with_the_clock(seen, speed):
    page = seen.page
    page.locator(".instant select").select_option(str(speed))
    page.locator(".play").click()
    page.clock.run_for(100)
    begun = clock_s(page)
    page.clock.run_for(20_000)
    frames_s = 2.0 * 0.032  # at either end; and clocks show whole seconds
    assert clock_s(page) - begun == pytest.approx(20.0 * speed, abs=1.0 + speed * frames_s)
    page.locator(".play").click()
    paused = clock_s(page)
    page.clock.run_for(5_000)
    assert clock_s(page) == paused
    assert page.locator(".play").inner_text() == "Replay"


@needs_chromium
def test_it_begins_at_the_beginning_and_ends_at_the_end(seen):
    page = seen.page
    farthest = clock_s(page)
    page.locator(".instant select").select_option("16")
    page.locator(".play").click()
    page.clock.run_for(200)
    assert clock_s(page) < farthest - 240.0
    page.clock.run_for(120_000)
    slider = page.locator(".instant input")
    assert slider.input_value() == slider.get_attribute("max")
    assert page.locator(".play").inner_text() == "Replay"


@needs_chromium
def test_what_stands_there_at_ten_instants_is_what_the_figures_say(seen, debriefs):
    page = seen.page
    instruments, time_s = shown(debriefs, FLIGHT)
    altitude_ft = Subject(debriefs[FLIGHT], debriefs[FLIGHT].approaches[0]).series.altitude
    page.locator(".play").click()
    page.locator(".play").click()
    for k in ten(time_s):
        page.locator(".instant input").fill(str(k))
        row = truth_near(FLIGHT, float(time_s[k]))
        distance_nm, bearing_deg = from_fix(float(row["latitude_deg"]), float(row["longitude_deg"]))
        slant_nm = math.hypot(distance_nm, (float(row["altitude_ft"]) - ELEVATION_FT) * FT / NM)
        assert float(large(page, "station").removesuffix(" NM")) == pytest.approx(slant_nm, abs=0.08)  # to a tenth
        bears = int(re.fullmatch(r"DME WND, bears (\d{3})°", small(page, "station"))[1])
        wanted = bearing_deg + 180.0 - VARIATION_DEG
        assert math.remainder(bears - wanted, 360.0) == pytest.approx(0.0, abs=0.9 + math.degrees(0.01 / distance_nm))
        assert int(large(page, "altitude").removesuffix(" ft").replace(",", "")) == round(altitude_ft[k])
        above, way, minimum = re.fullmatch(r"([\d,]+) (above|below) ([\d,]+)", small(page, "altitude")).groups()
        sign = 1 if way == "above" else -1
        assert sign * int(above.replace(",", "")) == round(altitude_ft[k]) - round(instruments.minimum[k])
        assert int(minimum.replace(",", "")) == round(instruments.minimum[k])
        passed = [one for one in instruments.passed_s if one <= time_s[k]]
        if passed:
            minutes, rest = large(page, "fix").split(":")
            assert int(minutes) * 60 + int(rest) == pytest.approx(time_s[k] - passed[-1], abs=1.01)
        else:
            assert large(page, "fix") == "–"
        if np.isfinite(instruments.share[k]):
            hand = page.locator(".instruments [data-shows=needle] .hand").get_attribute("transform")
            moved = float(re.search(r"-?[\d.]+", hand)[0])
            assert moved == pytest.approx(
                -50.0 * np.clip(instruments.share[k], -1.0, 1.0), abs=0.31
            )  # to the other side, by steps of a hundredth
            words = "to" if instruments.toward[k] > 0 else "from"
            assert large(page, "needle") == f"{round(instruments.course_deg[k]):03d}° {words}"


@needs_chromium
def test_keys_play_and_step(seen):
    page = seen.page
    slider = page.locator(".instant input")
    slider.focus()
    page.keyboard.press(" ")
    assert page.locator(".play").inner_text() == "Pause"
    page.clock.run_for(2_000)
    page.keyboard.press(" ")
    before = clock_s(page)
    page.keyboard.press("ArrowRight")
    assert clock_s(page) == before + 1.0
    page.locator(".play").focus()
    page.keyboard.press("ArrowRight")
    assert clock_s(page) == before + 6.0
    page.keyboard.press("ArrowLeft")
    assert clock_s(page) == before + 1.0
    page.keyboard.press("Enter")
    assert page.locator(".play").inner_text() == "Pause"


@needs_chromium
def test_a_hole_is_named_next_to_the_instruments(browser, page_files):
    with opened(browser, page_files["with_gap.csv"]) as seen:
        page = seen.page
        page.locator(".play").click()
        assert "what moves there is drawn" in page.locator(".instruments .notes").inner_text()


@needs_chromium
def test_on_a_phone_it_fits_and_can_be_read(browser, page_files):
    with opened(browser, page_files[FLIGHT], viewport=HAND) as seen:
        page = seen.page
        page.locator(".play").click()
        page.locator(".play").click()
        check_phone(page, HAND["width"])
        bar_box = page.locator(".instant").bounding_box()
        assert bar_box["height"] <= 0.42 * HAND["height"] + 1.0
        assert seen.all_complaints() == []


@needs_chromium
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_rule_of_access_is_broken_with_the_instruments_open(browser, page_files, scheme):
    with opened(browser, page_files[FLIGHT], viewport=BROAD, color_scheme=scheme) as seen:
        seen.page.locator(".play").click()
        seen.page.locator(".play").click()
        violations = Axe().run(seen.page).response["violations"]
        assert [one["id"] for one in violations] == []

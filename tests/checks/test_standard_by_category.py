"""Limits by the approach category of the aircraft: which value applies, and that every limit may have one."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from checked import NOISY, PLAIN
from patterns import Pattern, fly_approach
from synthetic import Chart, Log

from analyzer import debrief
from analyzer.checks.finding import Finding
from analyzer.checks.limits import FROM_TURN, Standard
from analyzer.checks.standard import read_standard
from analyzer.errors import StandardError
from analyzer.library.debrief import Debrief
from analyzer.report.words.explain_text import explain_text

Written = Callable[[str], Path]
CATEGORIES = ("A", "B", "C", "D", "E", None)


@pytest.fixture
def written(tmp_path: Path) -> Written:
    """A function that writes a file based on a standard that ships."""

    def write(text: str, base: str = "faa-instrument") -> Path:
        path = tmp_path / "quorl_club.toml"
        path.write_text(f'based_on = "{base}"\n{text}', encoding="utf-8")
        return path

    return write


def flown(standard: Standard | str, category: str | None, pattern: Pattern = PLAIN, log: Log = NOISY) -> Debrief:
    """A pattern debriefed by a standard for a category; the charted minimums are 50 ft above the flight."""
    tables = {} if category is None else {"category": category}
    chart = Chart(floors_ft={"outbound": 3050.0, "reversal": 3050.0}, tables=tables)
    return debrief(log.of(fly_approach(pattern).flown), chart.at(), standard)


def first(flight: Debrief, check: str) -> Finding:
    return next(finding for finding in flight.approaches[0].findings if finding.check == check)


def test_values_by_category_and_the_general_one_for_the_rest(written):
    limit = read_standard(written("[reversal_speed]\nvalue = 180\nby_category = { A = 90, C = 150.5 }\n"))["reversal_speed"]
    assert [limit.for_category(c).value for c in CATEGORIES] == [90.0, 180.0, 150.5, 180.0, 180.0, 180.0]


def test_a_value_alone_applies_to_every_category_and_keeps_the_unit(written):
    limit = read_standard(written("[offset_time]\nvalue = 70\n", "icao-ops"))["offset_time"]
    assert {limit.for_category(c).value for c in CATEGORIES} == {70.0}
    assert limit.unit == FROM_TURN
    assert limit.source.startswith("set in quorl_club.toml, instead of 75: ICAO Doc 8168")


def test_categories_alone_leave_the_general_value(written):
    limit = read_standard(written("[turn_bank]\nby_category = { B = 20 }\n"))["turn_bank"]
    assert [limit.for_category(c).value for c in CATEGORIES] == [30.0, 20.0, 30.0, 30.0, 30.0, 30.0]
    assert (limit.unit, limit.seen) == ("deg", "none")
    assert limit.source.startswith("set in quorl_club.toml, instead of 30: FAA-H-8083-15B")


def test_categories_in_the_file_replace_those_of_the_base_standard(written):
    limit = read_standard(written("[reversal_speed]\nby_category = { A = 100 }\n", "icao-ops"))["reversal_speed"]
    assert [limit.for_category(c).value for c in CATEGORIES] == [100.0, *[250.0] * 5]


def test_a_value_by_category_is_named_and_others_are_unchanged(written):
    standard = read_standard(written("[reversal_speed]\nvalue = 180\nby_category = { A = 90 }\n"))
    general, own = standard["reversal_speed"], standard.for_category("A")["reversal_speed"]
    assert own == replace(general, value=90.0, meaning=f"{general.meaning} (category A)", by_category={})
    assert standard.for_category("B")["reversal_speed"] == general
    assert standard.for_category(None) == standard


def test_a_standard_takes_the_category_for_every_limit():
    icao = read_standard("icao-ops")
    values = {name: limit.value for name, limit in icao.for_category("B").limits.items()}
    # ICAO Doc 8168 Vol II I-4-3 3.5.4.1, table I-4-1-2 and table I-4-3-1; no other limit depends on the category
    assert {name: value for name, value in values.items() if value != icao[name].value} == {
        "offset_time": 60.0,
        "reversal_speed": 140.0,
        "outbound_descent": 804.0,
        "inbound_descent": 655.0,
    }
    assert replace(icao.for_category("B"), limits=icao.limits) == icao


@pytest.mark.parametrize("table", ["{ F = 100 }", "{ a = 100 }", "{ AB = 100 }", "{ A = 100, 1 = 100 }", "100", "[100]"])
def test_an_unknown_category_is_refused(written, table):
    with pytest.raises(
        StandardError, match=r"quorl_club\.toml: \[reversal_speed(\.by_category\]|\] by_category =).*accepted: "
    ):
        read_standard(written(f"[reversal_speed]\nvalue = 200\nby_category = {table}\n"))


@pytest.mark.parametrize(
    ("limit", "value", "check"),
    [
        ("turn_bank", 10, "turn_bank"),  # 3°/s at 120 kt requires 18.2° of bank
        ("reversal_speed", 100, "speed_limit"),  # 120 kt true at 3,000 ft are about 115 kt indicated
    ],
)
def test_any_limit_may_depend_on_the_category_of_the_procedure(written, limit, value, check):
    own = read_standard(written(f"[{limit}]\nby_category = {{ B = {value} }}\n"))
    verdicts = {category: first(flown(own, category), check).verdict for category in ("A", "B", None)}
    assert verdicts == {"A": "inside", "B": "outside", None: "inside"}


def test_a_minimum_may_be_lowered_by_category(written):
    own = read_standard(written("[altitude_floor]\nby_category = { B = 100 }\n"))  # the flight is 50 ft below the minimum
    verdicts = {category: first(flown(own, category), "altitude_floor").verdict for category in ("A", "B", None)}
    assert verdicts == {"A": "outside", "B": "inside", None: "outside"}


def test_the_explanation_shows_the_category_s_value(written):
    own = read_standard(written("[turn_bank]\nby_category = { B = 20 }\n"))
    for category, limit, words in (("A", "30°", False), ("B", "20°", True)):
        text = " ".join(explain_text(flown(own, category), "turn_bank").split())
        assert f"turn bank {limit}: " in text
        assert ("(category B)" in text) == words


@pytest.mark.parametrize(("category", "limit", "verdict"), [("A", 110, "outside"), ("B", 140, "inside"), (None, 250, "inside")])
def test_the_speed_depends_on_the_category_of_the_procedure(category, limit, verdict):
    # ICAO Doc 8168 table I-4-1-2. In the standard atmosphere at 5,000 ft, 129.17 kt true are 120 kt calibrated.
    flight = flown("icao-ops", category, replace(PLAIN, speed_kt=129.17), replace(NOISY, altitude_ft=5000.0))
    finding = first(flight, "speed_limit")
    assert finding.measured == pytest.approx(120.0, abs=2.0)
    assert (finding.limit, finding.verdict) == (limit, verdict)
    assert "ICAO Doc 8168" in finding.source


@pytest.mark.parametrize(("category", "seconds"), [("A", 60), ("C", 75)])
def test_icao_times_the_offset_leg_from_the_start_of_its_turn(category, seconds):
    # ICAO Doc 8168 Vol II I-4-3 3.5.4.1: 1 min for A and B, 1 min 15 s for C to E, from the start of the turn;
    # FAA-H-8083-15B figure 7-42: 40 s wings level.
    pattern = replace(PLAIN, leg_s=45.0, intercept=True)
    begin = fly_approach(pattern).begin
    icao, faa = (first(flown(name, category, pattern), "offset_time") for name in ("icao-ops", "faa-instrument"))
    assert (icao.limit, faa.limit) == (seconds, 40)
    assert icao.measured == pytest.approx(begin("reversal_turn") - begin("offset_turn"), abs=1.5)
    assert faa.measured == pytest.approx(45.0, abs=1.5)
    assert icao.verdict == faa.verdict == "not assessed"  # AIM 5-4-9 a.1: the pilot's choice

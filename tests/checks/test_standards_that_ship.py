"""Every limit of every standard that ships, against its publication; checks and limits refer to each other consistently."""

from collections.abc import Callable
from dataclasses import field
from pathlib import Path

import pytest

from analyzer import debrief, read_procedure, read_track
from analyzer.checks.finding import Context
from analyzer.checks.limits import SEEN, Limit, Standard
from analyzer.checks.run import CHECKS, LIMITS, OPTIONAL_LIMITS
from analyzer.checks.standard import built_in_standards, read_standard
from analyzer.frozen import dataclass
from analyzer.vocabulary import CHECK_NAMES

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
BASE = "faa-instrument"
NO_SOURCE = "common practice, no source"
CATEGORIES = "ABCDE"

# Standard and limit: value, unit, the place cited, and how that publication was read. The FAA's manual, handbooks and glossary,
# ICAO's design criteria and the UK's Part-FCL were read themselves; both FAA test standards in transcriptions; other figures of
# ICAO where quoted.
PUBLISHED = {
    # AIM 5-4-9 a.3: normally within 10 NM
    (BASE, "reversal_distance"): (10, "NM", "AIM 5-4-9 a.3", "publication"),
    # AIM 5-4-9 a: the altitude of the procedure turn is a minimum; no test standard lowers it
    (BASE, "altitude_floor"): (0, "ft", "AIM 5-4-9 a", "publication"),
    # FAA-S-ACS-8C, before the final segment: altitude ±100 ft, heading ±10°, airspeed ±10 kt, three quarters of full scale;
    # IR.V.A: S5 is airspeed, altitude and heading, S6 tracking
    (BASE, "maximum_altitude"): (100, "ft", "IR.VI.A.S9", "transcription"),
    (BASE, "heading"): (10, "deg", "IR.VI.A.S9", "transcription"),
    (BASE, "airspeed"): (10, "kt", "IR.V.A.S5 and IR.VI.A.S9", "transcription"),
    (BASE, "course_deviation"): (0.75, "of full scale", "IR.V.A.S6 and IR.VI.A.S9", "transcription"),
    # FAA-S-ACS-8C, holding procedures: no more than three quarters of full scale
    (BASE, "hold_course"): (0.75, "of full scale", "IR.III.B.S4", "transcription"),
    # FAA-S-ACS-8C, final of a nonprecision approach: MDA +100/-0 ft; of a precision approach: three quarters of both scales
    (BASE, "minimum_descent_altitude"): (0, "ft", "IR.VI.A.S12", "transcription"),
    # 14 CFR 91.175(c) and (e): below a decision altitude only with the runway in sight; quoted in the FAA's handbooks
    (BASE, "decision_altitude"): (0, "ft", "91.175(c) and (e)", "secondary"),
    (BASE, "minimum_above"): (100, "ft", "IR.VI.A.S12", "transcription"),
    (BASE, "final_airspeed"): (10, "kt", "IR.VI.A.S12", "transcription"),
    (BASE, "final_course"): (0.75, "of full scale", "IR.VI.A.S12 and IR.VI.B.S12", "transcription"),
    (BASE, "glide_path"): (0.75, "of full scale", "IR.VI.B.S12", "transcription"),
    # handbooks give 1.4° overall
    (BASE, "glide_path_full_scale"): (0.7, "deg", "1.4°", "memory"),
    # FAA-S-ACS-8C, flight by instruments: ±100 ft; intercepting and tracking: DME arc ±1 NM
    (BASE, "altitude_hold"): (100, "ft", "IR.IV.A.S1", "transcription"),
    (BASE, "arc_radius"): (1, "NM", "IR.V.A.S6", "transcription"),
    # FAA-H-8083-15B chapter 7: bank not above 30° in a procedure turn; figure 7-42: 40 s on the leg at 45°
    (BASE, "turn_bank"): (30, "deg", "FAA-H-8083-15B", "publication"),
    (BASE, "offset_time"): (40, "s", "fig. 7-42", "publication"),
    # Pilot/Controller Glossary, Standard Rate Turn: 3°/s
    (BASE, "turn_rate"): (3, "deg/s", "Standard Rate Turn", "publication"),
    (BASE, "overshoot"): (1, "NM", NO_SOURCE, "none"),
    # AIM 5-4-9 a.3: 200 KIAS until the procedure turn is complete
    (BASE, "reversal_speed"): (200, "kt", "AIM 5-4-9 a.3", "publication"),
    # AIM 5-3-8 j.2: 200, 230 and 265 kt, by altitude, see below
    (BASE, "holding_speed"): (265, "kt", "AIM 5-3-8 j.2", "publication"),
    # ICAO Doc 8168 Vol I 2.4.4: the cone is 50° from the vertical for a VOR, 40° for an NDB
    (BASE, "station_passage"): (1, "of the cone", "2.4.4", "publication"),
    # AIM 5-3-8 j.8(d): by the heading at the fix, ±5° is good practice
    (BASE, "hold_entry"): (5, "deg", "AIM 5-3-8 j.8(d)", "publication"),
    # ICAO Doc 8168 Vol II I-4-3-7 h: outbound timing ±10 s; the AIM has no tolerance in seconds
    (BASE, "hold_timing"): (10, "s", "I-4-3-7 h", "publication"),
    # AIM 1-1-7 b: half a mile or 3 %, whichever is greater
    (BASE, "hold_length"): (0.5, "NM", "AIM 1-1-7 b", "publication"),
    # AIM 5-4-20 c and Pilot/Controller Glossary, Straight-in Landing: within 30°
    (BASE, "final_alignment"): (30, "deg", "AIM 5-4-20 c", "publication"),
    # FAA-H-8083-16B chapter 4: more than about 1,000 ft/min below 1,000 ft is unacceptable
    (BASE, "stabilised_descent"): (1000, "fpm", "FAA-H-8083-16B", "publication"),
    # FAA-S-ACS-11A, before the final segment: altitude ±100 ft, heading ±5°, airspeed ±10 kt; on final: MDA +50/-0 ft, a
    # quarter of full scale, airspeed ±5 kt
    ("faa-transport", "maximum_altitude"): (100, "ft", "AA.VI.D.S9", "transcription"),
    ("faa-transport", "minimum_above"): (50, "ft", "AA.VI.D.S12", "transcription"),
    ("faa-transport", "airspeed"): (10, "kt", "AA.VI.D.S9", "transcription"),
    ("faa-transport", "final_airspeed"): (5, "kt", "AA.VI.D.S12", "transcription"),
    ("faa-transport", "final_course"): (0.25, "of full scale", "AA.VI.D.S12 and AA.VI.E.S12", "transcription"),
    ("faa-transport", "altitude_hold"): (100, "ft", "AA.VI.D.S9", "transcription"),
    ("faa-transport", "heading"): (5, "deg", "AA.VI.D.S9", "transcription"),
    ("faa-transport", "minimum_descent_altitude"): (0, "ft", "AA.VI.D.S12", "transcription"),
    ("faa-transport", "glide_path"): (0.25, "of full scale", "AA.VI.E.S12", "transcription"),
    # ICAO Doc 8168 Vol I as quoted of FAA-H-8261-1 p. 4-6: established within half of full scale
    ("icao-ops", "course_deviation"): (0.5, "of full scale", "FAA-H-8261-1, p. 4-6", "secondary"),
    ("icao-ops", "hold_course"): (0.5, "of full scale", "FAA-H-8261-1, p. 4-6", "secondary"),
    # ICAO Doc 8168 Vol II I-4-3-7 h: heading ±5°; f: bank 25° or 3°/s
    ("icao-ops", "heading"): (5, "deg", "I-4-3-7 h", "publication"),
    ("icao-ops", "average_bank"): (25, "deg", "I-4-3-7 f", "publication"),
    ("icao-ops", "average_bank_tolerance"): (2, "deg", NO_SOURCE, "none"),
    ("icao-ops", "final_course"): (0.5, "of full scale", "FAA-H-8261-1, p. 4-6", "secondary"),
    # ICAO Doc 8168 Vol II I-4-3 3.5.3: entry within ±30° of the outbound track; 3.4.4 and 3.4.5: a racetrack is 1 to 3 min, the
    # offset track of a sector 2 entry 1 min 30 s at most; table I-4-3-1: descents, by category
    ("icao-ops", "entry_sector"): (30, "deg", "3.5.3", "publication"),
    ("icao-ops", "racetrack_time"): (180, "s", "3.4.4", "publication"),
    ("icao-ops", "offset_track_time"): (90, "s", "3.4.5", "publication"),
    ("icao-ops", "outbound_descent"): (1197, "fpm", "table I-4-3-1", "publication"),
    ("icao-ops", "inbound_descent"): (1000, "fpm", "table I-4-3-1", "publication"),
    # ICAO's holding speeds, as a State AIP restates them: by altitude, see below
    ("icao-ops", "holding_speed"): (265, "kt", "ENR 1.5", "secondary"),
    ("icao-ops", "holding_speed_ab"): (265, "kt", "ENR 1.5", "secondary"),
    # ICAO's rule for reversals as well as for holds, rather than one of each authority
    ("part-fcl", "reversal_speed"): (250, "kt", "table I-4-1-2", "secondary"),
    ("part-fcl", "holding_speed"): (265, "kt", "ENR 1.5", "secondary"),
    ("part-fcl", "holding_speed_ab"): (265, "kt", "ENR 1.5", "secondary"),
    # UK retained Part-FCL, Appendix 7: height ±100 ft; MDH/A +50/-0 ft; radio aids ±5°, half scale; heading ±5°; speed ±5 kt
    ("part-fcl", "maximum_altitude"): (100, "ft", "Appendix 7", "publication"),
    ("part-fcl", "altitude_hold"): (100, "ft", "Appendix 7", "publication"),
    ("part-fcl", "minimum_descent_altitude"): (0, "ft", "Appendix 7", "publication"),
    ("part-fcl", "decision_altitude"): (0, "ft", "go-around at decision height or altitude +50/-0", "publication"),
    ("part-fcl", "minimum_above"): (50, "ft", "Appendix 7", "publication"),
    ("part-fcl", "course_deviation"): (0.5, "of full scale", "Appendix 7", "publication"),
    ("part-fcl", "hold_course"): (0.5, "of full scale", "Appendix 7", "publication"),
    ("part-fcl", "final_course"): (0.5, "of full scale", "Appendix 7", "publication"),
    ("part-fcl", "glide_path"): (0.5, "of full scale", "Appendix 7", "publication"),
    ("part-fcl", "heading"): (5, "deg", "Appendix 7", "publication"),
    ("part-fcl", "airspeed"): (5, "kt", "Appendix 7", "publication"),
    ("part-fcl", "final_airspeed"): (5, "kt", "Appendix 7", "publication"),
    # ICAO Doc 8168 Vol II I-4-3 3.5.4.1; table I-4-1-2: by category, see below; where none is known, the widest
    ("icao-ops", "offset_time"): (75, "s from the start of the turn", "3.5.4.1", "secondary"),
    ("icao-ops", "reversal_speed"): (250, "kt", "table I-4-1-2", "secondary"),
    ("common-practice", "course_deviation"): (0.5, "of full scale", NO_SOURCE, "none"),
    ("common-practice", "hold_course"): (0.5, "of full scale", NO_SOURCE, "none"),
    ("common-practice", "offset_time"): (38, "s", NO_SOURCE, "none"),
    ("common-practice", "overshoot"): (0.5, "NM", NO_SOURCE, "none"),
    ("common-practice", "stabilised_descent"): (1000, "fpm", NO_SOURCE, "none"),
}
BY_CATEGORY = {
    "offset_time": (60, 60, 75, 75, 75),  # 1 min from the start of the turn for A and B, 1 min 15 s for C to E
    "reversal_speed": (110, 140, 240, 250, 250),  # greatest in a reversal: ICAO Doc 8168 table I-4-1-2
    "outbound_descent": (804, 804, 1197, 1197, 1197),  # ICAO Doc 8168 Vol II table I-4-3-1
    "inbound_descent": (655, 655, 1000, 1000, 1000),
}
# Altitude and greatest speed: AIM 5-3-8 j.2; ICAO's as State AIPs restate them, for all and for categories A and B alone.
AIM_SPEEDS = ((1000, 200), (6000, 200), (6100, 230), (14_000, 230), (14_100, 265), (30_000, 265))
ICAO_SPEEDS = ((6000, 230), (14_000, 230), (14_100, 240), (20_000, 240), (20_100, 265), (34_000, 265))
BY_ALTITUDE = {
    ("faa-instrument", "holding_speed"): AIM_SPEEDS,
    ("faa-transport", "holding_speed"): AIM_SPEEDS,
    ("icao-ops", "holding_speed"): ICAO_SPEEDS,
    ("part-fcl", "holding_speed"): ICAO_SPEEDS,
    ("icao-ops", "holding_speed_ab"): ((14_000, 170), (14_100, 240)),
}
EVERY_LIMIT = [(standard, limit) for standard in built_in_standards() for limit in read_standard(standard).limits]


@pytest.mark.parametrize(("standard", "limit"), PUBLISHED)
def test_a_limit_equals_the_publication_and_cites_it(standard, limit):
    value, unit, cited, seen = PUBLISHED[standard, limit]
    given = read_standard(standard)[limit]
    assert (given.value, given.unit, given.seen) == (value, unit, seen)
    assert cited in given.source


@pytest.mark.parametrize("standard", built_in_standards())
def test_the_table_above_covers_every_limit_of_every_standard(standard):
    assert {limit for name, limit in PUBLISHED if name == standard} == set(read_standard(standard).own)


def test_the_instrument_rating_gives_every_mandatory_limit_and_the_others_are_based_on_it():
    assert set(built_in_standards()) == {standard for standard, _ in PUBLISHED}
    assert set(read_standard(BASE).own) == set(LIMITS) - OPTIONAL_LIMITS
    assert {read_standard(name).based_on for name in built_in_standards() if name != BASE} == {BASE}


@pytest.mark.parametrize(("standard", "limit"), [pair for pair in EVERY_LIMIT if pair not in PUBLISHED])
def test_other_limits_are_those_of_the_instrument_rating(standard, limit):
    value, unit, cited, seen = PUBLISHED[BASE, limit]
    given = read_standard(standard)[limit]
    assert (given.value, given.unit, given.seen) == (value, unit, seen)
    assert cited in given.source


@pytest.mark.parametrize(("standard", "limit"), EVERY_LIMIT)
def test_every_limit_says_what_it_means_and_whether_there_is_a_source(standard, limit):
    given = read_standard(standard)[limit]
    assert len(given.meaning.split()) > 1
    assert not given.meaning.endswith(".")
    assert given.seen in SEEN
    assert (given.seen == "none") == (given.source == NO_SOURCE)


@pytest.mark.parametrize("limit", BY_CATEGORY)
@pytest.mark.parametrize("category", CATEGORIES)
def test_icao_s_figures_depend_on_the_category(limit, category):
    assert read_standard("icao-ops")[limit].for_category(category).value == BY_CATEGORY[limit][CATEGORIES.index(category)]


@pytest.mark.parametrize(("standard", "limit"), EVERY_LIMIT)
def test_no_other_limit_depends_on_the_category(standard, limit):
    given = read_standard(standard)[limit]
    if (standard, limit) not in {*(("icao-ops", name) for name in BY_CATEGORY), ("part-fcl", "reversal_speed")}:
        assert [given.for_category(category) for category in (*CATEGORIES, None)] == [given] * 6


@pytest.mark.parametrize(("standard", "limit"), BY_ALTITUDE)
def test_the_speeds_of_holds_depend_on_altitude(standard, limit):
    given = read_standard(standard)[limit]
    for altitude_ft, speed_kt in BY_ALTITUDE[standard, limit]:
        assert given.at_altitude(altitude_ft) == speed_kt


@pytest.mark.parametrize(("standard", "limit"), EVERY_LIMIT)
def test_no_other_limit_depends_on_altitude(standard, limit):
    assert bool(read_standard(standard)[limit].by_altitude_ft) == limit.startswith("holding_speed")


@pytest.mark.parametrize("standard", built_in_standards())
def test_no_standard_lowers_a_charted_minimum(standard):
    # AIM 5-4-9 a: a minimum until established inbound; the test standards' tolerances are +100/-0, +50/-0 at the lowest one
    assert read_standard(standard)["altitude_floor"].value == 0.0
    assert read_standard(standard)["minimum_descent_altitude"].value == 0.0


@pytest.mark.parametrize("standard", built_in_standards())
def test_no_standard_requires_more_bank_than_it_allows(standard):
    # FAA-H-8083-15B chapter 7: 30° at most; ICAO Doc 8168 Vol II I-4-3-7 f: 25° on average, required by its own standard only
    given = read_standard(standard)
    assert given["turn_bank"].value == 30.0
    least = given.get("average_bank")
    assert (least is not None) == (standard == "icao-ops")
    assert least is None or least.value < given["turn_bank"].value


@pytest.mark.parametrize("limit", ["altitude_floor", "hold_timing", "reversal_distance", "holding_speed", "hold_length"])
def test_an_ambiguous_rule_states_its_reading(limit):
    assert len(read_standard(BASE)[limit].reading.split()) > 5


def test_every_check_has_a_row():
    assert tuple(CHECKS) == CHECK_NAMES
    assert all(check.name == name for name, check in CHECKS.items())


@pytest.mark.parametrize("check", CHECKS)
def test_a_check_is_described_and_uses_existing_limits(check):
    definition = CHECKS[check]
    for words in (definition.text, definition.formula):
        assert words[0].isupper() or words.startswith("tan(bank)")
        assert words.endswith(".")
    assert set(definition.limits) <= set(LIMITS)
    assert len(set(definition.limits)) == len(definition.limits)


def test_a_limit_used_by_two_checks_has_the_same_units():
    for check in CHECKS.values():
        assert all(LIMITS[name] == units for name, units in check.limits.items())


@dataclass(frozen=True)
class Asked(Standard):
    """A standard that records which of its limits are used."""

    names: set[str] = field(default_factory=set)

    def __getitem__(self, name: str) -> Limit:
        self.names.add(name)
        return super().__getitem__(name)


@pytest.fixture(scope="module")
def asked_for() -> Callable[[str], set[str]]:
    """The limits that each check uses on a sample flight."""
    flown = debrief(read_track(SAMPLES / "clean.csv"), read_procedure(SAMPLES / "wendle_island_vor24.toml"))
    approach, given = flown.approaches[0], flown.standard

    def of(check: str) -> set[str]:
        asked = Asked(given.name, given.title, given.based_on, given.limits, given.own)
        CHECKS[check].function(Context(flown.motion, approach.reversal, approach.figures, asked))
        return asked.names

    return of


@pytest.mark.parametrize("check", CHECKS)
def test_a_check_uses_only_the_limits_it_lists(asked_for, check):
    assert asked_for(check) <= set(CHECKS[check].limits)


def test_the_flight_exercises_most_checks(asked_for):
    """Otherwise the test above would be empty."""
    assert len(set().union(*map(asked_for, CHECKS))) >= 12

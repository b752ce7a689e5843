"""Fields of coded records, against the examples that the standard's field notes give, and against its words for each code."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from islands import encode, with_columns

from analyzer.procedure.coded.fields import Course, FieldError, Levels, course, latitude, levels, longitude, variation
from analyzer.procedure.coded.leg import leg_of

FIX = ("DORVA", "EA")


def record(**changed):
    return encode.leg("S24", "S", 20, "CF", FIX, **changed)


@pytest.mark.parametrize(
    ("text", "expected"),
    # 5.26 has 2760, 0231 and 194T as examples; T stands for degrees true
    [("2760", Course(276.0)), ("0231", Course(23.1)), ("194T", Course(194.0, true=True)), ("    ", None)],
)
def test_courses(text, expected):
    assert course(with_columns(" " * 132, 71, text), "the course", 71, 74) == expected


@pytest.mark.parametrize(
    ("text", "east"),
    # 5.39 and 5.66: E0140 and T0000 are examples; G is grid north, for which no magnetic course is known
    [("E0140", 14.0), ("E0000", 0.0), ("W0131", -13.1), ("T0000", 0.0), ("G0000", None), ("     ", None)],
)
def test_declinations(text, east):
    read = variation(with_columns(" " * 132, 75, text), "the declination", 75)
    assert read == (None if east is None else pytest.approx(east))


def test_a_position_as_the_standard_prints_one():
    # the airport record of the standard's own example: 47°26'57.00" N, 122°18'29.10" W
    text = with_columns(" " * 132, 33, "N47265700W122182910")
    assert latitude(text, 33) == pytest.approx(47.0 + 26.0 / 60.0 + 57.0 / 3600.0, abs=1e-9)
    assert longitude(text, 42) == pytest.approx(-(122.0 + 18.0 / 60.0 + 29.1 / 3600.0), abs=1e-9)


@given(st.floats(-90.0, 90.0), st.floats(-180.0, 180.0))
def test_positions_read_back(lat, lon):
    text = with_columns(" " * 132, 33, encode.place((lat, lon)))
    half = 0.5 / 360_000.0 + 1e-12  # of a hundredth of a second
    assert latitude(text, 33) == pytest.approx(lat, abs=half)
    assert longitude(text, 42) == pytest.approx(lon, abs=half)


@pytest.mark.parametrize(
    ("code", "expected"),
    # the words of 5.29: at or above the first; at or below it; at it; between the two; at or above the second
    [
        ("+", Levels(3000.0, None)),
        ("-", Levels(None, 3000.0)),
        ("@", Levels(3000.0, 3000.0)),
        (" ", Levels(3000.0, 3000.0, described=False)),
        ("B", Levels(2400.0, 3000.0)),
        ("C", Levels(2400.0, None)),
        # G and H: the second is the glide slope's at the final approach fix; I and J: that of its intercept
        ("G", Levels(3000.0, 3000.0, slope_ft=2400.0)),
        ("H", Levels(3000.0, None, slope_ft=2400.0)),
        ("I", Levels(3000.0, 3000.0)),
        ("J", Levels(3000.0, None)),
        # V, X and Y: the second is on the coded vertical path at a step-down fix
        ("V", Levels(3000.0, None)),
        ("X", Levels(3000.0, 3000.0)),
        ("Y", Levels(None, 3000.0)),
    ],
)
def test_altitude_descriptions(code, expected):
    assert levels(record(altitude=code, feet=3000, second=2400)) == expected


def test_a_description_of_another_version_leaves_the_altitude_open():
    assert levels(record(altitude="Q", feet=3000)) == Levels(unknown="Q")


def test_altitudes_that_are_none_or_levels():
    assert levels(with_columns(record(altitude="+"), 85, "FL180")) == Levels(18000.0, None)  # 5.30
    assert levels(with_columns(record(altitude="+"), 85, "UNKNN")) == Levels()
    assert levels(with_columns(record(altitude="+"), 85, "-0012")) == Levels(-12.0, None)


def test_a_leg_by_time_and_one_by_distance():
    timed, long = leg_of(record(minutes=1.0), 0), leg_of(record(distance=12.3), 0)
    assert (timed.time_s, timed.distance_nm) == (60.0, None)  # 5.27: T010 is a minute
    assert (long.time_s, long.distance_nm) == (None, 12.3)


@pytest.mark.parametrize(("code", "meant"), [("", "at"), ("@", "at"), ("-", "most"), ("+", "least")])
def test_speed_limits_and_what_they_are(code, meant):
    # 5.261: blank or @ is at, - at or below, + at or above
    leg = leg_of(record(speed=210, speed_is=code), 0)
    assert (leg.speed_kt, leg.speed_is) == (210.0, meant)


@pytest.mark.parametrize(
    ("first", "text", "words"),
    [
        (71, "27A0", "the course in columns 71 to 74 is '27A0'"),
        (71, "3700", "up to 360 degrees"),
        (63, "1O00", "theta"),
        (75, "T0X0", "the time"),
        (75, "T01\x1e", "the time"),  # blank to a language, not to the standard
        (85, "12 00", "the altitude"),
        (44, "X", "the turn"),
        (100, "2-0", "the speed limit"),
        (71, "٢٧٦٠", "the course"),  # digits, but not those of the standard
    ],
)
def test_damaged_fields_are_named_with_their_columns(first, text, words):
    with pytest.raises(FieldError, match="(?s).*" + words.replace("(", r"\(")):
        leg_of(with_columns(record(altitude="+", feet=3000), first, text), 0)

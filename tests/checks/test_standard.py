"""Standards: those that ship against the publications, and every way that a file can be wrong."""

import shutil
from importlib import resources
from pathlib import Path

import pytest

from analyzer import read_standard
from analyzer.checks.standard import DEFAULT_STANDARD, built_in_standards
from analyzer.errors import AnalyzerError, StandardError

SHIPPED = resources.files("analyzer.standards").joinpath("faa-instrument.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("limit", "value", "unit"),
    [
        ("altitude_floor", 0.0, "ft"),  # AIM 5-4-9 a: a minimum, which the ±100 ft of FAA-S-ACS-8C IR.VI.A.S9 does not lower
        ("minimum_descent_altitude", 0.0, "ft"),  # FAA-S-ACS-8C IR.VI.A.S12: MDA +100/-0 ft
        ("course_deviation", 0.75, "of full scale"),  # FAA-S-ACS-8C IR.V.A.S6, IR.VI.A.S9: three quarters of full scale
        ("heading", 10.0, "deg"),  # FAA-S-ACS-8C IR.VI.A.S9: heading ±10°
        ("turn_bank", 30.0, "deg"),  # FAA-H-8083-15B chapter 7, Procedure Turn: not above 30°
        ("turn_rate", 3.0, "deg/s"),  # Pilot/Controller Glossary, Standard Rate Turn: 3°/s
        ("offset_time", 40.0, "s"),  # FAA-H-8083-15B figure 7-42: 40 s
        ("reversal_speed", 200.0, "kt"),  # AIM 5-4-9 a.3: 200 KIAS
        ("reversal_distance", 10.0, "NM"),  # AIM 5-4-9 a.3: normally 10 NM
        ("overshoot", 1.0, "NM"),  # common practice, no source
    ],
)
def test_published_limits(limit, value, unit):
    given = read_standard()[limit]
    assert (given.value, given.unit) == (value, unit)
    assert given.meaning
    assert given.source
    assert given.seen in {"publication", "transcription", "none"}


def test_a_limit_without_a_source_says_so():
    for limit in read_standard().limits.values():
        assert (limit.seen == "none") == (limit.source == "common practice, no source")


def test_by_name_or_from_a_file(tmp_path: Path):
    assert DEFAULT_STANDARD in built_in_standards()
    assert read_standard() == read_standard("faa-instrument")
    own = tmp_path / "club.toml"
    own.write_text(SHIPPED.replace("value = 30", "value = 25"), encoding="utf-8")
    for path in (own, str(own)):
        club = read_standard(path)
        assert club.name.endswith("club.toml")
        assert club["turn_bank"].value == 25.0
        assert club.title == read_standard().title


def refused(tmp_path: Path, text: str | bytes) -> str:
    path = tmp_path / "own.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(StandardError) as caught:
        read_standard(path)
    message = str(caught.value)
    assert "own.toml" in message
    assert "\n" not in message
    return message


def test_an_unknown_name(tmp_path: Path):
    with pytest.raises(StandardError, match=r"faa-instruments: no such standard or file; built in are: .*faa-instrument"):
        read_standard("faa-instruments")
    with pytest.raises(AnalyzerError, match="no such standard"):
        read_standard(tmp_path)


def test_a_file_that_is_not_toml(tmp_path: Path):
    assert "not valid TOML" in refused(tmp_path, "[heading\nvalue = 10")


def test_a_file_that_is_not_text(tmp_path: Path):
    assert "cannot be read" in refused(tmp_path, b"\xff\xfe\x00bad")


def test_a_missing_limit(tmp_path: Path):
    begin, end = SHIPPED.index("[heading]"), SHIPPED.index("[airspeed]")
    message = refused(tmp_path, SHIPPED[:begin] + SHIPPED[end:])
    assert "[heading] is missing: give it, or begin the file with based_on = 'faa-instrument'" in message


def test_a_limit_that_is_not_a_table(tmp_path: Path):
    begin, end = SHIPPED.index("[heading]"), SHIPPED.index("[airspeed]")
    assert "[heading]: not a table; accepted: a table with the keys value, unit" in refused(
        tmp_path, "heading = 10\n" + SHIPPED[:begin] + SHIPPED[end:]
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('seen = "publication"', ""), '[altitude_floor] seen: missing; accepted: "publication"'),
        (
            ('seen = "publication"', 'seen = "publication"\nnote = "x"'),
            '[altitude_floor] note = "x": unknown key; accepted: value',
        ),
        (
            ('seen = "publication"', 'seen = "hearsay"'),
            '[altitude_floor] seen = "hearsay": not one of the choices; accepted: "publication"',
        ),
    ],
)
def test_keys_missing_or_unknown(tmp_path: Path, change, said):
    assert said in refused(tmp_path, SHIPPED.replace(*change, 1))


@pytest.mark.parametrize("value", ['"30"', "true", "[30]", "nan", "inf", "-30"])
def test_invalid_values(tmp_path: Path, value):
    message = refused(tmp_path, SHIPPED.replace("value = 30", f"value = {value}"))
    assert "[turn_bank] value = " in message
    assert "accepted: a number from 0 to 10,000" in message
    assert "in deg" in message


def test_the_wrong_unit(tmp_path: Path):
    assert '[overshoot] unit = "km": not its unit; accepted: "NM"' in refused(
        tmp_path, SHIPPED.replace('unit = "NM"', 'unit = "km"', 1)
    )


def test_an_unknown_limit(tmp_path: Path):
    extra = '\n[bank]\nvalue = 1\nunit = "deg"\nmeaning = ""\nsource = ""\nseen = "none"\n'
    message = refused(tmp_path, SHIPPED + extra)
    assert "[bank] is not a limit of any check; did you mean [turn_bank]? known are: reversal_distance" in message


def test_a_folder_of_standards_is_not_searched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    # the built-in name wins over a file of that name in the working folder
    monkeypatch.chdir(tmp_path)
    shutil.copy(str(resources.files("analyzer.standards").joinpath("faa-instrument.toml")), tmp_path / "faa-instrument")
    text = (tmp_path / "faa-instrument").read_text("utf-8").replace("value = 30", "value = 5")
    (tmp_path / "faa-instrument").write_text(text, "utf-8")
    assert read_standard("faa-instrument")["turn_bank"].value == 30.0

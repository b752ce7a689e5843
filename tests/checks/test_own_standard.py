"""Standards of the user: based on one that ships, what they change, how they can be wrong, and how they change verdicts."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from checked import NOISY, PLAIN
from patterns import Pattern, fly_approach
from synthetic import Chart, Log

from analyzer import debrief
from analyzer.checks.finding import Finding
from analyzer.checks.limits import Standard
from analyzer.checks.run import LIMITS
from analyzer.checks.standard import built_in_standards, read_standard
from analyzer.errors import StandardError

Written = Callable[[str], Path]
BEGIN = 'based_on = "faa-instrument"\n'


@pytest.fixture
def written(tmp_path: Path) -> Written:
    """A function that writes the file of a standard."""

    def write(text: str) -> Path:
        path = tmp_path / "quorl_club.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def found(pattern: Pattern, standard: Standard | str, log: Log = NOISY, chart: Chart | None = None) -> dict[str, Finding]:
    """The first finding of each check in a flown pattern, by a standard."""
    track = log.of(fly_approach(pattern).flown)
    (approach,) = debrief(track, (chart or Chart()).at(), standard).approaches
    return {finding.check: finding for finding in reversed(approach.findings)}


def refusal(path: Path) -> str:
    with pytest.raises(StandardError) as caught:
        read_standard(path)
    message = str(caught.value)
    assert "quorl_club.toml" in message
    assert "\n" not in message
    return message


def test_one_value_is_enough_and_its_source_says_that_the_file_changed_it(written):
    own = read_standard(written(BEGIN + "[turn_bank]\nvalue = 20\n"))
    limit, base = own["turn_bank"], read_standard("faa-instrument")["turn_bank"]
    assert (limit.value, limit.unit, limit.meaning) == (20.0, "deg", base.meaning)
    for word in ("quorl_club.toml", "instead of 30", "FAA-H-8083-15B"):
        assert word in limit.source
    assert limit.seen == "none"
    assert (own.based_on, own.own) == ("faa-instrument", ("turn_bank",))


@pytest.mark.parametrize("base", built_in_standards())
def test_other_limits_are_those_of_the_base_standard(written, base):
    own = read_standard(written(f'based_on = "{base}"\n[arc_radius]\nvalue = 2\n'))
    assert [name for name in LIMITS if own.get(name) != read_standard(base).get(name)] == ["arc_radius"]


def test_a_file_may_change_nothing(written):
    own = read_standard(written(BEGIN + 'title = "Quorl club"\n'))
    assert (own.title, own.own) == ("Quorl club", ())
    assert own.limits == read_standard("faa-instrument").limits


def test_a_file_may_begin_with_the_mark_that_windows_gives_utf_8(written):
    path = written(f'\ufeff{BEGIN}[heading]\nvalue = 7\nunit = "deg"\n')
    assert read_standard(path)["heading"].value == 7.0


def test_a_source_in_the_file_is_kept(written):
    texts = 'unit = "NM"\nmeaning = "how far past"\nsource = "Quorl club, rule 4"\nseen = "publication"\n'
    limit = read_standard(written(f"{BEGIN}[overshoot]\nvalue = 0.4\n{texts}"))["overshoot"]
    assert (limit.value, limit.meaning, limit.source, limit.seen) == (0.4, "how far past", "Quorl club, rule 4", "publication")


@pytest.mark.parametrize("base", ['"faa"', '"quorl_club.toml"', '"FAA-instrument"', '""', "3", "true", '["icao-ops"]', "{}"])
def test_an_unknown_base_standard_is_refused(written, base):
    """Nor can a file be based on another file, or on itself."""
    message = refusal(written(f"based_on = {base}\n"))
    assert "based_on = " in message
    assert 'accepted: "common-practice", "faa-instrument", "faa-transport", "icao-ops", "part-fcl"' in message


@pytest.mark.parametrize("value", ["-1", "-0.5", "10000.5", "1e9", "true", "false", '"100"', "nan", "inf", "-inf", "[100]"])
@pytest.mark.parametrize(
    ("line", "place"),
    [("value = {}", "[reversal_speed] value = "), ("by_category = {{ B = {} }}", "[reversal_speed.by_category] B = ")],
)
def test_a_value_outside_zero_to_ten_thousand_is_refused(written, line, place, value):
    message = refusal(written(f"{BEGIN}[reversal_speed]\n{line.format(value)}\n"))
    assert place in message
    assert "accepted: a number from 0 to 10,000, in kt" in message


@pytest.mark.parametrize("value", [0, 10_000])
def test_zero_and_ten_thousand_are_accepted(written, value):
    assert read_standard(written(f"{BEGIN}[reversal_speed]\nvalue = {value}\n"))["reversal_speed"].value == value


def test_a_rate_of_turn_is_at_least_a_tenth_of_a_degree_a_second(written):
    """A turn at rate zero would never end."""
    assert read_standard(written(f"{BEGIN}[turn_rate]\nvalue = 0.1\n"))["turn_rate"].value == 0.1
    for value in ("0", "0.09"):
        message = refusal(written(f"{BEGIN}[turn_rate]\nvalue = {value}\n"))
        assert "accepted: a number from 0.1 to 10,000, in deg/s" in message


@pytest.mark.parametrize("value", ["9" * 5000, "-" + "9" * 5000, "9" * 4000, "0x" + "f" * 5000, "1e5000"])
@pytest.mark.parametrize("line", ["value = {}", "value = 200\nby_category = {{ B = {} }}"])
def test_a_number_of_thousands_of_digits_is_refused_in_one_line(written, line, value):
    assert "quorl_club.toml: " in refusal(written(f"{BEGIN}[reversal_speed]\n{line.format(value)}\n"))


@pytest.mark.parametrize("key", ["title", "based_on"])
def test_such_a_number_is_not_accepted_as_text(written, key):
    assert "quorl_club.toml: " in refusal(written(f"{key} = 0x{'f' * 5000}\n"))


@pytest.mark.parametrize("character", ["\\n", "\\t", "\\u0007", "\\u001b", "\\u007f", "\\u0085"])
def test_control_characters_are_refused(written, character):
    """They would break lines, or control the terminal that shows the standard."""
    assert "accepted: a line of text" in refusal(written(f'{BEGIN}title = "Quorl{character}club"\n'))
    for text in ("meaning", "source"):
        message = refusal(written(f'{BEGIN}[turn_bank]\n{text} = "rule{character}4"\n'))
        assert f"[turn_bank] {text} = " in message
        assert "holds a line break, or a control or directing character" in message


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "[turn_bank]\nvalue = 20\nnote = 1\n",
            "[turn_bank] note = 1: unknown key; accepted: value, unit, meaning, source",
        ),
        ("[turn_bank]\nvalues = 20\n", "[turn_bank] values = 20: unknown key; did you mean value?"),
        (
            "[turn_banks]\nvalue = 20\n",
            "[turn_banks] is not a limit of any check; did you mean [turn_bank]? known are: reversal_distance",
        ),
        ("turn_bank = 20\n", "[turn_bank]: not a table; accepted: a table with the keys value"),
        ('[turn_bank]\nvalue = 20\nunit = "rad"\n', '[turn_bank] unit = "rad": not its unit; accepted: "deg"'),
        ("title = 4\n", "title = 4: not text in quotes; accepted: a line of text"),
    ],
)
def test_a_wrong_key_or_text_is_named(written, text, said):
    assert said in refusal(written(BEGIN + text))


def test_a_meaning_alone_leaves_the_value_and_its_source(written):
    limit, base = (
        read_standard(name)["reversal_speed"]
        for name in (written('based_on = "icao-ops"\n[reversal_speed]\nmeaning = "not faster than that"\n'), "icao-ops")
    )
    assert limit == replace(base, meaning="not faster than that")
    assert dict(limit.by_category) == {"A": 110, "B": 140, "C": 240, "D": 250, "E": 250}  # ICAO Doc 8168, table I-4-1-2


def test_the_name_is_that_of_the_file_and_errors_name_the_path_as_given(written, monkeypatch):
    path = written(f"{BEGIN}[turn_bank]\nvalue = 20\n")
    monkeypatch.chdir(path.parents[1])
    given = f"{path.parent.name}/{path.name}"
    for name in (path, str(path), given):
        own = read_standard(name)
        assert own.name == "quorl_club.toml"
        assert own["turn_bank"].source.startswith("set in quorl_club.toml, instead of 30: FAA-H-8083-15B")
    path.write_text(f"{BEGIN}[turn_bank]\nvalue = -20\n", encoding="utf-8")
    with pytest.raises(StandardError) as caught:
        read_standard(given)
    assert str(caught.value).startswith(f"{given}: [turn_bank] value = -20: ")


@pytest.mark.parametrize(
    ("table", "where"),
    [
        ("{ low = 200 }", "[holding_speed.by_altitude_ft] low: "),
        ("{ -6000 = 200 }", "[holding_speed.by_altitude_ft] -6000: "),
        ("{ 600000 = 200 }", "[holding_speed.by_altitude_ft] 600000: "),
        ("200", "[holding_speed] by_altitude_ft = 200: not a table"),
        ("[200]", "[holding_speed] by_altitude_ft = [...]: not a table"),
    ],
)
def test_bands_of_altitude_are_whole_feet(written, table, where):
    message = refusal(written(f"{BEGIN}[holding_speed]\nvalue = 265\nby_altitude_ft = {table}\n"))
    assert where in message
    assert "altitudes, as { 14000 = 230 }" in message


def test_a_value_of_a_band_is_a_number_too(written):
    message = refusal(written(f'{BEGIN}[holding_speed]\nvalue = 265\nby_altitude_ft = {{ 6000 = "fast" }}\n'))
    assert '[holding_speed.by_altitude_ft] 6000 = "fast": not a number' in message


def test_a_value_alone_applies_at_every_altitude_and_bands_alone_keep_the_value(written):
    flat = read_standard(written(f"{BEGIN}[holding_speed]\nvalue = 175\n"))["holding_speed"]
    assert {flat.at_altitude(feet) for feet in (0.0, 6000.0, 20_000.0)} == {175.0}
    banded = read_standard(written(f"{BEGIN}[holding_speed]\nby_altitude_ft = {{ 6000 = 175 }}\n"))["holding_speed"]
    assert [banded.at_altitude(feet) for feet in (6000.0, 6001.0)] == [175.0, 265.0]  # 265 kt: AIM 5-3-8 j.2


def test_an_optional_limit_is_used_where_a_file_gives_it(written):
    texts = 'unit = "deg"\nmeaning = "sector of entry"\nsource = "Quorl club, rule 5"\nseen = "publication"\n'
    own = read_standard(written(f"{BEGIN}[entry_sector]\nvalue = 30\n{texts}"))
    assert "entry_sector" not in found(PLAIN, "faa-instrument")
    assert found(PLAIN, own)["entry_sector"].source == "Quorl club, rule 5"


def test_the_reading_of_a_limit_is_one_line(written):
    assert (
        read_standard(written(f'{BEGIN}[overshoot]\nreading = "of the last turn"\n'))["overshoot"].reading == "of the last turn"
    )
    assert "[overshoot] reading = " in refusal(written(f'{BEGIN}[overshoot]\nreading = "a\\nb"\n'))


def test_without_a_base_standard_every_limit_must_be_given(written):
    assert "begin the file with based_on = 'faa-instrument'" in refusal(written("[turn_bank]\nvalue = 20\n"))


@pytest.mark.parametrize(
    ("limit", "value", "check"),
    [
        ("turn_bank", 10, "turn_bank"),  # 3°/s at 120 kt requires 18.2° of bank
        ("reversal_speed", 100, "speed_limit"),  # 120 kt true at 3,000 ft are about 115 kt indicated
    ],
)
def test_a_changed_limit_changes_its_verdict_only(written, limit, value, check):
    chart = Chart(floors_ft={"outbound": 3050.0, "reversal": 3050.0})
    own = read_standard(written(f"{BEGIN}[{limit}]\nvalue = {value}\n"))
    before, after = found(PLAIN, "faa-instrument", chart=chart), found(PLAIN, own, chart=chart)
    assert (before[check].verdict, after[check].verdict) == ("inside", "outside")
    assert after[check].measured == before[check].measured
    assert "quorl_club.toml" in after[check].source
    assert "quorl_club.toml" not in before[check].source
    assert set(before) == set(after)
    assert [name for name in before if before[name].verdict != after[name].verdict] == [check]

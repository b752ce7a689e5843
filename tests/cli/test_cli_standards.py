"""`analyzer standard list`, `show`, `check`; `debrief` with `--explain`, one's own standard, `--qnh` and `--temperature`."""

import json
import math

import pytest
from command_line import CLEAN, PROCEDURE, STRONG_WIND, Command, run_all_here

from analyzer.checks.run import LIMITS

SHIPPED = ("common-practice", "faa-instrument", "faa-transport", "icao-ops", "part-fcl")
FILES = {
    "own.toml": 'title = "Quorl club"\nbased_on = "faa-instrument"\n[turn_bank]\nvalue = 5\n[reversal_speed]\nvalue = 180\n',
    "based.toml": 'based_on = "based.toml"\n',
    "negative.toml": 'based_on = "icao-ops"\n[turn_bank]\nvalue = -5\n',
    "broken.toml": "[turn_bank\n",
    "long.toml": f'title = "{"Quorl " * 20}club"\nbased_on = "icao-ops"\n[turn_bank]\nmeaning = "{"not much " * 20}bank"\n',
    "bare.toml": 'based_on = "icao-ops"\n',
}
WITH = ("debrief", CLEAN, "-p", PROCEDURE)
WINDY = ("debrief", STRONG_WIND, "-p", PROCEDURE)

ANSWERED = {
    "list": ("standard", "list"),
    **{f"show {name}": ("standard", "show", name) for name in SHIPPED},
    "show own": ("standard", "show", "own.toml"),
    "check own": ("standard", "check", "own.toml"),
    "show long": ("standard", "show", "long.toml"),
    "check long": ("standard", "check", "long.toml"),
    "check bare": ("standard", "check", "./bare.toml"),
    "help": ("standard", "--help"),
    "explain": (*WINDY, "--explain", "distance_limit"),
    "explain with a hyphen": (*WINDY, "--explain", "distance-limit"),
    "explain by own": (*WITH, "--standard", "own.toml", "--explain", "turn_bank"),
    "plain": (*WITH, "--json", "-"),
    "own": (*WITH, "--standard", "own.toml", "--json", "-"),
    "inches": (*WITH, "--qnh", "29.92", "--json", "-"),
    "cold": (*WITH, "--qnh", "977", "--temperature", "-5", "--json", "-"),
    "hot": (*WITH, "--temperature", "45", "--json", "-"),
}
# Each with what its error must say.
REFUSED = {
    "show nothing": (("standard", "show", "faa"), f"faa: no such standard or file; built in are: {', '.join(SHIPPED)}"),
    "show broken": (("standard", "show", "broken.toml"), "broken.toml: not valid TOML"),
    "check a folder": (("standard", "check", "."), "no such standard or file"),
    "check itself": (
        ("standard", "check", "based.toml"),
        'based.toml: based_on = "based.toml": not a built-in standard; accepted: "common-practice"',
    ),
    "check negative": (
        ("standard", "check", "negative.toml"),
        "negative.toml: [turn_bank] value = -5: too small; accepted: a number from 0 to 10,000, in deg",
    ),
    "check what is not named": (("standard", "check"), "Missing argument 'FILE'"),
    "debrief by negative": ((*WITH, "--standard", "negative.toml"), "negative.toml: [turn_bank] value = -5"),
    "explain to a folder": (
        (*WITH, "--explain", "turn_bank", "-o", "out"),
        "--explain writes no report: leave out --json, --format, --paper and -o",
    ),
    "explain to a file": ((*WITH, "--explain", "turn_bank", "--json", "a.json"), "--explain writes no report"),
    "explain as json": ((*WITH, "--explain", "turn_bank", "--json", "-"), "--explain writes no report"),
    "explain nonsense": ((*WITH, "--explain", "nonsense"), "--explain nonsense: no such check; choose from distance_limit"),
    "qnh of no weather": ((*WITH, "--qnh", "1200"), "--qnh 1200: no altimeter setting: give hPa (850 to 1090) or inches"),
    "qnh below nought": ((*WITH, "--qnh", "-1013"), "--qnh -1013: no altimeter setting"),
    "qnh in words": ((*WITH, "--qnh", "low"), "--qnh"),
    "temperature in kelvin": ((*WITH, "--temperature", "288"), "--temperature 288: no temperature of the air: give °C"),
    "temperature that is none": (("inspect", CLEAN, "--temperature", "nan"), "--temperature nan: no temperature of the air"),
}


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """What each of these says. None of them may write anything."""
    folder = tmp_path_factory.mktemp("standards")
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    refused = {name: arguments for name, (arguments, _) in REFUSED.items()}
    commands = {name: Command(arguments, folder) for name, arguments in {**ANSWERED, **refused}.items()}
    commands["strict"] = Command([*ANSWERED["explain"], "--strict"], folder)
    found = run_all_here(commands)
    assert {path.name for path in folder.iterdir()} == set(FILES), "something was written"
    return found


@pytest.fixture(scope="module")
def documents(outcomes):
    return {name: json.loads(outcomes[name].out) for name in ("plain", "own", "inches", "cold", "hot")}


def notes(document) -> list[str]:
    return [note["text"] for note in document["track"]["notes"]]


def test_they_exit_with_nought_and_say_nothing_on_the_side(outcomes):
    for name in ANSWERED:
        assert (outcomes[name].code, outcomes[name].err) == (0, ""), name


@pytest.mark.parametrize("name", [name for name in ANSWERED if "--json" not in ANSWERED[name]])
def test_no_line_is_longer_than_80_columns(outcomes, name):
    lines = outcomes[name].out.splitlines()
    assert len(lines) > 1
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize("name", REFUSED)
def test_an_error_names_what_is_wrong_and_no_traceback(outcomes, name):
    assert REFUSED[name][1] in "\n".join(outcomes[name].refused())
    assert outcomes[name].out == ""


def test_list_has_a_line_for_each_that_ships(outcomes):
    lines = outcomes["list"].out.splitlines()
    assert tuple(line.split()[0] for line in lines) == SHIPPED
    assert [line.endswith("; based on faa-instrument") for line in lines] == [True, False, True, True, True]


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        # AIM 5-4-9 a.3; FAA-H-8083-15B chapter 7
        ("faa-instrument", ["reversal distance: 10 NM", "reversal speed: 200 kt", "turn bank: 30°", "heading: 10°"]),
        # FAA-S-ACS-11A AA.VI.D.S9, AA.VI.E.S12
        ("faa-transport", ["heading: 5°", "glide path: 0.25 of full scale", "turn bank: 30° [faa-instrument]"]),
        # ICAO Doc 8168 Vol II I-4-3-7 f; table I-4-1-2
        (
            "icao-ops",
            ["average bank: 25°", "  by category: A 110, B 140, C 240, D 250, E 250", "arc radius: 1 NM [faa-instrument]"],
        ),
        # UK retained Part-FCL Appendix 7; ICAO Doc 8168 as a State AIP restates it
        (
            "part-fcl",
            [
                "airspeed: 5 kt",
                "  by altitude: 230 to 14,000 ft, 240 to 20,000 ft, 265 above",
                "entry sector: none; this standard does not judge it",
            ],
        ),
        ("common-practice", ["overshoot: 0.5 NM", "  common practice, no source (no publication known)"]),
    ],
)
def test_show_has_every_limit_and_where_it_comes_from(outcomes, name, lines):
    shown = outcomes[f"show {name}"].out.splitlines()
    assert f"({name})" in shown[0]
    assert set(lines) <= set(shown)
    assert sum(": " in line and not line.startswith(" ") for line in shown[1:]) == len(LIMITS)


def test_a_file_of_one_s_own_is_shown_with_what_it_changes(outcomes):
    shown = outcomes["show own"].out.splitlines()
    assert shown[0] == "Quorl club (own.toml); based on faa-instrument"
    assert {"turn bank: 5°", "reversal speed: 180 kt", "heading: 10° [faa-instrument]"} <= set(shown)
    assert sum(line.startswith("  set in own.toml, instead of ") for line in shown) == 2


def test_check_says_what_a_file_changes_and_ok(outcomes):
    begins = "Quorl club; based on faa-instrument; sets turn bank, reversal speed itself.\nok\n"
    assert outcomes["check own"].out == begins
    assert outcomes["check bare"].out == "bare.toml; based on icao-ops; sets nothing itself.\nok\n"
    *lines, ok = outcomes["check long"].out.splitlines()
    assert " ".join(lines) == f"{'Quorl ' * 20}club; based on icao-ops; sets turn bank itself."
    assert ok == "ok"


@pytest.mark.parametrize("name", [*(f"show {name}" for name in SHIPPED), "show own", "show long", "check own", "check long"])
def test_a_name_is_not_broken_at_its_hyphen(outcomes, name):
    lines = outcomes[name].out.splitlines()
    assert len(lines) > 1
    assert not any(line.endswith("-") for line in lines)


def test_help_names_the_three(outcomes):
    for command in ("list", "show", "check"):
        assert f"\n  {command} " in outcomes["help"].out


def test_explain_prints_one_check_alone_by_either_spelling_and_writes_nothing(outcomes):
    text = outcomes["explain"].out
    assert text.startswith("Distance limit\n")
    assert "\nOutside: reversal turn\n" in text
    assert "Report:" not in text
    assert "never for navigation" not in text  # that is the summary's end
    assert outcomes["explain with a hyphen"].out == text


def test_explain_with_strict_exits_with_one_where_something_is_outside(outcomes):
    assert outcomes["strict"].code == 1
    assert (outcomes["strict"].out, outcomes["strict"].err) == (outcomes["explain"].out, "")


def test_a_standard_of_one_s_own_judges(outcomes, documents):
    """No standard-rate turn is flown with 5° of bank."""
    verdicts = {
        name: [f["verdict"] for f in documents[name]["reversals"][0]["findings"] if f["check"] == "turn_bank"]
        for name in ("plain", "own")
    }
    assert verdicts == {"plain": ["inside"] * 3, "own": ["outside"] * 3}
    assert documents["plain"]["standard"] == "faa-instrument"
    assert documents["own"]["standard"] == "own.toml"
    assert outcomes["explain by own"].out.count("\nOutside: ") == 3
    assert "set in own.toml, instead of 30" in " ".join(outcomes["explain by own"].out.split())


def test_what_is_given_of_the_air_is_noted(documents):
    assert "QNH 1013 hPa, as given: used for airspeeds" in notes(documents["inches"])  # 29.92 inHg are 1013.2 hPa
    assert "QNH 977 hPa, as given: used for airspeeds" in notes(documents["cold"])
    assert "-5 °C at the airfield, as given: used for airspeeds" in notes(documents["cold"])
    assert "45 °C at the airfield, as given: used for airspeeds" in notes(documents["hot"])
    assert not any("as given" in text for text in notes(documents["plain"]))


def test_hot_air_lowers_the_indicated_airspeed_as_its_density(documents):
    """At one pressure density goes as 1/T: 30 K above the 15 °C of the standard atmosphere, at some 280 K."""
    plain, hot = (documents[name]["reversals"][0]["figures"]["max_indicated_kt"] for name in ("plain", "hot"))
    assert hot / plain == pytest.approx(math.sqrt(280.0 / 310.0), abs=0.005)

"""One check explained: its definition, its limits with their sources, what was found, and the numbers that went in."""

import re
from dataclasses import replace

import pytest
from report_flights import SAMPLE_NAMES, from_fix, truth, truth_near

from analyzer.checks.run import CHECKS
from analyzer.checks.standard import read_standard
from analyzer.errors import AnalyzerError, StandardError
from analyzer.report.words.explain_text import explain_text

NOTHING = "Nothing to report: it was flown as charted, or what the check looks at was not flown or is not charted."
# What the samples do not have: a hold, a missed approach, an arc, a glide path, fixes, maximum altitudes, target speeds, a
# track that is drawn, a leg that is limited; the procedure turn that is charted is flown, and the standard asks for no bank,
# sector or descent.
ABSENT = (
    "no_reversal", "hold_entry", "hold_timing", "arc_radius", "glide_path", "reversal_shape", "entry_sector", "step_down",
    "maximum_altitude", "leg_limit", "descent_rate", "average_bank", "target_speed", "missed_point", "missed_climb",
    "missed_turn", "missed_course", "missed_altitude", "hold_turn", "hold_course", "hold_altitude", "hold_drift",
)  # fmt: skip
PRESENT = tuple(check for check in CHECKS if check not in ABSENT)
WRITTEN = {"deg": "°", "deg/s": "°/s", "fpm": " ft/min"}  # units as pilots write them
_NUMBER = re.compile(r":(-?\d[\d.]*(?:e-?\d+)?)")  # after its name, in a text without spaces
VERDICT = re.compile(r"^(Inside|Outside|Too close to call|Not assessed): (.+)$", re.MULTILINE)


@pytest.fixture(scope="module")
def explained(debriefs):
    """Every check of every sample."""
    return {(name, check): explain_text(debriefs[name], check) for name in SAMPLE_NAMES for check in CHECKS}


def packed(text: str) -> str:
    """A text without its spaces and line breaks, which come anywhere once it is folded."""
    return "".join(text.split())


def of(document, check):
    return [finding for entry in document["reversals"] for finding in entry["findings"] if finding["check"] == check]


def number(text: str, label: str) -> float:
    """The number in the one line that begins with a label."""
    (value,) = re.findall(rf"^{label} +([\d,.]+)", text, re.MULTILINE)
    return float(value.replace(",", ""))


# The samples fly a procedure turn to a minimum descent altitude, and no hold is charted.
NOT_OF_A_PROCEDURE_TURN = {"holding_speed", "holding_speed_ab", "decision_altitude"}


@pytest.mark.parametrize("check", CHECKS)
def test_no_line_is_longer_than_80_columns(explained, sample, check):
    text = explained[sample, check]
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.endswith("\n")
    assert "\t" not in text


@pytest.mark.parametrize("check", CHECKS)
def test_it_begins_with_the_name_and_says_what_is_measured_and_how(explained, sample, check):
    text = explained[sample, check]
    name = text.splitlines()[0]
    assert (name, name.lower()) == (name.capitalize(), check.replace("_", " "))
    assert packed(f"measures{CHECKS[check].text}how{CHECKS[check].formula}") in packed(text)


@pytest.mark.parametrize("check", CHECKS)
def test_it_names_every_limit_with_its_value_source_and_standard(explained, sample, check):
    text, standard = explained[sample, check], read_standard("faa-instrument")
    names = [name for name in CHECKS[check].limits if name not in NOT_OF_A_PROCEDURE_TURN]
    given = [name for name in names if standard.get(name) is not None] or names  # those left out only where there is no other
    assert len(re.findall("^limit ", text, re.MULTILINE)) == len(given)
    for name in given:
        limit = standard.get(name)
        if limit is None:
            assert packed(f"{name.replace('_', ' ')}: none; the standard faa-instrument does not judge it") in packed(text)
            continue
        assert packed(limit.reading) in packed(text)
        for words in (
            name.replace("_", " "),
            f"{limit.value:,g}{WRITTEN.get(limit.unit, f' {limit.unit}')}: {limit.meaning}",
            f"Source: {limit.source} (",
        ):
            assert packed(words) in packed(text)
        assert packed("Standard faa-instrument.") in packed(text)


@pytest.mark.parametrize(
    ("check", "how"),
    [
        ("turn_bank", "(read in the publication)"),  # FAA-H-8083-15B, of which there is a copy
        ("altitude_hold", "(read in a transcription of it)"),  # FAA-S-ACS-8C, of which there is none
        ("intercept", "(no publication known)"),  # common practice, no source
    ],
)
def test_it_says_how_the_source_was_read(explained, check, how):
    assert packed(how) in packed(explained["clean.csv", check])


@pytest.mark.parametrize("check", PRESENT)
def test_each_finding_has_its_verdict_sentence_and_source(explained, documents, sample, check):
    text, findings = explained[sample, check], of(documents[sample], check)
    assert findings
    verdicts = [(verdict.lower(), where) for verdict, where in VERDICT.findall(text)]
    assert verdicts == [(f["verdict"], (f["part"] or f["leg"]).replace("_", " ")) for f in findings]
    for finding in findings:
        assert packed(finding["sentence"]) in packed(text)
        assert packed(f"source{finding['source']}") in packed(text)


@pytest.mark.parametrize("check", PRESENT)
def test_what_else_is_known_of_a_finding_is_told(explained, documents, sample, check):
    text = packed(explained[sample, check])
    places = {(float(y), float(x)) for y, x in re.findall(r"UTC,(-?\d+\.\d{5}),(-?\d+\.\d{5})", text)}
    for finding in of(documents[sample], check):
        lesson = finding["lesson"] or {"cause": None, "advice": None}
        for label, told in (("reason", finding["reason"]), ("why", lesson["cause"]), ("try", lesson["advice"])):
            if told is not None:
                assert packed(label + told) in text
        for name, value in finding["details"].items():
            # the export rounds to three decimals
            assert any(float(told) == pytest.approx(value, abs=1e-3, rel=1e-3) for told in re.findall(_NUMBER, text)), name
        if finding["time"] is not None:
            place = finding["latitude_deg"], finding["longitude_deg"]
            assert any(place == pytest.approx(told, abs=1e-5) for told in places)


def test_the_samples_have_lessons_and_reasons_to_tell(documents):
    """Else the test above would have nothing to look for."""
    findings = [finding for name in SAMPLE_NAMES for finding in documents[name]["reversals"][0]["findings"]]
    for key in ("cause", "advice"):
        assert any(finding["lesson"] is not None and finding["lesson"][key] is not None for finding in findings)
    assert any(finding["reason"] is not None for finding in findings)


@pytest.mark.parametrize("check", ABSENT)
def test_a_check_that_finds_nothing_to_look_at_says_so(explained, sample, check):
    text = explained[sample, check]
    assert packed(NOTHING) in packed(text)
    assert not VERDICT.search(text)
    assert not re.search("^(measured|against|source) ", text, re.MULTILINE)


@pytest.mark.parametrize("check", PRESENT)
def test_a_check_that_finds_something_does_not(explained, sample, check):
    assert "Nothing to report" not in explained[sample, check]


@pytest.mark.parametrize("check", CHECKS)
def test_without_an_approach_no_check_has_anything_to_say(debriefs, check):
    text = explain_text(debriefs["arrival_only.csv"], check)
    assert packed(text).endswith(packed(NOTHING))
    assert max(len(line) for line in text.splitlines()) <= 80


def test_each_of_two_approaches_is_told_by_its_number(debriefs):
    text = explain_text(debriefs["two_approaches.csv"], "distance_limit")
    assert [where.rsplit(", ", 1)[1] for _, where in VERDICT.findall(text)] == ["approach 1 of 2", "approach 2 of 2"]


def test_why_nothing_is_assessed_without_altitude(debriefs):
    text = explain_text(debriefs["no_altitude.csv"], "speed_limit")
    assert [verdict for verdict, _ in VERDICT.findall(text)] == ["Not assessed"]
    assert packed("reason the log has no altitude") in packed(text)
    assert not re.search("^(measured|margin) ", text, re.MULTILINE)


@pytest.mark.parametrize("name", ["nonsense", "", "distance limit", "Distance_limit", "turn_bank "])
def test_a_check_that_is_none_is_an_error_that_names_those_there_are(debriefs, name):
    with pytest.raises(StandardError, match="no such check") as caught:
        explain_text(debriefs["clean.csv"], name)
    assert isinstance(caught.value, AnalyzerError)
    assert all(check in str(caught.value) for check in CHECKS)
    assert f"--explain {name}:" in str(caught.value)


def test_the_numbers_of_the_distance_are_those_that_were_flown(explained):
    """The strong wind's greatest distance, from the simulator's own record by geographiclib; the chart says 10 NM."""
    text = explained["strong_wind.csv", "distance_limit"]
    rows = [(float(row["latitude_deg"]), float(row["longitude_deg"])) for row in truth("strong_wind.csv")]
    farthest = max(from_fix(*row)[0] for row in rows)
    assert number(text, "measured") == pytest.approx(farthest, abs=0.01)
    assert number(text, "against") == 10.0
    assert number(text, "margin") == pytest.approx(farthest - 10.0, abs=0.01)
    assert re.search(r"^margin +[\d.]+ NM outside, more than 100 standard deviations;", text, re.MULTILINE)


def test_a_misspelt_check_is_answered_with_the_one_that_is_meant(debriefs):
    with pytest.raises(StandardError, match="no such check; did you mean turn_bank\\?"):
        explain_text(debriefs["clean.csv"], "turn_bnk")


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_it_says_where_and_when(explained, name):
    """The position told of the greatest distance, against the simulator's record of that second."""
    text = explained[name, "distance_limit"]
    ((clock, latitude, longitude),) = re.findall(r"^where +([\d:]+) UTC, ([\d.-]+), ([\d.-]+)$", text, re.MULTILINE)
    row = truth_near(name, f"{truth(name)[0]['time_utc'][:11]}{clock}Z")
    assert float(latitude) == pytest.approx(float(row["latitude_deg"]), abs=0.0015)
    assert float(longitude) == pytest.approx(float(row["longitude_deg"]), abs=0.0015)


def test_no_tolerance_is_told_beside_a_minimum(explained):
    # The chart's 3,000 ft on arrival is a minimum (AIM 5-4-9 a): the ±100 ft of FAA-S-ACS-8C IR.VI.A.S9 are of altitudes held.
    assert re.search(r"^against +3,000 ft$", explained["clean.csv", "altitude_floor"], re.MULTILINE)
    assert packed("reading a charted minimum is a minimum") in packed(explained["clean.csv", "altitude_floor"])


def test_another_standard_s_limit_and_source_are_told(debriefs):
    by_icao = replace(debriefs["clean.csv"], standard=read_standard("icao-ops"))
    text = packed(explain_text(by_icao, "average_bank"))
    assert packed("average bank 25°:") in text  # ICAO Doc 8168 Vol II I-4-3-7 f
    assert packed("Source: ICAO Doc 8168 Vol II") in text
    assert packed("Standard icao-ops.") in text


@pytest.mark.parametrize("sample", SAMPLE_NAMES)
def test_its_further_numbers_are_written_as_pilots_write_them(explained, sample):
    """Not by the names that they have in the JSON export, which are made for programs."""
    texts = [explained[sample, check] for check in CHECKS]
    assert not re.findall(r"\b[a-z]+_[a-z_]+\b", "\n".join(texts))
    assert any(re.search(r"^ +mean: \d+\.?\d*°$", text, re.MULTILINE) for text in texts)

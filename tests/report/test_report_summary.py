"""The summary for the terminal: the verdict first, nothing outside left out, eighty columns, the caution at the end."""

import re
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from report_flights import LOGS, PROCEDURE, SAMPLE_NAMES, Json

import analyzer
from analyzer.checks.figures import PartFigures
from analyzer.checks.finding import Finding
from analyzer.checks.phrases import check_name, height_unit
from analyzer.legs.reversal import Part
from analyzer.report.words.log_sentences import span_text
from analyzer.report.words.parts_table import part_headings, part_row, parts_table
from analyzer.report.words.summary import limit_text, summary_text

ORDER = ("outside", "too close to call", "inside", "not assessed")


@pytest.fixture(scope="session")
def summaries(debriefs):
    return {name: summary_text(debrief) for name, debrief in debriefs.items()}


def folded(text: str) -> str:
    return " ".join(text.split())


def expected_verdict(entry: Json) -> str:
    """The worst there is; but where the charted reversal was not flown to its end, what else is inside makes no pass.

    Nor does it where floors are charted and altitudes are missing.
    """
    said = {finding["verdict"] for finding in entry["findings"]}
    missing = {"the log has no altitude", "the log has a gap in this stretch"}
    if any(f["check"] == "altitude_floor" and f["reason"] in missing for f in entry["findings"]):
        return "outside" if "outside" in said else "not assessed"
    unfinished = entry["figures"]["established"] is None
    if unfinished or any(finding["check"] == "no_reversal" for finding in entry["findings"]):
        said -= {"inside"}
    return next(verdict for verdict in ORDER if verdict in said)


def test_it_says_which_procedure_log_and_time(summaries, documents, flight):
    first = summaries[flight].splitlines()[0]
    assert first.startswith(f"Wendle Island VOR 24 | {flight} | ")
    track = documents[flight]["track"]
    assert track["start"][11:16] in first
    assert first.endswith(f"{track['end'][11:16]} UTC")


def test_the_verdict_comes_first(summaries, documents, sample):
    third = summaries[sample].splitlines()[2]
    assert third.startswith(f"{expected_verdict(documents[sample]['reversals'][0]).upper()}: ")


def test_each_approach_has_its_verdict(summaries, documents, flight):
    found = re.findall(r"^(OUTSIDE|TOO CLOSE TO CALL|INSIDE|NOT ASSESSED): ", summaries[flight], re.MULTILINE)
    assert found == [expected_verdict(entry).upper() for entry in documents[flight]["reversals"]]


def test_no_line_is_longer_than_80_columns(summaries, flight):
    assert max(len(line) for line in summaries[flight].splitlines()) <= 80
    assert "\t" not in summaries[flight]
    assert summaries[flight].endswith(".\n")


def test_the_caution_stands_at_the_end(summaries, documents, flight):
    assert folded(summaries[flight]).endswith(documents[flight]["cautions"])
    assert "never for navigation" in summaries[flight]


def test_everything_outside_is_told_in_its_own_words(summaries, documents, flight):
    for entry in documents[flight]["reversals"]:
        for finding in entry["findings"]:
            if finding["verdict"] in ("outside", "too close to call"):
                assert folded(finding["sentence"]) in folded(summaries[flight])


def test_the_samples_show_something_outside(documents):
    """Else the test above would have nothing to look for: a distance, and a bank and an altitude, whose timing is one event."""
    outside = [f for name in SAMPLE_NAMES for f in documents[name]["reversals"][0]["findings"] if f["verdict"] == "outside"]
    assert sorted(f["check"] for f in outside) == ["altitude_floor", "distance_limit", "turn_bank"]


def test_the_count_is_that_of_the_findings(summaries, documents, sample):
    findings = documents[sample]["reversals"][0]["findings"]
    judged = [finding for finding in findings if finding["verdict"] != "not assessed"]
    outside = [finding for finding in judged if finding["verdict"] == "outside"]
    line = summaries[sample].splitlines()[2]
    assert [int(number) for number in re.findall(r"\d+", line)] == ([len(outside)] if outside else []) + [len(judged)]
    for finding in outside:
        assert finding["check"].replace("_", " ") in line


def test_what_is_close_is_told_in_its_own_words(debriefs):
    """Every finding with a margin, given as too close to call."""
    debrief = debriefs["clean.csv"]
    findings = tuple(replace(f, verdict="too close to call") for f in debrief.approaches[0].findings if f.margin is not None)
    text = summary_text(replace(debrief, approaches=(replace(debrief.approaches[0], findings=findings),)))
    assert f"\nTOO CLOSE TO CALL: {len(findings)} of {len(findings)} findings" in text
    assert len(findings) > 10
    assert all(folded(finding.sentence) in folded(text) for finding in findings)


def test_each_part_has_a_row(summaries, documents, flight):
    rows = iter(summaries[flight].splitlines())
    for entry in documents[flight]["reversals"]:
        for part in entry["parts"]:
            name = part["part"].replace("_", " ")
            row = next(line for line in rows if line.startswith(f"{name}  "))
            assert f"{part['duration_s']:.0f}" in row.split() or f"{part['duration_s']:.1f}".endswith(".5")
            if part["course_deg"] is not None:
                assert re.search(r"\d{3}°", row)
            if part["turn"] is not None:
                banks = re.search(rf"{part['turn']} (\d+)/(\d+)", row)
                assert banks is not None
                mean, peak = (abs(part[key]) for key in ("bank_mean_deg", "bank_peak_deg"))
                # the document is rounded to hundredths before it is compared
                assert (int(banks[1]), int(banks[2])) == (pytest.approx(mean, abs=0.51), pytest.approx(peak, abs=0.51))


def test_courses_have_three_digits_and_say_what_they_are(summaries):
    assert "020°" in summaries["clean.csv"]
    assert "Courses are ground tracks, magnetic." in summaries["clean.csv"]
    assert re.search(r"Wind \d{3}° true, \d+ kt \(± \d+\.\d kt\)", summaries["clean.csv"])


def test_what_is_charted_and_what_was_flown(summaries):
    assert "Charted: procedure turn. Flown: 45/180, left of the outbound course." in summaries["clean.csv"]
    # of a log that begins on the way in, it is not known what was flown before
    assert "Flown: not known, as the log begins 5.9 NM from WND" in " ".join(summaries["straight_in.csv"].split())
    assert "Wind: cannot be estimated from this flight" in summaries["cut_short.csv"]
    assert "No approach" in summaries["arrival_only.csv"]
    assert "Approach 2 of 2" in summaries["two_approaches.csv"]
    assert "the log has no altitude" in folded(summaries["no_altitude.csv"])


def finding_of(check: str, **given: Any) -> Finding:
    return Finding(check, "final", "final", "A sentence.", "inside", **given)


def test_a_limit_with_what_is_allowed_and_what_was_measured_make_the_margin():
    # 209 ft at a decision altitude of 430 ft, of which a go-around may lose 22 ft: 199 ft outside
    decision = finding_of("minimum_altitude", measured=209.0, limit=430.0, unit="ft", tolerance=22.0, margin=-199.0)
    assert limit_text(decision) == "430 ft, 22 ft loss allowed"
    assert decision.measured - (decision.limit - decision.tolerance) == decision.margin
    hold = finding_of("hold_timing", limit=60.0, unit="s", tolerance=10.0)
    assert limit_text(hold) == "60 s ± 10 s"
    # an outbound leg that is shorter, as with the wind behind, is none too short
    assert limit_text(replace(hold, part="outbound")) == "60 s + 10 s at most"
    assert limit_text(finding_of("turn_bank", limit=30.0, unit="deg")) == "30.0°"


@pytest.mark.parametrize(("unit", "name"), [("NM", "hold leg"), ("s", "hold timing")])
def test_the_leg_of_a_hold_is_called_by_what_was_measured_of_it(unit, name):
    assert check_name("hold_timing", unit) == name


@pytest.mark.parametrize(("unit", "shown"), [("ft", "3000-2000"), ("m", "914-610")])
def test_altitudes_of_parts_are_in_the_unit_of_the_chart(unit, shown):
    part = Part("inbound", 0.0, 60.0)
    figures = PartFigures(part, 3704.0, None, 60.0, 3000.0 * 0.3048, 2000.0 * 0.3048, 2000.0 * 0.3048, None)
    row = dict(zip(part_headings(height_unit(unit)), part_row(figures, 0.0, height_unit(unit)), strict=True))
    assert row[f"altitude {unit}"] == shown


@pytest.mark.parametrize(("on_final", "name"), [(True, "final to fix"), (False, "inbound")])
def test_on_the_field_the_way_to_the_fix_is_the_final_leg(on_final, name):
    figures = PartFigures(
        Part("inbound", 0.0, 60.0, of_leg="final" if on_final else None), 3704.0, None, 60.0, 900.0, 600.0, 600.0, None
    )
    assert part_row(figures, 0.0, height_unit("ft"))[0] == name


@pytest.mark.parametrize(("seconds", "shown"), [(1, False), (3, False), (20, True)])
def test_a_final_of_a_second_has_no_row_and_the_log_is_said_to_end_there(seconds, shown, tmp_path, debriefs):
    """A row of "1 s, 0.0 NM" tells nothing. The log is cut so many seconds after the fix is passed inbound."""
    part = debriefs["clean.csv"].approaches[0].reversal.part("final")
    lines = LOGS["clean.csv"].read_text(encoding="utf-8").splitlines()
    first_s = float(debriefs["clean.csv"].motion.track.time_s[0])
    log = tmp_path / "cut.csv"
    log.write_text("\n".join(lines[: 2 + int(part.start_s - first_s) + seconds]) + "\n", encoding="utf-8")
    text = summary_text(analyzer.debrief(analyzer.read_track(log), analyzer.read_procedure(PROCEDURE)))
    rows = [line for line in text.splitlines() if re.match(r"final +\d\d:", line)]
    assert len(rows) == shown
    assert ("The log ends as the final leg begins." in " ".join(text.split())) is not shown


def test_a_log_without_altitudes_has_no_column_of_them(debriefs):
    """Every cell of it was a dash."""
    with_, without = (debriefs[name] for name in ("clean.csv", "no_altitude.csv"))
    headings, rows = parts_table(without.motion, without.approaches[0].figures)
    assert headings == tuple(one for one in parts_table(with_.motion, with_.approaches[0].figures)[0] if one != "altitude ft")
    assert {len(row) for row in rows} == {len(headings)}
    assert not any("-" in row for row in rows)
    (banks,) = {tuple(row[-1].split()[:1]) for row in rows if row[0] == "reversal turn"}
    assert banks == ("right",)
    assert "altitude ft" not in summary_text(without)
    assert "altitude ft" in summary_text(with_)


def test_a_log_over_midnight_has_both_days():
    """That it ends at 00:04 of the day after begun at 23:50 is else not to be told from a log of a week."""
    track = analyzer.read_track(LOGS["clean.csv"])
    begun = datetime(2026, 6, 14, 23, 50, tzinfo=UTC).timestamp()
    late = replace(track, time_s=track.time_s - track.time_s[0] + begun)
    assert span_text(late) == "14 June 2026, 23:50:00 to 15 June 2026, 00:04:53 UTC"
    assert span_text(track) == "14 June 2026, 09:12:00 to 09:26:53 UTC"
    procedure = analyzer.read_procedure(PROCEDURE)
    title = summary_text(analyzer.debrief(late, procedure)).splitlines()[0]
    assert title.endswith("| clean.csv | 14 Jun 2026 23:50 to 15 Jun 2026 00:04 UTC")

"""The tables: RFC 4180, read back by the csv module and by pandas, and safe to open in a spreadsheet."""

import csv
import io
import json
import unicodedata

import pandas as pd
import pytest
from export_flights import DIRECTING, HOSTILE, debriefed_anew, named, saying
from report_flights import CUT_NAMES, SAMPLE_NAMES, instant, truth_near

from analyzer.report.exports.csv_tables import findings_csv, parts_csv, track_csv

TABLES = {"track": track_csv, "parts": parts_csv, "findings": findings_csv}


def rows(text):
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def frame(text):
    return pd.read_csv(io.StringIO(text), parse_dates=["time"])


@pytest.mark.parametrize("name", SAMPLE_NAMES + CUT_NAMES)
@pytest.mark.parametrize("table", TABLES)
def test_every_line_has_the_same_fields_and_ends_as_rfc_4180_asks(debriefs, name, table):
    """Section 2: CRLF after each record, the same number of fields throughout, a heading with distinct names."""
    text = TABLES[table](debriefs[name])
    assert text.endswith("\r\n")
    assert text.count("\n") == text.count("\r\n") == text.count("\r")
    read = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert len(set(read[0])) == len(read[0])
    assert {len(row) for row in read} == {len(read[0])}


def test_the_track_has_a_row_a_sample_at_its_instant(debriefs, flight):
    debrief = debriefs[flight]
    read = frame(track_csv(debrief))
    known = debrief.motion.track.to_frame()["time"]
    assert len(read) == len(known)
    assert ((read["time"] - known).abs() <= pd.Timedelta("0.5ms")).all()
    assert str(read["time"].dt.tz) == "UTC"


def test_the_track_is_where_the_aircraft_was(debriefs, sample):
    """Against the simulator's own record, beyond the receiver's errors of some metres and feet."""
    for row in rows(track_csv(debriefs[sample]))[::97]:
        was = truth_near(sample, row["time"])
        assert float(row["latitude_deg"]) == pytest.approx(float(was["latitude_deg"]), abs=2e-4)
        assert float(row["longitude_deg"]) == pytest.approx(float(was["longitude_deg"]), abs=3e-4)
        assert float(row["altitude_ft"]) == pytest.approx(float(was["altitude_ft"]), abs=80.0)


def test_the_track_keeps_the_figures_of_the_frame(debriefs, sample):
    """Every column of the public table is there, as finely as it is good for."""
    motion = debriefs[sample].motion
    read, whole = frame(track_csv(debriefs[sample])), motion.to_frame()
    assert list(read.columns) == [*whole.columns, "reversal", "hold", "part", "leg", "lap"]
    for column in whole.columns.drop("time"):
        assert read[column].isna().equals(whole[column].isna())
        finest = 1e-7 if column.startswith(("latitude", "longitude")) else 1e-4 if column.endswith("_nm") else 0.06
        assert (read[column] - whole[column]).abs().max() <= finest


@pytest.mark.parametrize("name", ["strong_wind.csv", "two_approaches.csv", "with_gap.csv", "cut_short.csv"])
def test_samples_lie_in_the_part_that_the_json_says(debriefs, documents, name):
    """By its instants alone, to the millisecond."""
    spans = [
        (instant(part["start"]), instant(part["end"]), str(number), part["part"], part["leg"])
        for number, reversal in enumerate(documents[name]["reversals"], 1)
        for part in reversal["parts"]
    ]
    read = rows(track_csv(debriefs[name]))
    seen = set()
    for row in read[:-1]:  # the log's last sample ends a part, and begins none
        inside = [span[2:] for span in spans if span[0] <= instant(row["time"]) < span[1]] or [("", "", "")]
        assert (row["reversal"], row["part"], row["leg"]) == inside[0]
        seen.add(inside[0])
    assert seen - {("", "", "")} == {span[2:] for span in spans}
    assert (read[-1]["reversal"], read[-1]["part"]) == spans[-1][2:4]


def test_a_flight_without_an_approach_lies_in_no_part(debriefs, documents):
    """The log that ends a mile before the fix."""
    assert documents["arrival_only.csv"]["reversals"] == []
    read = rows(track_csv(debriefs["arrival_only.csv"]))
    assert len(read) == 60
    assert {(row["reversal"], row["part"], row["leg"]) for row in read} == {("", "", "")}
    assert rows(parts_csv(debriefs["arrival_only.csv"])) == rows(findings_csv(debriefs["arrival_only.csv"])) == []


def test_what_was_not_logged_is_left_empty(debriefs):
    read = rows(track_csv(debriefs["no_altitude.csv"]))
    assert {row[name] for row in read for name in ("altitude_ft", "altitude_sd_ft", "vertical_speed_fpm")} == {""}
    assert all(float(row["distance_nm"]) >= 0.0 for row in read)


def test_parts_and_findings_are_those_of_the_json(debriefs, documents, flight):
    """Every key and every value, nothing more."""
    for kind, write in (("parts", parts_csv), ("findings", findings_csv)):
        told = []
        for number, reversal in enumerate(documents[flight]["reversals"], 1):
            for row in reversal[kind]:
                flat = {"reversal": number, "hold": None, **row}
                if kind == "findings":
                    excused = flat.pop("excused")
                    flat["excused_verdict"] = None if excused is None else excused["verdict"]
                    lesson = flat.pop("lesson") or {"cause": None, "advice": None}
                    flat |= lesson
                    flat["details"] = json.dumps(flat["details"]) if flat["details"] else None
                    flat |= {"cleared": None, "minimum_line": None}  # nothing was cleared, and one minimum is charted
                told.append({key: "" if value is None else str(value) for key, value in flat.items()})
        assert rows(write(debriefs[flight])) == told


def test_two_approaches_are_told_apart(debriefs):
    for write in TABLES.values():
        assert {row["reversal"] for row in rows(write(debriefs["two_approaches.csv"]))} - {""} == {"1", "2"}


@pytest.mark.parametrize("text", [*HOSTILE, "\t=cmd()", "\r=1", "\uff1d1+1", " =1", "\x1b[31mred"])
def test_no_text_is_a_formula_or_acts(debriefs, text):
    """Whatever a finding says: no cell that a spreadsheet evaluates, no control or directing character."""
    debrief = saying(debriefs["strong_wind.csv"], text)
    written = findings_csv(debrief)
    first = rows(written)[0]
    for column in ("sentence", "source", "cause", "advice", "reason"):
        assert not first[column].lstrip().startswith(("=", "+", "-", "@", "\uff1d"))
        assert first[column]
    assert not DIRECTING.search(written)
    assert not any(unicodedata.category(c) in ("Cc", "Zl", "Zp") for c in written.replace("\r\n", ""))
    assert written.count("\r\n") == len(rows(written)) + 1


def test_hostile_names_lose_nothing_that_can_be_read():
    """A name with quotes, commas and bars is whole again after reading."""
    name = 'W"N,D | <b>; \u05d0'
    assert any(f"Farthest from {name}:" in row["sentence"] for row in rows(findings_csv(named(name))))


def test_numbers_below_nil_stay_numbers(debriefs):
    """West longitudes, descents and banks to the left begin with a minus as formulas do."""
    read = frame(track_csv(debriefs["strong_wind.csv"]))
    assert (read["longitude_deg"] < 0.0).all()
    assert read["bank_deg"].min() < -15.0
    margins = pd.read_csv(io.StringIO(findings_csv(debriefs["strong_wind.csv"])))["margin"]
    assert margins.dtype == float
    assert margins.min() < 0.0


@pytest.mark.parametrize("write", TABLES.values(), ids=TABLES)
def test_the_same_debrief_gives_the_same_bytes(debriefs, write):
    assert write(debriefs["strong_wind.csv"]).encode() == write(debriefed_anew("strong_wind.csv")).encode()

"""Procedure files made of coded records, against the same approaches written by hand, and by the rules of the standard."""

import math

import pytest
from islands import CODED, SAMPLES, chosen, encode, island, tables, with_columns

import analyzer
from analyzer import read_procedure
from analyzer.errors import ProcedureError
from analyzer.procedure.coded.file import read_coded
from analyzer.procedure.schema import Procedure
from analyzer.procedure.write import procedure_toml


@pytest.fixture(scope="module")
def sample():
    return read_coded(CODED)


def by_hand(name):
    return read_procedure(SAMPLES / name).to_json()


def test_the_sample_is_what_its_script_writes():
    records = [record[:123] + f"{i:05d}" + record[128:] for i, record in enumerate(encode.records())]
    assert CODED.read_text(encoding="ascii").splitlines() == records


@pytest.mark.parametrize(("approach", "file"), [("S24-Z", "wendle_island_vorz24.toml"), ("R06", "wendle_island_rnav06.toml")])
def test_an_approach_is_the_one_written_by_hand(sample, approach, file):
    """The reversal, the altitudes, the fixes with their roles and minimums, the missed approach."""
    coded, hand = tables(sample, approach), by_hand(file)
    hand["reversal"].pop("depicted_track", None)
    assert {**coded["reversal"], "depicted_track": False} == {**hand["reversal"], "depicted_track": False}
    assert coded["altitudes"] == hand["altitudes"]
    named = {row["name"]: row for row in coded["fixes"]}
    inbound = coded["reversal"]["inbound_course_deg"] + hand["fix"]["variation_deg_east"]
    for row in hand["fixes"]:
        ours = named.get(
            row["name"], named.get("RW06")
        )  # the missed approach point of the RNAV 06 is the runway in one of them
        assert ours["role"] == row["role"]
        assert ours.get("minimum_ft") == row.get("minimum_ft")
        line = encode.Geodesic.WGS84.Inverse(
            hand["fix"]["latitude_deg"], hand["fix"]["longitude_deg"], ours["latitude_deg"], ours["longitude_deg"]
        )
        assert line["s12"] / encode.NM == pytest.approx(row["distance_nm"], abs=0.01)
        assert math.remainder(line["azi1"] - inbound, 360.0) == pytest.approx(0.0, abs=0.5)
    assert coded["runway"]["true_heading_deg"] == pytest.approx(hand["runway"]["true_heading_deg"], abs=0.1)
    assert coded["missed_approach"]["altitude_ft"] == hand["missed_approach"]["altitude_ft"]
    assert (coded["missed_approach"]["turn"], coded["missed_approach"]["to"]) == (
        hand["missed_approach"]["turn"],
        hand["missed_approach"]["to"],
    )


@pytest.mark.parametrize("approach", ["D24:GERRI", "D24:OSSIN", "I24", "N06", "R06", "S24-Y", "S24-Z", "VOR-A"])
def test_what_is_written_reads_back(sample, tmp_path, approach):
    ident, _, route = approach.partition(":")
    one = chosen(sample, ident, route or None)
    path = tmp_path / "made.toml"
    path.write_text(procedure_toml(one.made.procedure, one.head), encoding="utf-8")
    assert read_procedure(path) == one.made.procedure
    assert "check against the chart" in one.head
    assert "cycle 2606" in one.head


def test_sides_and_turns(sample):
    # a procedure turn's leg holds the turn back: to the right of one on the left of the outbound course
    assert tables(sample, "S24-Z")["reversal"]["side"] == "left"
    assert tables(sample, "S24-Y")["reversal"]["side"] == "right"
    assert tables(sample, "I24")["reversal"]["turn"] == "left"
    assert tables(sample, "D24", "GERRI")["reversal"]["turn"] == "right"
    assert tables(sample, "D24", "OSSIN")["reversal"]["turn"] == "left"


def test_routes_into_the_reversal_and_past_it(sample):
    routes = {row["name"]: row for row in tables(sample, "S24-Z")["arrivals"]}
    assert routes["DORVA"].get("reversal", True)
    assert routes["PELTO"]["reversal"] is False
    # laid out at 200° and 75° from the station: the courses to it are the reciprocals
    assert routes["DORVA"]["course_deg"] == pytest.approx(20.0, abs=0.3)
    assert routes["PELTO"]["course_deg"] == pytest.approx(255.0, abs=0.3)


def test_a_localizer_with_its_width_and_slope(sample):
    made = tables(sample, "I24")
    assert made["guidance"]["kind"] == "localizer"
    assert made["guidance"]["full_scale_deg"] == 2.5  # half of the coded 5.00°
    assert made["glide_path"] == {"angle_deg": 3.0, "threshold_crossing_height_ft": 50.0}


def test_a_glide_slope_that_is_met_before_the_fix(sample):
    """It passes KESTA at 1,748 ft, while 1,800 ft are coded there: on the slope, nothing higher can be kept until the fix."""
    made = chosen(sample, "I24").made
    assert made.procedure.altitudes.inbound_ft == 1748.0
    assert any("1748 ft" in words for words in made.odd)


def test_a_teardrop(sample):
    reversal = tables(sample, "VOR-A")["reversal"]
    assert (reversal["kind"], reversal["turn"]) == ("base-turn", "left")
    assert (reversal["outbound_course_deg"], reversal["inbound_course_deg"]) == (79.0, 241.0)
    assert (reversal["leg_length_nm"], reversal["leg_by"]) == (8.0, "along-track")


def test_declinations_of_station_and_place(tmp_path):
    """A station's courses are by its own declination, an approach by satellite is by the airport's."""

    def aligned(record):
        return with_columns(record, 75, encode.declination(-10.0)) if record[4:6] == "D " else record

    file = island(tmp_path, aligned)
    by_station, by_satellite = tables(file, "S24-Z"), tables(file, "R06")
    assert by_station["fix"]["variation_deg_east"] == -10.0
    assert by_satellite["fix"]["variation_deg_east"] == -8.0
    # the hold of the missed approach is on a radial of the station, 031°, which is 021° true, and 029° by the airport
    (hold,) = tables(file, "N06")["holds"]
    assert hold["inbound_course_deg"] + tables(file, "N06")["fix"]["variation_deg_east"] == pytest.approx(21.0, abs=0.05)


def test_courses_that_are_true(tmp_path):
    """An approach charted by true north: 051° there is 059° magnetic here."""

    def true_north(record):
        if record[13:16] != "R06" or record[47:49] not in ("HF", "TF", "HM", "CA") or not record[70:74].strip():
            return record
        return with_columns(record, 71, f"{round(int(record[70:74]) / 10.0 - 8.0):03d}T")

    made = chosen(island(tmp_path, true_north), "R06").made.procedure
    assert made.reversal.inbound_course_deg == 51.0
    assert made.fix.variation_deg_east == 0.0


def test_the_same_approach_anywhere(sample, tmp_path):
    """The cycle of a record, and its number, change nothing."""
    other = island(tmp_path, lambda record: record[:123] + "99999" + "2613")
    assert tables(other, "S24-Z") == tables(sample, "S24-Z")


@pytest.mark.parametrize(
    ("lost", "approach", "named"),
    [
        ("QUENO", "R06", "terminal waypoint QUENO of region XX"),
        ("KESTA", "I24", "terminal waypoint KESTA"),
        ("WND", "S24-Z", "VHF navaid WND of region XX"),
        ("WI", "N06", "NDB WI"),
    ],
)
def test_a_fix_that_is_needed_and_not_there_is_named(tmp_path, lost, approach, named):
    file = island(tmp_path, lambda record: None if _ident(record) == lost else record)
    with pytest.raises(ProcedureError, match=named):
        chosen(file, approach)


def _ident(record):
    """The ident of a navaid's or a waypoint's record."""
    facility = record[4:6] in ("D ", "DB", "EA") or (record[4] == "P" and record[12] == "C")
    return record[13:18].strip() if facility else ""


def test_what_is_not_needed_is_left_open_and_said(tmp_path):
    without = island(tmp_path, lambda record: None if _ident(record) == "MAPAR" else record)
    made = chosen(without, "S24-Z").made
    assert [row.name for row in made.procedure.fixes] == ["TARRO"]
    assert any("MAPAR" in words for words in made.odd)


def test_a_localizer_without_its_record_is_placed_by_a_fix(sample, tmp_path):
    without = island(tmp_path, lambda record: None if record[4] == "P" and record[12] == "I" else record)
    guidance, whole = tables(without, "I24")["guidance"], tables(sample, "I24")["guidance"]
    apart = encode.Geodesic.WGS84.Inverse(
        guidance["latitude_deg"], guidance["longitude_deg"], whole["latitude_deg"], whole["longitude_deg"]
    )
    assert apart["s12"] / encode.NM < 0.1


def test_an_altitude_that_is_missing_is_no_altitude(tmp_path):
    def without(record):
        return with_columns(record, 83, " " * 12) if record[47:49] == "PI" else record

    altitudes = tables(island(tmp_path, without), "S24-Z")["altitudes"]
    assert "outbound_ft" not in altitudes
    assert "reversal_ft" not in altitudes


def test_a_step_down_without_a_description_is_a_minimum(tmp_path):
    def blank(record):
        return with_columns(record, 83, " ") if record[13:16] == "R06" and record[41] == "S" else record

    made = chosen(island(tmp_path, blank), "R06").made
    row = next(row for row in made.procedure.fixes if row.name == "FASKE")
    assert (row.minimum_ft, row.maximum_ft) == (880.0, None)
    assert any("FASKE" in words and "without a description" in words for words in made.odd)


def test_maximum_speeds(tmp_path):
    def least(record):
        return with_columns(record, 118, "+") if record[47:49] == "PI" else record

    assert tables(island(tmp_path), "S24-Z")["reversal"]["maximum_speed_kias"] == 200.0
    assert "maximum_speed_kias" not in tables(island(tmp_path, least), "S24-Z")["reversal"]


def test_what_does_not_close_is_listed(sample, tmp_path):
    """The sample's fixes lie where their bearings and distances put them; one that is moved by half a mile does not."""
    for ident, route in (("D24", "GERRI"), ("I24", None), ("N06", None), ("R06", None), ("S24-Z", None), ("VOR-A", None)):
        assert not [words for words in chosen(sample, ident, route).made.odd if " off" in words]
    moved = encode.place(encode.off(encode.PLACES["TARRO"], 151.0, 0.5))
    file = island(tmp_path, lambda record: with_columns(record, 33, moved) if _ident(record) == "TARRO" else record)
    odd = [words for words in chosen(file, "S24-Z").made.odd if " off" in words]
    assert any(words.startswith("TARRO at ") and words.endswith("0.50 NM off") for words in odd)


def test_a_procedure_turn_whose_leg_is_not_at_45_degrees_is_said(tmp_path):
    def askew(record):
        return with_columns(record, 71, "0130") if record[47:49] == "PI" and record[13:18] == "S24-Z" else record

    made = chosen(island(tmp_path, askew), "S24-Z").made
    assert any("3.0° off 45°" in words for words in made.odd)
    assert made.procedure.reversal.offset_course_deg is None


def test_a_missed_approach_on_a_course(tmp_path):
    """Without a direction, the turn is the shorter way round: from 241° to 031° that is to the right, 150°."""

    def on_course(record):
        if record[13:18] != "S24-Z" or record[47:49] != "DF":
            return record
        return with_columns(with_columns(with_columns(record, 44, " "), 48, "CF"), 71, "0310")

    missed = tables(island(tmp_path, on_course), "S24-Z")["missed_approach"]
    assert (missed["turn"], missed["course_deg"]) == ("right", 31.0)
    assert "to" not in missed


def test_a_facility_on_the_field(tmp_path):
    """Where the final course leads back to the station, its fixes lie before the station."""
    before = encode.off(encode.WND_AT, 61.0, 4.0)

    def on_field(record):
        if record[13:18] != "S24-Z" or record[19] != "S":
            return record
        number, fix = record[26:29], encode.leg
        station = {"navaid": encode.WND, "course": 241.0}
        rows = {
            "020": fix("S24-Z", "S", 20, "IF", ("LOMBI", "PC"), description="E  F", navaid=encode.WND, theta=61.0, rho=4.0,
                       altitude="+", feet=1800),
            "021": None,
            "030": fix("S24-Z", "S", 30, "CF", encode.WND, description="VY M", distance=4.0, feet=640, **station),
        }  # fmt: skip
        return rows.get(number, record)

    made = tables(island(tmp_path, on_field), "S24-Z")
    assert [(row["name"], row["role"]) for row in made["fixes"]] == [
        ("LOMBI", "final-approach-fix"),
        ("WND", "missed-approach-point"),
    ]
    assert made["altitudes"]["inbound_ft"] == 1800.0
    assert made["fixes"][0]["latitude_deg"] == pytest.approx(before[0], abs=1e-5)


def test_every_procedure_is_one_in_itself(sample):
    """A value made of records is checked like a file: made again from its own tables, it is the same."""
    for ident in ("I24", "N06", "R06", "S24-Y", "S24-Z", "VOR-A"):
        made = chosen(sample, ident).made.procedure
        assert Procedure.model_validate(made.to_json()) == made


def test_the_sample_flight_is_judged_alike_by_the_coded_approach_and_the_one_written_by_hand(sample):
    """``step_down.csv`` goes down to 1,700 ft once established in the hold, as the chart allows, and below FASKE's minimum."""
    track = analyzer.read_track(SAMPLES / "step_down.csv")
    by_hand_made = analyzer.debrief(track, analyzer.read_procedure(SAMPLES / "wendle_island_rnav06.toml"))
    by_records = analyzer.debrief(track, chosen(sample, "R06").made.procedure)
    found = [
        {(one.check, one.fix) for one in made.approaches[0].findings if one.verdict == "outside"}
        for made in (by_hand_made, by_records)
    ]
    assert found == [{("step_down", "FASKE")}] * 2

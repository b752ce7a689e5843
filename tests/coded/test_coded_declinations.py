"""The declination of courses whose own is not in the file: of a beacon, a recommended navaid or the fix, and the remark on it.

The sample island is laid out with a declination of 8° west: its runway 24 leads to 231° true. Here its waypoints state 4° west.
"""

import pytest
from islands import chosen, encode, island, with_columns

TRUE_DEG = 231.0
NEAR = encode.off(encode.PLACES["KESTA"], 90.0, 0.1)


def _kind(record):
    return record[4] + (record[12] if record[4] == "P" else record[5])


def remote(record):
    """Neither the airport nor its localizers; waypoints with the magnetic field's variation, 4° from the declination."""
    if _kind(record) in ("PA", "PI"):
        return None
    return with_columns(record, 75, encode.declination(-4.0)) if _kind(record) in ("PC", "EA") else record


def recommending_wnd(record):
    """The VOR as the recommended navaid of the hold of the ILS."""
    record = remote(record)
    if record is None or record[13:16] != "I24" or record[47:49] != "HF":
        return record
    return with_columns(with_columns(with_columns(record, 51, "WND XX"), 63, " " * 8), 79, "D ")


def beacon(at=NEAR, east_deg=-8.0, ident="IK"):
    return encode.ndb(ident, at, east_deg, "XWND")


def imported(folder, approach, change=remote, more=()):
    """The true inbound course, the remarks on the declination, and the procedure."""
    made = chosen(island(folder, change, more), approach).made
    procedure = made.procedure
    variation = procedure.fix.variation_deg_east
    if procedure.guidance is not None and procedure.guidance.variation_deg_east is not None:
        variation = procedure.guidance.variation_deg_east
    true = None if variation is None else procedure.reversal.inbound_course_deg + variation
    return true, [words for words in made.odd if "courses are by" in words], procedure


def test_a_beacon_at_the_final_fix(tmp_path):
    true, (words,), procedure = imported(tmp_path, "I24", more=[beacon()])
    assert true == pytest.approx(TRUE_DEG, abs=0.05)
    assert "airport's record is not in the file" in words
    assert "beacon IK, 8.0° west" in words
    assert "several degrees" not in words
    # the antenna is placed by a bearing with the same declination
    line = encode.Geodesic.WGS84.Inverse(*encode.ANTENNA_AT, procedure.guidance.latitude_deg, procedure.guidance.longitude_deg)
    assert line["s12"] / encode.NM < 0.1


def test_a_beacon_at_the_final_fix_of_an_approach_by_satellite(tmp_path):
    at = encode.off(encode.PLACES["DULVE"], 0.0, 0.2)
    true, (words,), _ = imported(tmp_path, "R06", more=[beacon(at)])
    assert true == pytest.approx(51.0, abs=0.05)
    assert "beacon IK" in words


def test_the_nearest_of_two_beacons(tmp_path):
    farther = beacon(encode.off(encode.PLACES["KESTA"], 90.0, 0.8), -5.0, "AK")
    true, (words,), _ = imported(tmp_path, "I24", more=[farther, beacon()])
    assert true == pytest.approx(TRUE_DEG, abs=0.05)
    assert "beacon IK" in words


def test_the_recommended_navaid(tmp_path):
    true, (words,), _ = imported(tmp_path, "I24", recommending_wnd)
    assert true == pytest.approx(TRUE_DEG, abs=0.05)
    assert "VHF navaid WND of region XX, 8.0° west" in words


def test_a_beacon_before_the_recommended_navaid(tmp_path):
    true, (words,), _ = imported(tmp_path, "I24", recommending_wnd, [beacon(east_deg=-9.0)])
    assert true == pytest.approx(TRUE_DEG - 1.0, abs=0.05)
    assert "beacon IK" in words


@pytest.mark.parametrize(
    "more",
    [
        [],
        [beacon(encode.off(encode.PLACES["KESTA"], 90.0, 3.0))],  # too far from the fix
        [with_columns(beacon(), 75, "?0080")],  # damaged, but the approach does not name it
    ],
)
def test_only_the_variation_of_the_fix(tmp_path, more):
    """By it the course is 4° off, as far as it is from the declination, and that it may be so is said."""
    true, (words,), _ = imported(tmp_path, "I24", more=more)
    assert true == pytest.approx(TRUE_DEG + 4.0, abs=0.05)
    assert "magnetic variation at KESTA, 4.0° west" in words
    assert "several degrees off" in words


def test_a_station_at_which_the_reversal_begins(tmp_path):
    def at_wnd(record):
        record = remote(record)
        hold = record is not None and record[13:16] == "R06" and record[47:49] == "HF"
        return with_columns(record, 30, "WND  XXD ") if hold else record

    _, (words,), procedure = imported(tmp_path, "R06", at_wnd)
    assert procedure.fix.variation_deg_east == -8.0
    assert "WND, the fix of the reversal, 8.0° west" in words


def test_no_variation_at_all(tmp_path):
    def blank(record):
        record = remote(record)
        return with_columns(record, 75, " " * 5) if record is not None and _kind(record) == "PC" else record

    true, (words,), procedure = imported(tmp_path, "R06", blank)
    assert (true, procedure.fix.variation_deg_east) == (None, None)
    assert "model of the magnetic field" in words
    assert "several degrees off" in words


def test_what_is_in_the_file_comes_first(tmp_path):
    """The airport's declination and a localizer's are those of the chart: 231° by either, whatever a beacon has."""
    other = [beacon(east_deg=-5.0)]
    for kept, remarks in (("PA", 0), ("PI", 1)):
        folder = tmp_path / kept
        folder.mkdir()
        true, words, _ = imported(
            folder, "I24", lambda record, kept=kept: record if _kind(record) == kept else remote(record), other
        )
        assert true == pytest.approx(TRUE_DEG, abs=0.05)
        assert len(words) == remarks
    assert "localizer IWN" in words[0]


def test_an_airport_without_a_variation(tmp_path):
    def blank(record):
        return with_columns(record, 52, " " * 5) if _kind(record) == "PA" else remote(record)

    _, (words,), _ = imported(tmp_path, "I24", blank, [beacon()])
    assert "airport's record has no variation" in words


def test_courses_that_need_none(tmp_path):
    """Of a VOR they are by its own declination, and true ones by none."""

    def by_true_north(record):
        record = remote(record)
        hold = record is not None and record[13:16] == "R06" and record[47:49] == "HF"
        return with_columns(record, 71, "051T") if hold else record

    assert imported(tmp_path, "S24-Z")[:2] == (233.0, [])
    assert imported(tmp_path, "R06", by_true_north)[:2] == (51.0, [])


def test_a_final_course_whose_station_is_not_in_the_file(tmp_path):
    """Its declination is not known, so that of the fix is said to be used; the reversal is moved to a waypoint."""

    def away(record):
        record = remote(record)
        if record is None or record[4:6] == "DB":
            return None
        moved = record[13:16] == "N06" and record[29:31] == "WI"
        return with_columns(record, 30, "DULVEXXPC") if moved else record

    _, (words,), _ = imported(tmp_path, "N06", away)
    assert "magnetic variation at DULVE" in words

"""The fields of every record of the sample, against those that another reader of the standard cuts out of it."""

import pytest
from islands import CODED

from analyzer.procedure.coded.facilities import facility, is_primary, localizer, the_airport, the_runway
from analyzer.procedure.coded.leg import leg_of

arinc424 = pytest.importorskip("arinc424", reason="the other reader is not installed")
RECORDS = CODED.read_text(encoding="ascii").splitlines()[1:]


def fields(record):
    """Names and texts of the fields, by the other reader."""
    other = arinc424.Record()
    assert other.read(record), record
    return {field.name: field.value for field in other.fields}


def tenths(text):
    return int(text) / 10.0 if text.strip() else None


LEGS = [record for record in RECORDS if record[4] == "P" and record[12] == "F" and is_primary(record, 39)]


@pytest.mark.parametrize("record", LEGS, ids=[f"{record[13:19].strip()}-{record[19:29].strip()}" for record in LEGS])
def test_legs(record):
    leg, other = leg_of(record, 0), fields(record)
    assert leg.sequence == other["Sequence Number"]
    named = (leg.fix.ident, leg.fix.region, leg.fix.section) if leg.fix else ("", "", "")
    assert named == tuple(other[name].strip() for name in ("Fix Identifier", "ICAO Code (2)", "Section Code (2)"))
    station = (leg.navaid.ident, leg.navaid.region, leg.navaid.section) if leg.navaid else ("", "", "")
    assert station == tuple(other[name].strip() for name in ("Recommended Navaid", "ICAO Code (3)", "Recommended Navaid (2)"))
    assert leg.description == other["Waypoint Description Code"]
    assert leg.path == other["Path and Termination"].strip()
    assert {"left": "L", "right": "R", None: " "}[leg.turn] == other["Turn Direction"]
    assert (leg.theta_deg, leg.rho_nm) == (tenths(other["Theta"]), tenths(other["Rho"]))
    assert (leg.course.degrees if leg.course else None) == tenths(other["Magnetic Course"])
    length = other["Route / Holding Distance or Time"]
    expected = (None, tenths(length[1:]) * 60.0) if length.startswith("T") else (tenths(length), None)
    assert (leg.distance_nm, leg.time_s) == expected
    assert (leg.speed_kt or 0.0) == float(other["Speed Limit"].strip() or 0.0)
    assert (leg.angle_deg or 0.0) * 100.0 == pytest.approx(float(other["Vertical Angle"].strip() or 0.0))
    assert leg.cycle == other["Cycle Date"]


def _facilities():
    for record in RECORDS:
        if record[4:6] in ("D ", "DB", "EA") or (record[4] == "P" and record[12] in "CGIA"):
            yield pytest.param(record, id=record[4:18].replace(" ", "-"))


@pytest.mark.parametrize("record", list(_facilities()))
def test_facilities(record):
    other = fields(record)
    texts = [value for name, value in other.items() if name.endswith("Latitude") and "Slope" not in name]
    east = next((value for name, value in other.items() if "Variation" in name or "Declination" in name), None)
    if record[12] == "I" and record[4] == "P":
        made = localizer(record)
        assert made.variation_deg_east == pytest.approx(_east(east))
        assert made.slope_deg == int(other["Glide Slope Angle"]) / 100.0
        assert made.width_deg == int(other["Localizer Width"]) / 100.0
    elif record[12] == "G" and record[4] == "P":
        made = the_runway(record)
        assert made.length_ft == float(other["Runway Length"])
        assert made.elevation_ft == float(other["Landing Threshold Elevation"])
        assert made.bearing_deg == tenths(other["Runway Magnetic Bearing"])
    else:
        made = facility(record)
        own = the_airport(record).variation_deg_east if record[12] == "A" and record[4] == "P" else None
        known = [one for one in (own, made.variation_deg_east, made.place_variation_deg_east) if one is not None]
        assert known[0] == pytest.approx(_east(east))
    assert made.latitude_deg == pytest.approx(_degrees(texts[0]), abs=1e-9)


def _east(text):
    return int(text[1:]) / 10.0 * {"E": 1.0, "W": -1.0}[text[0]]


def _degrees(text):
    sign = {"N": 1.0, "S": -1.0}[text[0]]
    return sign * (int(text[1:3]) + int(text[3:5]) / 60.0 + int(text[5:]) / 360_000.0)

"""What has been published about fourteen approaches whose coded records `coded_published.py` imports, and how it is compared.

The table `FACTS` has one row a fact, with its source and its tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from pyproj import Geod

from analyzer.procedure.coded.file import CodedFile
from analyzer.procedure.coded.places import place_of
from analyzer.procedure.coded.select import Chosen

Place = tuple[float, float]  # latitude and longitude in degrees
Value = float | str | Place
FT, NM = 0.3048, 1852.0
_EARTH = Geod(ellps="WGS84")


@dataclass(frozen=True)
class Imported:
    """A procedure as it was imported, and its tables."""

    file: CodedFile
    chosen: Chosen
    tables: dict[str, Any]


@dataclass(frozen=True)
class Quantity:
    """What is compared, in its unit; differences of a place are in m, those of words have no unit."""

    name: str
    unit: str
    measure: Callable[[Imported], Value]


@dataclass(frozen=True)
class Tolerance:
    """The greatest difference that agrees, in the unit of the quantity, and why."""

    most: float
    why: str


@dataclass(frozen=True)
class Fact:
    """A published value; it is a function where published places give it together with fixes of the file."""

    airport: str
    approach: str
    quantity: Quantity
    published: Value | Callable[[Imported], Value]
    tolerance: Tolerance
    source: str
    route: str | None = None


def bearing_deg(one: Place, other: Place) -> float:
    """True bearing from one place to another. [degrees]"""
    return float(_EARTH.inv(one[1], one[0], other[1], other[0])[0]) % 360.0


def distance_m(one: Place, other: Place) -> float:
    """Distance between two places. [m]"""
    return float(_EARTH.inv(one[1], one[0], other[1], other[0])[2])


def apart_deg(one: float, other: float) -> float:
    """The angle from one course to another, positive right. [degrees]"""
    return math.remainder(other - one, 360.0)


def place(made: Imported, table: str, prefix: str = "") -> Place:
    """The place in a table of the procedure."""
    return made.tables[table][f"{prefix}latitude_deg"], made.tables[table][f"{prefix}longitude_deg"]


def true_inbound_deg(made: Imported) -> float:
    """The inbound course, true. [degrees]"""
    guidance, fix = made.tables.get("guidance", {}), made.tables["fix"]
    east = guidance.get("variation_deg_east", fix["variation_deg_east"])
    return float(made.tables["reversal"]["inbound_course_deg"] + east) % 360.0


def missed_hold(made: Imported) -> str:
    """Whether the missed approach ends in the hold of the reversal. Both may be in records that no table is made of."""
    approach, ours = made.chosen.made.approach, made.chosen.made.reversal.leg
    holds = [leg for leg in (*approach.final.legs, *approach.missed) if leg.path == "HM"]
    same = [(leg.fix, leg.course, leg.turn) == (ours.fix, ours.course, ours.turn) for leg in holds]
    return "the reversal's" if same == [True] else "another"


def lda_side(made: Imported) -> str:
    """The side to which the inbound course leads off the runway's heading, and whether by more than 3°."""
    off = apart_deg(HARTFORD_02_DEG, true_inbound_deg(made))
    return f"{'left' if off < 0.0 else 'right'}, {'over' if abs(off) > 3.0 else 'within'} 3°"


def quadrant(made: Imported) -> str:
    """The quadrant in which the fix lies, seen from the end of Hartford's runway."""
    names = ("northeast", "southeast", "southwest", "northwest")
    return names[int(bearing_deg(HARTFORD_02, place(made, "fix")) // 90.0)]


def arc_start(made: Imported) -> Place:
    """Where the arc begins: the fix that its route is named for."""
    start = place_of(made.file, f"{made.chosen.made.approach.airport}/{made.chosen.made.reversal.route}")
    return start.latitude_deg, start.longitude_deg


def arc_turn(made: Imported) -> str:
    """The turn of an arc that is flown about the station's published place, from its start to the final course."""
    turned = apart_deg(bearing_deg(PROVIDENCE, arc_start(made)), bearing_deg(PROVIDENCE, place(made, "fix")))
    return "right" if turned > 0.0 else "left"


def of_table(name: str, unit: str, table: str, key: str) -> Quantity:
    """A quantity that is a value of a table."""
    return Quantity(name, unit, lambda made: made.tables[table][key])


def place_in(name: str, table: str, prefix: str = "") -> Quantity:
    """A quantity that is the place in a table."""
    return Quantity(name, "m", lambda made: place(made, table, prefix))


# Published places, and Hartford's heading (source R), which two quantities are measured from.
KINGSTON, KENNEBUNK, PROVIDENCE = (41.665501, -73.822304), (43.425701, -70.613503), (41.724300, -71.429604)
SALISBURY, SALISBURY_WEST_DEG = (38.345001, -75.510597), 12.001
SANFORD_25 = (43.395502, -70.699997)
HARTFORD_02, HARTFORD_02_DEG, HARTFORD_02_DISPLACED_FT = (41.731602, -72.649803), 9.0, 411.0
HARTFORD_02_THRESHOLD = _EARTH.fwd(HARTFORD_02[1], HARTFORD_02[0], HARTFORD_02_DEG, HARTFORD_02_DISPLACED_FT * FT)[1::-1]

FIX, FIX_KIND = of_table("fix", "", "fix", "name"), of_table("kind of the fix", "", "fix", "kind")
REVERSAL = of_table("reversal", "", "reversal", "kind")
INBOUND = of_table("inbound course", "°", "reversal", "inbound_course_deg")
OUTBOUND = of_table("outbound course", "°", "reversal", "outbound_course_deg")
TRUE_INBOUND = Quantity("true inbound course", "°", true_inbound_deg)
ARRIVAL = of_table("arrival altitude", "ft", "altitudes", "arrival_ft")
WITHIN = of_table("distance to remain within", "NM", "reversal", "within_nm")
HOLD_TIME = of_table("time of the hold's leg", "s", "reversal", "leg_time_s")
FROM_SALISBURY = Quantity(
    "course from SBY to the fix", "°", lambda made: bearing_deg(SALISBURY, place(made, "fix")) + SALISBURY_WEST_DEG
)
MISSED_HOLD = Quantity("hold of the missed approach", "", missed_hold)
LDA_SIDE, QUADRANT = Quantity("course off the runway", "", lda_side), Quantity("fix, seen from the runway", "", quadrant)
FIX_PLACE, STATION_PLACE = place_in("place of the fix", "fix"), place_in("place of the station", "guidance")
FIX_DECLINATION = of_table("declination of the fix", "°", "fix", "variation_deg_east")
STATION_DECLINATION = of_table("declination of the station", "°", "guidance", "variation_deg_east")
ARC_CENTRE, ARC_RADIUS = place_in("centre of the arc", "arc"), of_table("radius of the arc", "NM", "arc", "radius_nm")
ARC_TURN = of_table("turn of the arc", "", "reversal", "turn")
THRESHOLD = place_in("threshold", "runway", "threshold_")
ELEVATION = of_table("elevation of the threshold", "ft", "runway", "threshold_elevation_ft")
HEADING = of_table("true heading of the runway", "°", "runway", "true_heading_deg")

EXACT = Tolerance(0.0, "a word, or a number that charts print as it is coded")
COURSE = Tolerance(0.6, "half of the whole degree that charts round courses to, and 0.1° of the runway's heading")
STRAIGHT_IN = Tolerance(1.0, "straight in, but no rule aims the course of a VOR at the threshold to less than a degree")
CHARTED = Tolerance(0.5, "charted to a whole degree")
DECLINATION = Tolerance(0.01, "whole degrees in the records, and with some thousandths more in the table")
STATION = Tolerance(20.0, "positions of about 10 m in the table, and the records may have another antenna of the station")
MARKER = Tolerance(250.0, "a compass locator stands by the outer marker, some hundred feet from the fix with its name")
END = Tolerance(15.0, "positions of about 10 m in the table, and a survey later")
SURVEY = Tolerance(3.0, "elevations of two surveys")
LINE = Tolerance(0.4, "two ends of about 10 m each over 1 NM of runway")
READ_OFF = Tolerance(0.1, "a radius coded to a tenth of a mile, and fixes on it placed to the same")

SOURCES = {
    "N": "OurAirports, navaids.csv of 11 October 2022 (public domain), as the package ourairports 1.1.0.20221011 ships it; "
    "a station's declination is its slaved_variation_deg",
    "R": "OurAirports, runways.csv, as above",
    "P": '"Mastering the KPOU VOR 24 Approach", a flying school\'s guide, aviator.nyc/blog/vor-24-approach-kpou-nyc-aviators, '
    "read in a stored copy: the primary aid is the Kingston VOR (IGN), the inbound course 218° magnetic",
    "S": '"Approach Plate Question - ILS 32 at SBY", pilotsofamerica.com/community/threads/27230, read in a stored copy: the '
    "chart of 15 January 2009 has a hold at COLBE in the profile, which is that of the missed approach, too, and a feeder from "
    'the Salisbury VORTAC, "2000 to COLBE 140 degrees"',
    "H": "whispertrack.com/airports/KHFD, 20 May 2014, read in a stored copy: the airport asks pilots from the south to come "
    "from the southeast, along the river, and says that the LDA procedure does. An LDA is not aligned with its runway "
    "(FAA Pilot/Controller Glossary); that one within 3° is called a localizer is common practice, no source",
    "A1": "AIM 5-4-9 a: after a procedure turn the inbound course is that of the outbound leg reversed; normally within 10 NM. "
    "The charts' own distances were not found",
    "A2": "AIM 5-3-8 j.4: one minute at or below 14,000 ft. The charts' own times were not found",
}

NOT_COUNTED = (
    (
        "Albany's runway 01/19 is 1,300 ft longer in the records than in the table, which still has the old end of 19, and "
        "Providence's runway 05/23 was lengthened at the end of 05, whose old place the table has: only the other ends are "
        "compared."
    ),
    (
        "The localizer of Bridgeport's runway 06 leads 2.2° to the right of the runway. Nothing published was found that says "
        "so, nor that it does not: of that approach the runway is compared, not the course."
    ),
    (
        "Courses by the variation of a fix, where the records hold neither the airport nor the localizer nor a beacon: it is "
        "the magnetic field's, not what courses are charted by. By the published headings of runways, the true courses of "
        "37 approaches are then up to 5.8° off (PAVL R12; KIJX R31 4.8°, KUIN B22 3.3°), and the import says that they may be. "
        "Aberdeen's (KABR I31), 3.0° off by its fix, is compared, as it is by the declination of its locator beacon."
    ),
    "Side, time, distance and altitudes of most of these reversals: no chart in text was found.",
)


def _reported() -> Iterator[Fact]:
    """Approaches that others describe."""
    yield Fact("KPOU", "S24", FIX, "IGN", EXACT, "P")
    yield Fact("KPOU", "S24", FIX_KIND, "vor", EXACT, "P")
    yield Fact("KPOU", "S24", REVERSAL, "procedure-turn", EXACT, "P")
    yield Fact("KPOU", "S24", INBOUND, 218.0, EXACT, "P")
    yield Fact("KPOU", "S24", OUTBOUND, 38.0, EXACT, "P, A1")
    yield Fact("KSBY", "I32", FIX, "COLBE", EXACT, "S")
    yield Fact("KSBY", "I32", REVERSAL, "hold", EXACT, "S")
    yield Fact("KSBY", "I32", ARRIVAL, 2000.0, EXACT, "S")
    yield Fact("KSBY", "I32", FROM_SALISBURY, 140.0, CHARTED, "S, N")
    yield Fact("KSBY", "I32", MISSED_HOLD, "the reversal's", EXACT, "S")
    yield Fact("KHFD", "X02", LDA_SIDE, "left, over 3°", EXACT, "H, R")
    yield Fact("KHFD", "X02", QUADRANT, "southeast", EXACT, "H, R")


def _courses() -> Iterator[Fact]:
    """By the magnetic course and the declination of the records, the true course is the runway's heading."""
    for airport, approach, heading_deg in (
        ("KABR", "I31", 315.1),
        ("KALB", "I01", 358.2),
        ("KFNL", "I33", 340.4),
        ("KIDP", "I35", 360.0),
        ("KLJF", "R31", 318.6),
        ("KPVD", "I23", 212.0),
        ("KPVD", "I34", 321.7),
        ("KSBY", "I32", 307.0),
        ("KSPI", "I22", 221.5),
    ):
        yield Fact(airport, approach, TRUE_INBOUND, heading_deg, COURSE, "R")
    yield Fact("KSFM", "S25", TRUE_INBOUND, bearing_deg(KENNEBUNK, SANFORD_25), STRAIGHT_IN, "N, R")


def _places() -> Iterator[Fact]:
    """Stations, the arcs about one, and beacons."""
    yield Fact("KPOU", "S24", FIX_PLACE, KINGSTON, STATION, "N")
    yield Fact("KPOU", "S24", FIX_DECLINATION, -12.004, DECLINATION, "N")
    yield Fact("KSFM", "S25", FIX, "ENE", EXACT, "N")
    yield Fact("KSFM", "S25", FIX_KIND, "vor", EXACT, "N")
    yield Fact("KSFM", "S25", FIX_PLACE, KENNEBUNK, STATION, "N")
    yield Fact("KSFM", "S25", FIX_DECLINATION, -17.001, DECLINATION, "N")
    yield Fact("KPVD", "S34-Z", STATION_PLACE, PROVIDENCE, STATION, "N", "RHODY")
    yield Fact("KPVD", "S34-Z", STATION_DECLINATION, -14.001, DECLINATION, "N", "RHODY")
    for route in ("RHODY", "SELLA"):
        yield Fact("KPVD", "S34-Z", ARC_CENTRE, PROVIDENCE, STATION, "N", route)
        yield Fact("KPVD", "S34-Z", ARC_TURN, arc_turn, EXACT, "N", route)
        yield Fact("KPVD", "S34-Z", ARC_RADIUS, lambda made: distance_m(PROVIDENCE, arc_start(made)) / NM, READ_OFF, "N", route)
    for airport, approach, name, beacon in (
        ("KABR", "I31", "RENEY", (45.386002, -98.328400)),
        ("KFNL", "I33", "COLLN", (40.363201, -104.971001)),
        ("KSPI", "I22", "LICOL", (39.911999, -89.603104)),
    ):
        yield Fact(airport, approach, FIX, name, EXACT, "N")
        yield Fact(airport, approach, FIX_PLACE, beacon, MARKER, "N")


def _runways() -> Iterator[Fact]:
    for airport, approach, threshold, elevation_ft, heading_deg in (
        ("KALB", "I01", (42.737202, -73.804298), 285.0, 358.2),
        ("KBDR", "I06", (41.157001, -73.132004), 6.0, 45.0),
        ("KIDP", "I35", (37.149601, -95.776604), 819.0, 360.0),
        ("KLJF", "R31", (45.092999, -94.502098), 1139.0, 318.6),
        ("KPVD", "I23", (41.730499, -71.420998), 44.0, 212.0),
        ("KPVD", "I34", (41.718601, -71.418297), 30.0, 321.7),
    ):
        yield Fact(airport, approach, THRESHOLD, threshold, END, "R")
        yield Fact(airport, approach, ELEVATION, elevation_ft, SURVEY, "R")
        yield Fact(airport, approach, HEADING, heading_deg, LINE, "R")
    yield Fact("KHFD", "X02", THRESHOLD, HARTFORD_02_THRESHOLD, END, "R")  # displaced by 411 ft


def _usual() -> Iterator[Fact]:
    """Limits that rules publish for all such approaches."""
    turns = (("KABR", "I31"), ("KFNL", "I33"), ("KPOU", "S24"), ("KPVD", "I23"), ("KSPI", "I22"))
    holds = (("KALB", "I01"), ("KBDR", "I06"), ("KHFD", "X02"), ("KIDP", "I35"), ("KPVD", "I34"), ("KSBY", "I32"),
             ("KSFM", "S25"))  # fmt: skip
    for airport, approach in turns:
        yield Fact(airport, approach, WITHIN, 10.0, EXACT, "A1")
    for airport, approach in holds:
        yield Fact(airport, approach, HOLD_TIME, 60.0, EXACT, "A2")


FACTS = (*_reported(), *_courses(), *_places(), *_runways(), *_usual())

"""Write `wendle_island_coded.txt`: the invented island's approaches in coded records of 132 columns (ARINC 424-18).

Each function writes one record from its values, column by column as the standard lays it out; `records` puts the island
together. Run this file to write the sample again.
"""

import math
from collections.abc import Iterator
from pathlib import Path

from geographiclib.geodesic import Geodesic

HERE = Path(__file__).resolve().parent
AIRPORT, REGION, CYCLE = "XWND", "XX", "2606"
NM = 1852.0
Position = tuple[float, float]


def laid(columns: dict[int, str]) -> str:
    """A record with texts from the columns they begin at, counted from 1; the last 9 columns are its number and its cycle."""
    record = [" "] * 132
    for first, text in {**columns, 124: "00000", 129: CYCLE}.items():
        record[first - 1 : first - 1 + len(text)] = text
    return "".join(record)


def place(position: Position) -> str:
    """A latitude and a longitude in 19 columns."""
    latitude, longitude = position
    north, east = "N" if latitude >= 0.0 else "S", "E" if longitude >= 0.0 else "W"
    return f"{north}{_sexagesimal(latitude, 2)}{east}{_sexagesimal(longitude, 3)}"


def _sexagesimal(degrees: float, width: int) -> str:
    hundredths = round(abs(degrees) * 360_000.0)
    minutes, parts = divmod(hundredths, 6000)
    return f"{minutes // 60:0{width}d}{minutes % 60:02d}{parts:04d}"


def declination(east_deg: float) -> str:
    """A declination in five columns."""
    return f"{'E' if east_deg >= 0 else 'W'}{round(abs(east_deg) * 10):04d}"


def number(value: float | None, width: int, factor: float = 10.0) -> str:
    """A number in tenths, or in another part, with leading zeros; blank where there is none."""
    return " " * width if value is None else f"{round(value * factor):0{width}d}"


def vhf_navaid(ident: str, at: Position, east_deg: float, elevation_ft: int = 0, kind: str = "VDHW ", airport: str = "") -> str:
    """A VHF navaid: a VOR with DME, unless its class says otherwise."""
    return laid({1: "SEUR", 5: "D ", 7: airport, 11: REGION, 14: ident, 20: REGION, 22: "0", 23: "11280", 28: kind,
                 33: place(at), 52: ident, 56: place(at), 75: declination(east_deg), 80: f"{elevation_ft:05d}",
                 91: "WGE"})  # fmt: skip


def ndb(ident: str, at: Position, east_deg: float, airport: str = "") -> str:
    """A beacon, enroute or of the airport."""
    return laid({1: "SEUR", 5: "PN" if airport else "DB", 7: airport, 11: REGION, 14: ident, 20: REGION, 22: "0", 23: "03450",
                 28: "H  W ", 33: place(at), 75: declination(east_deg), 91: "WGE"})  # fmt: skip


def waypoint(ident: str, at: Position, east_deg: float, airport: str = "") -> str:
    """A waypoint, enroute or of the airport; the variation is a model's."""
    where = {5: "P ", 7: airport, 13: "C"} if airport else {5: "EA", 7: "ENRT"}
    return laid({1: "SEUR", **where, 11: REGION, 14: ident, 20: REGION, 22: "0", 27: "W  ", 33: place(at),
                 75: declination(east_deg), 85: "WGE", 99: ident})  # fmt: skip


def airport(name: str, at: Position, east_deg: float, elevation_ft: int) -> str:
    """The airport."""
    return laid({1: "SEUR", 5: "P ", 7: AIRPORT, 11: REGION, 13: "A", 22: "0", 28: "040", 31: "Y", 33: place(at),
                 52: declination(east_deg), 57: f"{elevation_ft:05d}", 86: "M", 94: name})  # fmt: skip


def runway(ident: str, at: Position, bearing_deg: float, elevation_ft: int, length_ft: int, crossing_ft: int = 50) -> str:
    """One end of a runway; the bearing is magnetic."""
    return laid({1: "SEUR", 5: "P ", 7: AIRPORT, 11: REGION, 13: "G", 14: ident, 22: "0", 23: f"{length_ft:05d}",
                 28: number(bearing_deg, 4), 33: place(at), 67: f"{elevation_ft:05d}", 76: f"{crossing_ft:02d}"})  # fmt: skip


def localizer(
    ident: str, of: str, at: Position, bearing_deg: float, east_deg: float, width_deg: float, slope_deg: float
) -> str:
    """A localizer with its glide slope; the bearing is magnetic."""
    return laid({1: "SEUR", 5: "P ", 7: AIRPORT, 11: REGION, 13: "I", 14: ident, 18: "1", 22: "0", 23: "11090", 28: of,
                 33: place(at), 52: number(bearing_deg, 4), 84: number(width_deg, 4, 100.0), 88: number(slope_deg, 3, 100.0),
                 91: declination(east_deg), 96: "50"})  # fmt: skip


def leg(
    approach: str, route: str, sequence: int, path: str, fix: tuple[str, str] = ("", ""), *, description: str = "",
    turn: str = "", navaid: tuple[str, str] = ("", ""), theta: float | None = None, rho: float | None = None,
    course: float | str | None = None, distance: float | None = None, minutes: float | None = None, altitude: str = "",
    feet: int | None = None, second: int | None = None, speed: int | None = None, speed_is: str = "",
    angle: float | None = None, continuation: str = "0",
) -> str:  # fmt: skip
    """A leg; `route` is the route type and, of a transition, its name: ``ADORVA``. Fix and navaid are idents with sections."""
    length = f"T{round(minutes * 10):03d}" if minutes is not None else number(distance, 4)
    return laid({
        1: "SEUR", 5: "P ", 7: AIRPORT, 11: REGION, 13: "F", 14: approach, 20: route, 27: f"{sequence:03d}", 30: fix[0],
        35: REGION if fix[0] else "", 37: fix[1], 39: continuation, 40: description, 44: turn, 48: path, 51: navaid[0],
        55: REGION if navaid[0] else "", 63: number(theta, 4), 67: number(rho, 4),
        71: course if isinstance(course, str) else number(course, 4), 75: length, 79: navaid[1], 83: altitude,
        85: "" if feet is None else f"{feet:05d}", 90: "" if second is None else f"{second:05d}",
        100: "" if speed is None else f"{speed:03d}", 103: "" if angle is None else f"-{round(angle * 100):03d}", 118: speed_is,
    })  # fmt: skip


def header() -> str:
    """The first header record: its number, the file's name and version, the length and number of records, the cycle."""
    return laid({1: "HDR01WENDLE         001P01320000000" + CYCLE})


WND_AT, VARIATION = (48.35, -24.70), -8.0
RW24_AT, RW06_AT = (48.306868, -24.785736), (48.299967, -24.798507)
WND, WI, LOC = ("WND", "D "), ("WI", "DB"), ("IWN", "PI")


def off(station: Position, magnetic_deg: float, miles: float, east_deg: float = VARIATION) -> Position:
    """The place at a radial and distance from another."""
    found = Geodesic.WGS84.Direct(*station, magnetic_deg + east_deg, miles * NM)
    return found["lat2"], found["lon2"]


ANTENNA_AT = off(RW24_AT, 239.0, (4000.0 + 1000.0) * 0.3048 / NM)
NDB_AT = off(RW06_AT, 239.0, 5.0)
PLACES = {  # the fixes of the airport, by the approach that needs them
    "MAPAR": off(WND_AT, 241.0, 3.8), "TARRO": off(WND_AT, 241.0, 0.9),  # VOR 24
    "TARSU": off(WND_AT, 61.0, 10.0), "LOMBI": off(WND_AT, 61.0, 4.0),  # VOR/DME 24
    "GERRI": off(WND_AT, 1.0, 10.0), "OSSIN": off(WND_AT, 121.0, 10.0),
    "KESTA": off(RW24_AT, 59.0, 5.2), "SIBAR": off(RW24_AT, 59.0, 10.2),  # ILS 24
    "QUENO": off(RW06_AT, 239.0, 9.0), "DULVE": off(RW06_AT, 239.0, 5.0), "FASKE": off(RW06_AT, 239.0, 2.5),  # RNAV 06
}  # fmt: skip
ENROUTE = {"DORVA": off(WND_AT, 200.0, 22.0), "PELTO": off(WND_AT, 75.0, 24.0)}


def fix(ident: str) -> tuple[str, str]:
    """An ident with the section of its record."""
    return ident, "EA" if ident in ENROUTE else "PC"


def polar(at: Position, station: Position = WND_AT, east_deg: float = VARIATION) -> dict[str, float]:
    """Theta and rho of a place from a station."""
    line = Geodesic.WGS84.Inverse(*station, *at)
    return {"theta": (line["azi1"] - east_deg) % 360.0, "rho": line["s12"] / NM}


def _missed_to_wnd(approach: str, kind: str, first: int, final_deg: float = 241.0) -> Iterator[str]:
    yield leg(approach, kind, first, "CA", description="  M ", course=final_deg, altitude="+", feet=1200)
    yield leg(approach, kind, first + 10, "DF", WND, description="VY  ", turn="R", altitude="+", feet=3000)
    yield leg(
        approach, kind, first + 20, "HM", WND, description="VE H", turn="R", course=31.0, minutes=1.0, altitude="+", feet=3000
    )


def _vor24(approach: str, side: str) -> Iterator[str]:
    """The procedure turn at the station, on either side; a route from the east that needs none."""
    offset, turn = (16.0, "R") if side == "left" else (106.0, "L")
    yield leg(approach, "ADORVA", 10, "IF", fix("DORVA"), description="E  A")
    yield leg(approach, "ADORVA", 20, "TF", WND, description="V   ", altitude="+", feet=3000)
    yield leg(approach, "ADORVA", 30, "PI", WND, description="V  A", turn=turn, navaid=WND, theta=0, rho=0, course=offset,
              distance=10.0, altitude="+", feet=2600, speed=200, speed_is="-")  # fmt: skip
    yield leg(approach, "ADORVA", 40, "CF", WND, description="VE  ", navaid=WND, theta=0, rho=0, course=241.0, distance=6.0,
              altitude="+", feet=1800)  # fmt: skip
    yield leg(approach, "APELTO", 10, "IF", fix("PELTO"), description="E  A")
    yield leg(approach, "APELTO", 20, "TF", WND, description="VE B", altitude="+", feet=3000)
    yield leg(approach, "S", 20, "IF", WND, description="V  F", navaid=WND, theta=0, rho=0, altitude="+", feet=1800)
    for number_, name, role, feet in ((21, "TARRO", "E S ", 1400), (30, "MAPAR", "EY M", 540)):
        yield leg(approach, "S", number_, "CF", fix(name), description=role, navaid=WND, **polar(PLACES[name]), course=241.0,
                  distance=polar(PLACES[name])["rho"] - (0.9 if name == "MAPAR" else 0.0),
                  altitude="+" if role == "E S " else "", feet=feet, angle=3.2)  # fmt: skip
    yield from _missed_to_wnd(approach, "S", 40)


def _dme24() -> Iterator[str]:
    """Arcs from either side, and no reversal else."""
    for name, turn, start in (("GERRI", "R", 1.0), ("OSSIN", "L", 121.0)):
        yield leg("D24", f"A{name}", 10, "IF", fix(name), description="E  A", navaid=WND, theta=start, rho=10.0)
        yield leg("D24", f"A{name}", 20, "AF", fix("TARSU"), description="EE B", turn=turn, navaid=WND, theta=61.0, rho=10.0,
                  course=start, altitude="+", feet=2600)  # fmt: skip
    yield leg("D24", "D", 10, "IF", fix("TARSU"), description="E  I", navaid=WND, theta=61.0, rho=10.0, altitude="+", feet=2600)
    yield leg("D24", "D", 20, "CF", fix("LOMBI"), description="E  F", navaid=WND, theta=61.0, rho=4.0, course=241.0,
              distance=6.0, altitude="+", feet=1800)  # fmt: skip
    yield leg("D24", "D", 30, "CF", fix("MAPAR"), description="EY M", navaid=WND, **polar(PLACES["MAPAR"]), course=241.0,
              distance=7.8, feet=540)  # fmt: skip
    yield from _missed_to_wnd("D24", "D", 40)


def _ils24() -> Iterator[str]:
    """A hold in lieu by time at the final approach fix, with left turns; a route that joins the final course before it."""
    yield leg("I24", "AWND", 10, "IF", WND, description="V  A")
    yield leg("I24", "AWND", 20, "TF", fix("KESTA"), description="EY  ", altitude="+", feet=2600)
    yield leg("I24", "AWND", 30, "HF", fix("KESTA"), description="EE A", turn="L", navaid=LOC,
              **polar(PLACES["KESTA"], ANTENNA_AT), course=239.0, minutes=1.0, altitude="+", feet=2600)  # fmt: skip
    yield leg("I24", "APELTO", 10, "IF", fix("PELTO"), description="E  A")
    yield leg("I24", "APELTO", 20, "TF", fix("SIBAR"), description="EE B", altitude="+", feet=2600)
    yield leg("I24", "I", 10, "IF", fix("SIBAR"), description="E  I", navaid=LOC, **polar(PLACES["SIBAR"], ANTENNA_AT),
              altitude="J", feet=2600, second=1740)  # fmt: skip
    yield leg("I24", "I", 20, "CF", fix("KESTA"), description="E  F", navaid=LOC, **polar(PLACES["KESTA"], ANTENNA_AT),
              course=239.0, distance=5.0, altitude="H", feet=1800, second=1748, angle=3.0)  # fmt: skip
    yield leg("I24", "I", 30, "CF", ("RW24", "PG"), description="GY M", navaid=LOC, **polar(RW24_AT, ANTENNA_AT), course=239.0,
              distance=5.2, feet=90, angle=3.0)  # fmt: skip
    yield from _missed_to_wnd("I24", "I", 40, 239.0)


def _rnav06() -> Iterator[str]:
    """A hold in lieu by distance, as in `wendle_island_rnav06.toml`."""
    yield leg("R06", "AQUENO", 10, "HF", fix("QUENO"), description="EE A", turn="R", course=59.0, distance=4.0, altitude="+",
              feet=2600)  # fmt: skip
    yield leg("R06", "ADORVA", 10, "IF", fix("DORVA"), description="E  A")
    yield leg("R06", "ADORVA", 20, "TF", fix("QUENO"), description="EE B", course=_course(ENROUTE["DORVA"], PLACES["QUENO"]),
              distance=_miles(ENROUTE["DORVA"], PLACES["QUENO"]), altitude="+", feet=2600)  # fmt: skip
    # 1,700 ft from established inbound on, and so over QUENO; who comes from DORVA crosses it at 2,600 ft
    yield leg("R06", "R", 10, "IF", fix("QUENO"), description="E  I", altitude="+", feet=1700)
    yield leg("R06", "R", 20, "TF", fix("DULVE"), description="E  F", course=59.0, distance=4.0, altitude="+", feet=1700,
              continuation="1")  # fmt: skip
    yield leg("R06", "R", 20, "", fix("DULVE"), continuation="2", description="WALP")
    yield leg("R06", "R", 21, "TF", fix("FASKE"), description="E S ", course=59.0, distance=2.5, altitude="V", feet=880,
              second=887, angle=3.05)  # fmt: skip
    yield leg("R06", "R", 30, "TF", ("RW06", "PG"), description="GY M", course=59.0, distance=2.5, feet=90, angle=3.05)
    yield leg("R06", "R", 40, "CA", description="  M ", course=59.0, altitude="+", feet=800)
    yield leg("R06", "R", 50, "DF", fix("QUENO"), description="EY  ", turn="R", altitude="+", feet=2600)
    yield leg(
        "R06", "R", 60, "HM", fix("QUENO"), description="EE H", turn="R", course=59.0, distance=4.0, altitude="+", feet=2600
    )


def _vor_a() -> Iterator[str]:
    """A teardrop: 8 NM out from the station, and a left turn back to it."""
    yield leg("VOR-A", "AWND", 10, "FC", WND, description="V  A", navaid=WND, theta=0, rho=0, course=79.0, distance=8.0,
              altitude="+", feet=2600)  # fmt: skip
    yield leg("VOR-A", "AWND", 20, "CF", WND, description="VE  ", turn="L", navaid=WND, theta=0, rho=0, course=241.0,
              distance=8.0, altitude="+", feet=1800)  # fmt: skip
    yield leg("VOR-A", "V", 20, "IF", WND, description="V  F", navaid=WND, theta=0, rho=0, altitude="+", feet=1800)
    yield leg("VOR-A", "V", 30, "CF", fix("MAPAR"), description="EY M", navaid=WND, **polar(PLACES["MAPAR"]), course=241.0,
              distance=3.8, feet=540)  # fmt: skip
    yield from _missed_to_wnd("VOR-A", "V", 40)


def _ndb06() -> Iterator[str]:
    """A procedure turn at a beacon on the final course."""
    yield leg("N06", "ADORVA", 10, "IF", fix("DORVA"), description="E  A")
    yield leg("N06", "ADORVA", 20, "TF", WI, description="N   ", altitude="+", feet=2600)
    yield leg("N06", "ADORVA", 30, "PI", WI, description="NE A", turn="L", navaid=WI, course=284.0, distance=10.0, altitude="+",
              feet=2200)  # fmt: skip
    yield leg("N06", "N", 20, "IF", WI, description="N  F", navaid=WI, altitude="+", feet=1700)
    yield leg("N06", "N", 30, "CF", ("RW06", "PG"), description="GY M", navaid=WI, course=59.0, distance=5.0, feet=90)
    yield from _missed_to_wnd("N06", "N", 40, 59.0)


def _course(one: Position, other: Position) -> float:
    return (Geodesic.WGS84.Inverse(*one, *other)["azi1"] - VARIATION) % 360.0


def _miles(one: Position, other: Position) -> float:
    return float(Geodesic.WGS84.Inverse(*one, *other)["s12"]) / NM


def records() -> list[str]:
    """The island: its station, beacon and fixes, the airport with its approaches, runways and localizer."""
    there = [vhf_navaid("WND", WND_AT, VARIATION, 120), ndb("WI", NDB_AT, VARIATION)]
    there += [waypoint(name, at, -7.6) for name, at in ENROUTE.items()]
    middle = tuple(math.fsum(pair) / 2.0 for pair in zip(RW24_AT, RW06_AT, strict=True))
    there.append(airport("WENDLE ISLAND", (middle[0], middle[1]), VARIATION, 60))
    there += [waypoint(name, at, -7.6, AIRPORT) for name, at in sorted(PLACES.items())]
    there += [*_dme24(), *_ils24(), *_ndb06(), *_rnav06(), *_vor24("S24-Y", "right"), *_vor24("S24-Z", "left"), *_vor_a()]
    there.append(runway("RW06", RW06_AT, 59.0, 40, 4000))
    there.append(runway("RW24", RW24_AT, 239.0, 40, 4000))
    there.append(localizer("IWN", "RW24", ANTENNA_AT, 239.0, VARIATION, 5.0, 3.0))
    return [header(), *there]


if __name__ == "__main__":
    numbered = [record[:123] + f"{i:05d}" + record[128:] for i, record in enumerate(records())]
    (HERE / "wendle_island_coded.txt").write_text("".join(f"{record}\n" for record in numbered), encoding="ascii", newline="\n")

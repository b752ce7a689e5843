"""The invented flight written in each log format, by hand from the formats' own descriptions."""

import gzip
import io
import json
import zipfile
from collections.abc import Callable, Iterator, Mapping
from functools import reduce
from operator import xor

import numpy as np
from flights import HEADER, Flight, csv_text, iso, rows

FT = 0.3048


def points(flight: Flight) -> Iterator[tuple[float, float, float, float]]:
    """Time [s], latitude and longitude [degrees] and altitude [m] of each sample."""
    return zip(flight.time_s, flight.latitude_deg, flight.longitude_deg, flight.altitude_ft * FT, strict=True)


def degrees_and_minutes(angle: float, sides: str, digits: int, decimals: int, mark: str) -> str:
    """``4807.038N``: whole degrees of so many digits, minutes with so many decimals, and the side."""
    units = 10**decimals
    minutes = round(abs(angle) * 60 * units)
    whole, rest = divmod(minutes, 60 * units)
    return f"{whole:0{digits}d}{rest // units:02d}{mark}{rest % units:0{decimals}d}{sides[int(angle < 0)]}"


def signed(metres: float) -> str:
    """Metres in the five columns of an IGC fix."""
    return f"{round(metres):05d}" if metres >= -0.5 else f"-{abs(round(metres)):04d}"


def igc(flight: Flight, date: str = "HFDTEDATE:{},01", extension: tuple[str, int, list[int]] | None = None) -> str:
    """`extension` is a three-letter code, its width and one value a sample."""
    day = iso(flight.time_s[0])
    lines = ["AXXX001invented", date.format(f"{day[8:10]}{day[5:7]}{day[2:4]}"), "HFPLTPILOTINCHARGE:Nobody"]
    if extension is not None:
        lines.append(f"I0136{35 + extension[1]}{extension[0]}")
    for place, (time_s, latitude, longitude, altitude) in enumerate(points(flight)):
        more = "" if extension is None else f"{extension[2][place]:0{extension[1]}d}"
        lines.append(
            f"B{iso(round(time_s))[11:19].replace(':', '')}{degrees_and_minutes(latitude, 'NS', 2, 3, '')}"
            f"{degrees_and_minutes(longitude, 'EW', 3, 3, '')}A{signed(altitude + 60)}{signed(altitude)}{more}"
        )
    return "\r\n".join([*lines, "GABCDEF", ""])


def sentence(body: str) -> str:
    """An NMEA sentence with its checksum."""
    return f"${body}*{reduce(xor, body.encode()):02X}"


def nmea(flight: Flight, talkers: tuple[str, str] = ("GP", "GN"), kinds: tuple[str, ...] = ("RMC", "GSV", "GGA")) -> str:
    lines = []
    for place, (time_s, latitude, longitude, altitude) in enumerate(points(flight)):
        instant = iso(time_s)
        clock = f"{instant[11:19].replace(':', '')}.{round(time_s * 1000) % 1000:03d}"
        where = (
            f"{degrees_and_minutes(latitude, 'NS', 2, 5, '.')[:-1]},{'NS'[int(latitude < 0)]},"
            f"{degrees_and_minutes(longitude, 'EW', 3, 5, '.')[:-1]},{'EW'[int(longitude < 0)]}"
        )
        day = f"{instant[8:10]}{instant[5:7]}{instant[2:4]}"
        bodies = {
            "RMC": f"{talkers[0]}RMC,{clock},A,{where},{116 + place % 3}.4,{place % 360}.5,{day},,,A",
            "GSV": f"{talkers[0]}GSV,1,1,00",
            "GGA": f"{talkers[1]}GGA,{clock},{where},1,08,0.9,{altitude:.1f},M,46.9,M,,",
        }
        lines += [sentence(bodies[kind]) for kind in kinds]
    return "\r\n".join([*lines, ""])


def gpx(flight: Flight) -> str:
    body = "\n".join(
        f'<trkpt lat="{latitude:.7f}" lon="{longitude:.7f}"><ele>{altitude:.2f}</ele><time>{iso(time_s)}</time></trkpt>'
        for time_s, latitude, longitude, altitude in points(flight)
    )
    return f'<?xml version="1.0"?>\n<gpx version="1.1"><trk><trkseg>\n{body}\n</trkseg></trk></gpx>\n'


def kml_track(flight: Flight, prefix: str = "gx:", mode: str = "absolute", *, paired: bool = False) -> str:
    """One track: all times before all places, or in pairs."""
    whens = [f"<when>{iso(time_s)}</when>" for time_s in flight.time_s]
    coords = [f"<{prefix}coord>{lon:.7f} {lat:.7f} {alt:.2f}</{prefix}coord>" for _, lat, lon, alt in points(flight)]
    lines = [line for pair in zip(whens, coords, strict=True) for line in pair] if paired else whens + coords
    shown = f"<altitudeMode>{mode}</altitudeMode>" if mode else ""
    return f"<{prefix}Track>{shown}\n" + "\n".join(lines) + f"\n</{prefix}Track>\n"


def kml(*tracks: str) -> str:
    space = 'xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2"'
    body = tracks[0] if len(tracks) == 1 else f"<gx:MultiTrack>{''.join(tracks)}</gx:MultiTrack>"
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<kml {space}><Placemark>\n{body}</Placemark></kml>\n'


def positions(flight: Flight) -> list[list[float]]:
    return [[round(lon, 8), round(lat, 8), round(alt, 2)] for _, lat, lon, alt in points(flight)]


def geojson(geometry: Mapping[str, object], properties: Mapping[str, object]) -> str:
    feature = {"type": "Feature", "geometry": geometry, "properties": properties}
    return json.dumps({"type": "FeatureCollection", "features": [feature]})


def geojson_line(flight: Flight, name: str = "moments") -> str:
    return geojson(
        {"type": "LineString", "coordinates": positions(flight)}, {"what": "a flight", name: [iso(t) for t in flight.time_s]}
    )


def geojson_points(flight: Flight) -> str:
    features = [
        {"type": "Feature", "geometry": {"type": "Point", "coordinates": position}, "properties": {"at": iso(time_s), "n": n}}
        for n, (position, time_s) in enumerate(zip(positions(flight), flight.time_s, strict=True))
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}, indent=1)


def csv_with_blanks(flight: Flight) -> str:
    return "\n".join(row.replace(",", "   ") for row in [HEADER, *rows(flight)]) + "\n"


def csv_decimal_comma(flight: Flight) -> str:
    lines = ["Zeit UTC;Latitude (°);Longitude (°);Altitude (ft)".replace("Zeit", "time")]
    return "\r\n".join([*lines, *(row.replace(",", ";").replace(".", ",") for row in rows(flight)), ""])


def csv_with_more(flight: Flight) -> str:
    """Units below the header, quotes, comments and columns of other kinds."""
    lines = ["# a flight", '"date","time","lat","lon","alt","ground speed","remark"', "y-m-d,h:m:s,deg,deg,[m],kt,"]
    lines += [
        f'{iso(time_s)[:10]},{iso(time_s)[11:19]},{lat:.8f},{lon:.8f},{alt:.2f},116.{place % 10},"a, b"'
        for place, (time_s, lat, lon, alt) in enumerate(points(flight))
    ]
    return "\n".join([*lines, ""])


def csv_scaled(flight: Flight) -> str:
    lines = ["t_ms,lat,lon,alt_m,"]
    lines += [f"{t * 1e3:.0f},{lat * 1e7:.0f},{lon * 1e7:.0f},{alt:.1f}," for t, lat, lon, alt in points(flight)]
    return "\n".join([*lines, ""])


def zipped(members: Mapping[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in members.items():
            packed.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


# One way or more to write each format.
WRITERS: Mapping[str, Callable[[Flight], bytes]] = {
    "csv": lambda flight: csv_text(flight).encode(),
    "csv blanks": lambda flight: csv_with_blanks(flight).encode(),
    "csv decimal comma": lambda flight: csv_decimal_comma(flight).encode("cp1252"),
    "csv more": lambda flight: csv_with_more(flight).encode("utf-16"),
    "csv scaled": lambda flight: csv_scaled(flight).encode("utf-8-sig"),
    "gpx": lambda flight: gpx(flight).encode(),
    "igc": lambda flight: igc(flight, extension=("GSP", 3, [200 + k % 9 for k in range(len(flight))])).encode(),
    "nmea": lambda flight: nmea(flight).encode(),
    "kml": lambda flight: kml(kml_track(flight)).encode(),
    "kml pairs": lambda flight: kml(
        kml_track(flight.take(slice(0, 9)), "", paired=True), kml_track(flight.take(slice(9, None)), "")
    ).encode(),
    "geojson line": lambda flight: geojson_line(flight).encode(),
    "geojson points": lambda flight: geojson_points(flight).encode(),
    "gzip": lambda flight: gzip.compress(csv_text(flight).encode(), mtime=0),
    "zip": lambda flight: zipped({"log.csv": csv_text(flight).encode(), "picture.png": b"\x89PNG\0\0"}),
}


def at_whole_seconds(flight: Flight) -> Flight:
    """The flight with its places as they are, at whole seconds."""
    return Flight(np.round(flight.time_s), flight.latitude_deg, flight.longitude_deg, flight.altitude_ft)

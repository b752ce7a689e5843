"""Column names in ordinary words: which quantity a name means, and the unit it gives, whatever the order and spelling.

A name is cut into words (``GroundSpeed``, ``ground_speed``, ``groundspeed`` and ``Speed over ground`` alike), its unit is
taken out, abbreviations are written in full, and what is left must be exactly what a quantity is called, give or take the
qualifiers that do not change it. A word that is not known keeps a name from being matched: a selected altitude is no altitude.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from analyzer.frozen import dataclass
from analyzer.track.quantities import UNIT_WORDS, Unit, parse_unit
from analyzer.vocabulary import AltitudeReference

__all__ = ["LOCAL", "Reading", "read_name"]


@dataclass(frozen=True)
class Reading:
    """What a column name says: the quantity it may hold (None: none known) and the unit it gives.

    `rank` orders several columns of one quantity, the lowest being meant; `doubt` says why it is not taken unless the user
    says so; `reference` is what an altitude counts from by its name.
    """

    quantity: str | None
    unit: Unit | None = None
    rank: int = 0
    doubt: str = ""
    reference: AltitudeReference = "unknown"


_FULL: Mapping[str, str] = {
    "lat": "latitude",
    "lon": "longitude",
    "lng": "longitude",
    "long": "longitude",
    "alt": "altitude",
    "ele": "altitude",
    "elev": "altitude",
    "elevation": "altitude",
    "hgt": "height",
    "amsl": "msl",
    "asl": "msl",
    "geo": "geometric",
    "geom": "geometric",
    "gnss": "gps",
    "baro": "barometric",
    "press": "pressure",
    "std": "standard",
    "gnd": "ground",
    "spd": "speed",
    "vel": "speed",
    "velocity": "speed",
    "hdg": "heading",
    "trk": "track",
    "roll": "bank",
    "vert": "vertical",
    "ind": "indicated",
    "mag": "magnetic",
    "gmt": "utc",
    "zulu": "utc",
    "timestamp": "time",
    "datetime": "time",
    "posix": "unix",
    "lcl": "local",
    "1970": "unix",
    "min": "minutes",
    "mins": "minutes",
    "minute": "minutes",
    "sow": "tow",
    "hem": "hemisphere",
    "hemi": "hemisphere",
    "dir": "direction",
    "north/south": "n/s",
    "east/west": "e/w",
    "ellipsoidal": "ellipsoid",
    "radalt": "radio",
    "radar": "radio",
}

# words that say nothing about which quantity it is
_FILLERS = frozenset(
    (
        "the",
        "of",
        "in",
        "value",
        "angle",
        "position",
        "pos",
        "recorded",
        "logged",
        "raw",
        "decimal",
        "dec",
        "iso",
        "8601",
        "z",
        "location",
        "since",
    )
)
_ELAPSED_RANK = 3
_LONGEST = 100  # letters; a longer name is none of a quantity, and is not cut into words

LOCAL = "it is local time, and logs are read in UTC"  # the doubt that a column with the offset takes away

# quantity, the words it needs, the words it may also have, its rank, and why it is in doubt
_CALLED: tuple[tuple[str, str, str, int, str], ...] = (
    ("time", "utc", "time date gps", 0, ""),
    ("time", "unix", "time epoch utc", 1, ""),
    ("time", "epoch", "time utc", 1, ""),
    ("time", "time", "gps", 2, ""),
    ("time", "t", "", 2, ""),
    ("time", "time date", "gps", 2, ""),
    ("time", "elapsed", "time", _ELAPSED_RANK, ""),
    ("time", "local time", "date", 0, LOCAL),
    ("time", "tow", "gps", 2, ""),
    ("gps_week", "gps week", "number", 0, ""),
    ("gps_week", "week", "number", 1, ""),
    ("date", "date", "gps", 2, ""),
    ("date", "date utc", "gps", 0, ""),
    ("date", "local date", "", 0, LOCAL),
    ("utc_offset", "utc offset", "time", 0, ""),
    ("utc_offset", "zone offset", "time utc", 0, ""),
    ("latitude", "latitude", "gps north ellipsoid", 0, ""),
    ("longitude", "longitude", "gps east ellipsoid", 0, ""),
    ("latitude_minutes", "latitude minutes", "gps", 0, ""),
    ("longitude_minutes", "longitude minutes", "gps", 0, ""),
    ("north_south", "n/s", "latitude hemisphere indicator", 0, ""),
    ("north_south", "latitude hemisphere", "indicator", 0, ""),
    ("north_south", "latitude direction", "", 0, ""),
    ("north_south", "latitude indicator", "", 0, ""),
    ("east_west", "e/w", "longitude hemisphere indicator", 0, ""),
    ("east_west", "ew", "longitude hemisphere indicator", 0, ""),
    ("east_west", "longitude hemisphere", "indicator", 0, ""),
    ("east_west", "longitude direction", "", 0, ""),
    ("east_west", "longitude indicator", "", 0, ""),
    ("altitude", "altitude", "gps geometric msl true above mean sea level", 0, ""),
    ("altitude", "height msl", "gps geometric", 0, ""),
    ("altitude", "height above sea level", "gps geometric mean", 0, ""),
    ("altitude", "altitude ellipsoid", "gps geometric height above", 0, "it is above the ellipsoid, not above sea level"),
    ("altitude", "height ellipsoid", "gps geometric above", 0, "it is above the ellipsoid, not above sea level"),
    ("altitude", "hae", "altitude height gps geometric", 0, "it is above the ellipsoid, not above sea level"),
    ("altitude", "height", "gps geometric", 0, "what it is a height above is not stated"),
    ("altitude", "altitude indicated", "barometric", 0, "it is an altimeter's reading, and its setting is not known"),
    ("altitude", "altitude corrected", "barometric pressure", 0, "it is an altimeter's reading, and its setting is not known"),
    ("pressure_altitude", "altitude pressure", "standard", 0, ""),
    ("pressure_altitude", "altitude barometric", "standard pressure", 0, ""),
    ("pressure_altitude", "altitude standard", "", 0, ""),
    ("pressure_altitude", "flight level", "", 0, ""),
    ("pressure_altitude", "fl", "", 0, ""),
    ("ground_speed", "ground speed", "gps over", 0, ""),
    ("ground_speed", "speed gps", "", 0, ""),
    ("ground_speed", "gs", "gps", 0, ""),
    ("ground_speed", "sog", "gps", 0, ""),
    ("ground_speed", "speed", "", 0, "ground speed or airspeed is not stated"),
    ("track", "track", "gps true ground t", 0, ""),
    ("track", "course over ground", "gps true", 0, ""),
    ("track", "course ground", "gps true", 0, ""),
    ("track", "course gps", "true", 0, ""),
    ("track", "cog", "gps true", 0, ""),
    ("track", "track magnetic", "gps ground", 0, "it is magnetic, and true is needed"),
    ("track", "course", "true", 0, "whether flown or selected is not stated"),
    ("heading", "heading true", "", 0, ""),
    ("heading", "heading t", "", 0, ""),
    ("heading", "heading", "", 0, "true or magnetic is not stated"),
    ("heading", "heading magnetic", "", 0, "it is magnetic, and true is needed"),
    ("heading", "heading m", "", 0, "it is magnetic, and true is needed"),
    ("bank", "bank", "", 0, ""),
    ("pitch", "pitch", "", 0, ""),
    ("indicated_airspeed", "indicated airspeed", "", 0, ""),
    ("indicated_airspeed", "ias", "", 0, ""),
    ("indicated_airspeed", "kias", "", 0, ""),
    ("indicated_airspeed", "airspeed", "", 0, "indicated or true is not stated"),
    ("true_airspeed", "true airspeed", "", 0, ""),
    ("true_airspeed", "tas", "", 0, ""),
    ("true_airspeed", "ktas", "", 0, ""),
    ("vertical_speed", "vertical speed", "gps", 0, ""),
    ("vertical_speed", "vertical rate", "", 0, ""),
    ("vertical_speed", "rate climb", "", 0, ""),
    ("vertical_speed", "vs", "", 0, ""),
    ("vertical_speed", "vsi", "", 0, ""),
)  # fmt: skip

# words of an altitude's name, and what it counts from by them
_COUNTS_FROM: tuple[tuple[frozenset[str], AltitudeReference], ...] = (
    (frozenset(("ellipsoid", "hae")), "ellipsoid"),
    (frozenset(("indicated", "corrected")), "indicated altitude"),
    (frozenset(("msl", "sea", "true")), "mean sea level"),
)

_SHAPES = tuple(
    (quantity, frozenset(needs.split()), frozenset((needs + " " + optional).split()), rank, doubt)
    for quantity, needs, optional, rank, doubt in _CALLED
)

# words that name a unit with the quantity
_IMPLIED: Mapping[str, str] = {"kias": "kt", "ktas": "kt", "fl": "fl", "flight": "fl"}

# units that are written as two words, once the sign between them is gone
_PAIRS: Mapping[tuple[str, str], str] = {
    ("m", "s"): "mps",
    ("metres", "second"): "mps",
    ("meters", "second"): "mps",
    ("km", "h"): "kmh",
    ("ft", "min"): "fpm",
    ("feet", "min"): "fpm",
    ("feet", "minute"): "fpm",
    ("ft", "s"): "fps",
    ("feet", "second"): "fps",
    ("1e7", "deg"): "1e7",
    ("1e7", "degrees"): "1e7",
    ("deg", "1e7"): "1e7",
    ("degrees", "1e7"): "1e7",
}

_SIGNS = (
    ("hh:mm:ss", " "),
    ("HH:MM:SS", " "),
    ("hh:mm", " hhmm "),
    ("HH:MM", " hhmm "),
    ("mm:ss", " mmss "),
    ("MM:SS", " mmss "),
    ("°", " deg "),
    ("º", " deg "),
    ("μ", "µ"),
    ("m·s⁻¹", " mps "),
    ("1e-7", " 1e7 "),
    ("WGS84", " ellipsoid "),
    ("WGS 84", " ellipsoid "),
)
_SCALED = re.compile(r"[(\[]\s*(\d[^()\[\]]*)[)\]]")  # a unit with a number before it: (100 ft)
_AGAIN = re.compile(r" \(\d+\)$")  # what a reader adds to a name that comes again
_CHUNK = re.compile(r"[0-9A-Za-zµ/]+")
_PIECE = re.compile(r"E7$|[A-Z]+(?![a-z])|[A-Z]?[a-zµ]+|\d+")
_QUANTITY_WORDS = frozenset(word for _, _, allowed, _, _ in _SHAPES for word in allowed)
_KNOWN = frozenset((*_FULL, *_QUANTITY_WORDS, *UNIT_WORDS, *_FILLERS, "air"))
_JOINABLE = frozenset(word for word in _KNOWN if len(word) >= 3 and word.isalpha()) | {"ft", "kt", "gs"}


@lru_cache(maxsize=1024)
def read_name(name: str) -> Reading:
    """The quantity and unit that a column called `name` holds, by its words.

    >>> reading = read_name("GPS Altitude (ft MSL)")
    >>> reading.quantity, reading.unit.text, reading.reference
    ('altitude', 'ft', 'mean sea level')
    """
    if len(name) > _LONGEST:
        return Reading(None)
    name = _AGAIN.sub("", name)
    bracketed = _SCALED.search(name)
    scaled = parse_unit(bracketed[1]) if bracketed else None
    unit, words = _unit_taken(_words(_SCALED.sub(" ", name) if scaled else name))
    unit = scaled or unit
    meant = frozenset(_FULL.get(word, word) for word in words) - _FILLERS
    if {"air", "speed"} <= meant:
        meant = (meant - {"air", "speed"}) | {"airspeed"}
    if meant == {"gps"} and unit is not None and unit.kind == "time":
        return Reading("time", unit, _ELAPSED_RANK - 1)
    if meant <= {"gps", "week"} and "week" in meant and unit is not None and unit.kind == "time":
        return Reading("time", unit, _ELAPSED_RANK - 1)
    if not meant and unit is not None and unit.kind == "time":
        return Reading("time", unit, _ELAPSED_RANK)
    for quantity, needs, allowed, rank, doubt in _SHAPES:
        if needs <= meant <= allowed:
            implied = [UNIT_WORDS[_IMPLIED[word]] for word in words if word in _IMPLIED]
            return Reading(quantity, unit or (implied[0] if implied else None), rank, doubt, _counts_from(quantity, meant))
    return Reading(None, unit)


def _counts_from(quantity: str, meant: frozenset[str]) -> AltitudeReference:
    """What an altitude counts from by the words of its name; pressure altitude has a quantity of its own."""
    if quantity != "altitude":
        return "unknown"
    return next((reference for words, reference in _COUNTS_FROM if words & meant), "unknown")


def _words(name: str) -> list[str]:
    """The words of a name in small letters: cut at signs, at capitals, and where known words are joined."""
    for sign, spelled in _SIGNS:
        name = name.replace(sign, spelled)
    words: list[str] = []
    for chunk in _CHUNK.findall(name):
        if chunk.lower() in _KNOWN:
            words.append(chunk.lower())
            continue
        for piece in _PIECE.findall(chunk):
            words.extend(_parted(piece.lower()))
    return words


def _parted(piece: str) -> list[str]:
    """A piece as the fewest known words that it can be cut into without rest; the piece itself where there are none."""
    if piece in _KNOWN:
        return [piece]
    best: list[list[str] | None] = [[]] + [None] * len(piece)
    for end in range(1, len(piece) + 1):
        for begin in range(end):
            before, word = best[begin], piece[begin:end]
            if before is not None and word in _JOINABLE:
                here = best[end]
                if here is None or len(before) + 1 < len(here):
                    best[end] = [*before, word]
    return best[-1] or [piece]


def _unit_taken(words: list[str]) -> tuple[Unit | None, list[str]]:
    """The unit among the words and the words without it. Where two units differ, the second stays a word: it is no unit."""
    joined: list[str] = []
    for word in words:
        pair = _PAIRS.get((joined[-1], word)) if joined else None
        if pair is not None:
            joined[-1] = pair
        elif word != "per":
            joined.append(word)
    units = [UNIT_WORDS[word] for word in joined if word in UNIT_WORDS and word not in _IMPLIED]
    unit = units[0] if units else None
    return unit, [word for word in joined if UNIT_WORDS.get(word) is not unit or unit is None]

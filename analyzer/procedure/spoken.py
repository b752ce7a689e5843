"""Charted values as people write them, turned into those of a procedure file: ``N44 06.0``, ``3,500 ft``, ``2:30``, ``FAF``."""

from __future__ import annotations

import re
from collections.abc import Iterator

__all__ = ["left_out", "spoken", "written_as"]

_NOTHING = ("-", "no", "none", "n/a", "na", "nil", "skip", "not charted")
_FT_PER_M = 1.0 / 0.3048
_DIGITS = 7  # of degrees from minutes and seconds: a centimetre
# Synonyms of the choices, in lower case with hyphens; a reading that the key does not accept is skipped.
_WORDS = {
    "if": "intermediate-fix",
    "faf": "final-approach-fix",
    "fap": "final-approach-fix",
    "final-fix": "final-approach-fix",
    "sdf": "step-down",
    "stepdown": "step-down",
    "step-down-fix": "step-down",
    "stepdown-fix": "step-down",
    "map": "missed-approach-point",
    "mapt": "missed-approach-point",
    "missed-approach": "missed-approach-point",
    "pt": "procedure-turn",
    "45/180": "procedure-turn",
    "80/260": "procedure-turn",
    "hilpt": "hold",
    "hold-in-lieu": "hold",
    "holding-pattern": "hold",
    "holding": "hold",
    "racetrack": "hold",
    "teardrop": "base-turn",
    "dme-arc": "arc",
    "straight-in": "none",
    "vor/dme": "vor",
    "vor-dme": "vor",
    "vortac": "vor",
    "ndb/dme": "ndb",
    "rnav": "gps",
    "rnp": "gps",
    "gnss": "gps",
    "loc": "localizer",
    "ils": "localizer",
    "localiser": "localizer",
    "fix": "waypoint",
    "wpt": "waypoint",
    "intersection": "waypoint",
    "om": "marker",
    "lom": "ndb",
    "l": "left",
    "left-turn": "left",
    "left-turns": "left",
    "left-hand": "left",
    "r": "right",
    "right-turn": "right",
    "right-turns": "right",
    "right-hand": "right",
    "mdh": "mda",
    "dh": "da",
    "track": "along-track",
    "atd": "along-track",
}
# The hemispheres that a key has: a latitude where the longitude is asked for is a slip, not 48 degrees east.
_HEMISPHERES = {
    "latitude_deg": "NS",
    "threshold_latitude_deg": "NS",
    "longitude_deg": "EW",
    "threshold_longitude_deg": "EW",
    "variation_deg_east": "EW",
}
# Degrees, minutes and seconds without anything between: N4812.8, 481248N, W02918.0, 0291800.5W.
_PACKED = {"NS": re.compile(r"(\d\d)(\d\d)(\d\d)?(\.\d+)?"), "EW": re.compile(r"(\d{3})(\d\d)(\d\d)?(\.\d+)?")}
_POINTED = re.compile(r"[1-9]\d?\.\d{3}")  # of feet or metres: a point between thousands, as no chart writes thousandths
_EXAMPLES = {"NS": "N44 12.8", "EW": "W029 18.0"}  # by the hemispheres of a position
# The units that a number of a key may be written with; without one it is in the key's own.
_UNITS = {
    "ft": r"ft|feet|foot|'|ft\.? ?msl|msl",
    "nm": r"nm|nmi|dme|(?:nautical )?miles?|d",
    "kias": r"kts?|knots?|kias|ias",
    "kt": r"kts?|knots?|kias|gs",
    "deg": r"°|deg|degrees|°? ?m(ag(netic)?)?|°? ?t(rue)?",
}


def left_out(text: str) -> bool:
    """Whether an answer means that there is nothing to give."""
    return text.strip().lower() in ("", *_NOTHING)


def spoken(key: str, text: str) -> Iterator[object]:
    """The readings of an answer, the likeliest first: a key takes the first that it accepts.

    A number may have its unit, blanks or commas between thousands, and a decimal comma; metres of an altitude become feet.
    Positions may be in degrees, minutes and seconds with their hemisphere, times in minutes and seconds.

    >>> next(spoken("latitude_deg", "N44 06.5")), next(spoken("inbound_ft", "3,500 ft")), next(spoken("leg_time_s", "2:30"))
    (44.1083333, 3500.0, 150.0)
    >>> list(spoken("role", "FAF"))[-1]
    'final-approach-fix'
    """
    said = text.strip()
    if key in _HEMISPHERES:
        yield from _position(said, _HEMISPHERES[key])
    elif key.endswith("_s"):
        yield from _time(said)
    else:
        yield from _number(key, said)
    yield from (said, said.lower(), said.upper())
    word = re.sub(r"[\s_]+", "-", said.lower())
    yield from (word, _WORDS.get(word, word))
    if category := re.fullmatch(r"cat(?:egor(?:y|ies))?-?(.+)", word):
        yield category[1].upper()
    yield from ({"yes": (True,), "y": (True,), "no": (False,), "n": (False,)}.get(word, ()))


def written_as(key: str) -> str:
    """How charts write a key, to stand before what a procedure file takes; empty where the two are alike."""
    example = _EXAMPLES.get(_HEMISPHERES.get(key, "") if key.endswith("itude_deg") else "", "")
    return f"degrees and minutes, which end at 60, like {example}; or " if example else ""


def _decimal(text: str) -> float | None:
    """A number with thousands apart or a decimal comma, None where it is none: ``3,500`` is three thousand five hundred."""
    if re.fullmatch(r"[+-]?\d{1,3}([, ]\d{3})+(\.\d+)?", text):
        return float(re.sub("[, ]", "", text))
    plain = text.replace(",", ".")
    return float(plain) if re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)", plain) else None


def _number(key: str, said: str) -> Iterator[float]:
    unit = key.rsplit("_", 1)[-1] if "_" in key else "kt"  # target speeds have the name of their leg alone
    number, _, suffix = re.fullmatch(r"([+-]?[\d., ]*)(\s*)(.*)", said, re.DOTALL).groups()  # type: ignore[union-attr]
    number = number.strip()
    value = _decimal(number.replace(".", "") if unit in ("ft", "m") and _POINTED.fullmatch(number) else number)
    if value is None:
        return
    if not suffix or re.fullmatch(_UNITS.get(unit, r"$."), suffix.lower()):
        yield value
    elif unit == "ft" and re.fullmatch(r"m|metres?|meters?", suffix.lower()):
        yield round(value * _FT_PER_M, 1)


def _position(said: str, hemispheres: str) -> Iterator[float]:
    """Degrees, with minutes and seconds where they are given, and the letter or word of a hemisphere before or behind."""
    text = said.upper()
    for word in ("NORTH", "SOUTH", "EAST", "WEST"):
        text = text.replace(word, word[0])
    match = re.fullmatch(r"([NSEW]?)\s*([+-]?\d[^NSEW]*?)\s*([NSEW]?)", text)
    if match is None or (match[1] and match[3]):
        return
    hemisphere = match[1] or match[3]
    if hemisphere not in ("", *hemispheres):
        return
    digits = match[2]
    packed = _PACKED[hemispheres].fullmatch(match[2]) if hemisphere else None
    if packed is not None:
        *whole, fraction = packed.groups("")
        digits = " ".join(filter(None, whole)) + fraction
    # no thousands here: a comma is a decimal one
    parts = [_decimal(part.replace(",", ".")) for part in re.split(r"[\s°º:'′\"″]+|(?<=\d)-(?=\d)", digits) if part]
    if not 1 <= len(parts) <= 3 or any(part is None for part in parts):
        return
    first, *smaller = [part for part in parts if part is not None]
    if any(not 0.0 <= part < 60.0 for part in smaller) or (hemisphere and first < 0.0):
        return
    size = abs(first) + sum(part / 60.0**power for power, part in enumerate(smaller, 1))
    negative = hemisphere in ("S", "W") or match[2].startswith("-")
    size = round(size, _DIGITS) if smaller else size  # a number that is written as one stays what it is
    yield -size if negative else size


def _time(said: str) -> Iterator[float]:
    """Seconds, ``2:30``, or minutes and seconds by name."""
    if clock := re.fullmatch(r"(\d+):([0-5]\d)", said):
        yield 60.0 * int(clock[1]) + int(clock[2])
    named = re.fullmatch(r"(?:([\d.,]+)\s*m(?:in(?:utes?)?)?\.?)?\s*(?:([\d.,]+)\s*s(?:ec(?:onds?)?)?\.?)?", said.lower())
    minutes, seconds = (_decimal(part) if part else None for part in (named.groups() if named else ("", "")))
    if minutes is not None or seconds is not None:
        yield 60.0 * (minutes or 0.0) + (seconds or 0.0)
    elif (plain := _decimal(said)) is not None:
        yield plain

"""Decoding the fields of coded records: from text columns to a value in the unit of the field, None if blank.

Columns are counted from 1, as in the standard. The meaning of fields comes from the published field notes of an open-source
reader of ARINC 424-18, with the numbers of chapter 5 of the standard; what is from memory alone is marked so.
"""

import re

from analyzer.frozen import dataclass

__all__ = ["Course", "FieldError", "Levels", "columns", "course", "hundredths", "latitude", "levels", "longitude", "tenths",
           "variation", "whole"]  # fmt: skip

_LATITUDE = re.compile(r"([NS])(\d\d)(\d\d)(\d\d)(\d\d)")
_LONGITUDE = re.compile(r"([EW])(\d{3})(\d\d)(\d\d)(\d\d)")
_NO_ALTITUDE = ("UNKNN", "NESTB", "NOTSP", "GRND", "UNLTD")  # 5.30: not known, not established; the others from memory


class FieldError(ValueError):
    """An invalid field: its name, its columns, and what is accepted."""

    def __init__(self, name: str, first: int, text: str, accepted: str) -> None:
        super().__init__(f"{name} in columns {first} to {first + len(text) - 1} is {text.strip(' ')!r}, not {accepted}")


@dataclass(frozen=True)
class Course:
    """A course in degrees, magnetic unless `true` (5.26: T in the place of the tenths)."""

    degrees: float
    true: bool = False


@dataclass(frozen=True)
class Levels:
    """Altitudes required at a fix.

    Attributes
    ----------
    minimum_ft, maximum_ft : float, optional
        At or above, and at or below. If they are equal, the altitude itself is required.
    described : bool
        Whether the altitude has a description. By the standard, a blank requires the altitude itself.
    slope_ft : float, optional
        Altitude of the electronic glide slope, at the final approach fix.
    unknown : str, optional
        A description that version 18 does not define; then nothing is required.
    """

    minimum_ft: float | None = None
    maximum_ft: float | None = None
    described: bool = True
    slope_ft: float | None = None
    unknown: str | None = None


def columns(record: str, first: int, last: int) -> str:
    """Text of columns `first` to `last`, counted from 1."""
    return record[first - 1 : last]


def whole(record: str, name: str, first: int, last: int) -> int | None:
    """Decode a whole number, with an optional sign."""
    text = columns(record, first, last)
    if not text.strip(" "):
        return None
    if re.fullmatch(r"[-+]?\d+", text.strip(" "), re.ASCII) is None:
        raise FieldError(name, first, text, "a whole number")
    return int(text.strip(" "))


def tenths(record: str, name: str, first: int, last: int) -> float | None:
    """Decode a number in tenths, without a decimal point."""
    number = whole(record, name, first, last)
    return None if number is None else number / 10.0


def hundredths(record: str, name: str, first: int, last: int) -> float | None:
    """Decode a number in hundredths, without a decimal point."""
    number = whole(record, name, first, last)
    return None if number is None else number / 100.0


def course(record: str, name: str, first: int, last: int) -> Course | None:
    """Decode a course in tenths of a degree, or in whole degrees true with a T for the tenths (5.26)."""
    text = columns(record, first, last)
    if not text.strip(" "):
        return None
    if re.fullmatch(r"\d{3}[\dT]", text, re.ASCII) is None:
        raise FieldError(name, first, text, "a course like 2760, or 194T for one that is true")
    course = Course(float(text[:3]), true=True) if text[3] == "T" else Course(int(text) / 10.0)
    if course.degrees > 360.0:
        raise FieldError(name, first, text, "a course up to 360 degrees")
    return course


def latitude(record: str, first: int) -> float | None:
    """Decode a latitude of nine columns, like N39503920. [degrees, north positive]"""
    return _angle(record, "the latitude", first, 9, _LATITUDE, "S", 90.0)


def longitude(record: str, first: int) -> float | None:
    """Decode a longitude of ten columns, like W089404110. [degrees, east positive]"""
    return _angle(record, "the longitude", first, 10, _LONGITUDE, "W", 180.0)


def _angle(record: str, name: str, first: int, length: int, form: re.Pattern[str], negative: str, most: float) -> float | None:
    text = columns(record, first, first + length - 1)
    if not text.strip(" "):
        return None
    match = form.fullmatch(text)
    if match is None or not text[1:].isascii():
        raise FieldError(name, first, text, "a letter with degrees, minutes, seconds and hundredths of a second")
    degrees, minutes, seconds, parts = (int(part) for part in match.groups()[1:])
    angle = degrees + minutes / 60.0 + (seconds + parts / 100.0) / 3600.0
    if angle > most or minutes > 59 or seconds > 59:
        raise FieldError(name, first, text, f"an angle up to {most:g} degrees")
    return -angle if match[1] == negative else angle


def variation(record: str, name: str, first: int) -> float | None:
    """Decode a declination of five columns, like W0130 (5.39, 5.66). [degrees, east positive]

    It is 0 for a station aligned to true north (T), and None for one aligned to grid north (G).
    """
    text = columns(record, first, first + 4)
    if not text.strip(" ") or text[0] == "G":
        return None
    if re.fullmatch(r"[EWT]\d{4}", text, re.ASCII) is None or int(text[1:]) > 1800:
        raise FieldError(name, first, text, "a declination like W0130")
    return {"E": 0.1, "W": -0.1, "T": 0.0}[text[0]] * int(text[1:]) if text[0] != "T" else 0.0


def altitude(record: str, name: str, first: int) -> float | None:
    """Decode an altitude of five columns in feet, or a flight level like FL180. [ft]"""
    text = columns(record, first, first + 4).strip(" ")
    if not text or text in _NO_ALTITUDE:
        return None
    if re.fullmatch(r"FL\d{3}", text, re.ASCII) is not None:
        return float(text[2:]) * 100.0
    number = whole(record, name, first, first + 4)
    return None if number is None else float(number)


def levels(record: str) -> Levels:
    """Decode the altitudes of a leg, by the altitude description in column 83 (5.29).

    If the second altitude is that of the glide slope or of the coded vertical path (G to J and V to Y), the first is required
    at the fix. A blank requires the altitude itself, like ``@``.

    Raises
    ------
    FieldError
        An altitude is invalid.
    """
    code = columns(record, 83, 83)
    first, second = altitude(record, "the altitude", 85), altitude(record, "the second altitude", 90)
    if code == "H":
        return Levels(minimum_ft=first, slope_ft=second)
    if code == "G":
        return Levels(first, first, slope_ft=second)
    if code in "+JV":
        return Levels(minimum_ft=first)
    if code in "-Y":
        return Levels(maximum_ft=first)
    if code in " @IX":
        return Levels(first, first, described=code != " " or first is None)
    if code == "C":
        return Levels(minimum_ft=second)
    if code == "B":
        both = [level for level in (first, second) if level is not None]
        return Levels(min(both), max(both)) if len(both) == 2 else Levels(second, first)
    return Levels(unknown=code)

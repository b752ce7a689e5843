"""Names of files in the folder of a desk: names of uploads are made safe, and requested names must be safe already.

A safe name is one path component that every common file system accepts and no shell, page or path can mistake for something
else: letters and digits of any script, and a few signs. It does not begin with a dot, so hidden files are out of reach.
"""

from __future__ import annotations

import re
import unicodedata

from analyzer.errors import DeskError, printable
from analyzer.safe_text import plain_line

__all__ = ["checked_name", "is_safe", "numbered", "safe_name"]

_MOST_BYTES = 120  # of a name; file systems take 255, and a card's suffix is added
_ADDED = (".toml", ".json")  # to the name of a log, for its card and its report
_LONGEST_SUFFIX = 20  # bytes of what stands behind the first point and is kept when a name is cut
_PLAIN = re.compile(r"[A-Za-z0-9_]([A-Za-z0-9_-]{0,60}[A-Za-z0-9_])?(\.[A-Za-z0-9]{1,4}){0,3}")  # safe for sure
_OTHER = re.compile(r"[^\w .,()+@=-]")
# device names of Windows, whatever the suffix (Microsoft, "Naming Files, Paths, and Namespaces")
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))}


def safe_name(text: str, otherwise: str = "unnamed") -> str:
    r"""A safe version of a file name, using only the last part of a path; `otherwise` if nothing is left.

    >>> safe_name("../../etc/passwd"), safe_name("C:\\logs\\a<b>.csv"), safe_name("con.csv"), safe_name("...")
    ('passwd', 'a-b-.csv', '-con.csv', 'unnamed')
    """
    last = re.split(r"[/\\]", unicodedata.normalize("NFC", plain_line(text)))[-1]
    name = re.sub(r"\s+", " ", _OTHER.sub("-", last)).strip(" .")
    stem, dot, suffix = name.partition(".")
    if stem.strip().lower() in _DEVICES:
        name = f"-{name}"
    stem, dot, suffix = name.partition(".")
    if len(suffix.encode()) > _LONGEST_SUFFIX:
        stem, dot, suffix = name, "", ""
    return _fitting(stem, f"{dot}{suffix}") or otherwise


def _fitting(stem: str, rest: str) -> str:
    """A name cut to the allowed length, keeping its end."""
    room = _MOST_BYTES - len(rest.encode())
    kept = stem if len(stem.encode()) <= room else stem.encode()[:room].decode(errors="ignore").rstrip(" .")
    return f"{kept}{rest}"


def is_safe(name: str) -> bool:
    """Whether a name is safe as it is; most are seen to be so at once."""
    if _PLAIN.fullmatch(name) and name.partition(".")[0].lower() not in _DEVICES:
        return True
    own = name.removesuffix(_ADDED[0]).removesuffix(_ADDED[1])  # the longest names have cards and reports, too
    return bool(own) and (safe_name(name, "") == name or safe_name(own, "") == own)


def checked_name(text: str) -> str:
    """The name itself, where it is safe. Raises `DeskError`."""
    if not is_safe(text):
        raise DeskError(f"{printable(text)[:80]!r}: no name of a file here; go back to the list and choose from it")
    return text


def numbered(name: str, number: int) -> str:
    """The name with a number: ``flight.csv.gz`` becomes ``flight-2.csv.gz``.

    >>> numbered("flight.csv.gz", 2), numbered("flight", 3)
    ('flight-2.csv.gz', 'flight-3')
    """
    stem, dot, suffix = name.partition(".")
    if len(suffix.encode()) > _LONGEST_SUFFIX:
        stem, dot, suffix = name, "", ""
    return _fitting(stem, f"-{number}{dot}{suffix}")

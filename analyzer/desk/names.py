"""Names of files in the folder of a desk: what a browser sends is made safe, and what is asked for must be safe already.

A safe name is one path component that every common file system takes and that no shell, page or path can mistake for something
else: letters and digits of any script, and a few signs. It does not begin with a point, so that hidden files stay out of reach.
"""

from __future__ import annotations

import re
import unicodedata

from analyzer.errors import DeskError, printable
from analyzer.safe_text import plain_line

__all__ = ["checked_name", "numbered", "safe_name"]

_MOST_BYTES = 120  # of a name; file systems take 255, and a card's suffix and a number are added
_OTHER = re.compile(r"[^\w .,()+@=-]")
# names that Windows gives to devices, whatever the suffix (Microsoft, "Naming Files, Paths, and Namespaces")
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))}


def safe_name(text: str, otherwise: str = "unnamed") -> str:
    r"""A file's name made safe; only the last part of a path counts. Where nothing is left, `otherwise`.

    >>> safe_name("../../etc/passwd"), safe_name("C:\\logs\\a<b>.csv"), safe_name("con.csv"), safe_name("...")
    ('passwd', 'a-b-.csv', '-con.csv', 'unnamed')
    """
    last = re.split(r"[/\\]", unicodedata.normalize("NFC", plain_line(text)))[-1]
    name = re.sub(r"\s+", " ", _OTHER.sub("-", last)).strip(" .")
    stem, dot, suffix = name.partition(".")
    if stem.strip().lower() in _DEVICES:
        name = f"-{name}"
    if len(name.encode()) > _MOST_BYTES:
        room = _MOST_BYTES - len(f"{dot}{suffix}".encode()) if len(suffix.encode()) <= 20 else _MOST_BYTES
        kept = (stem if room < _MOST_BYTES else name).encode()[:room].decode(errors="ignore").rstrip(" .")
        name = f"{kept}{dot}{suffix}" if room < _MOST_BYTES else kept
    return name or otherwise


def checked_name(text: str) -> str:
    """The name itself, where it is safe. Raises `DeskError`."""
    if not text or safe_name(text, "") != text:
        raise DeskError(f"{printable(text)[:80]!r}: no name of a file here; go back to the list and choose from it")
    return text


def numbered(name: str, number: int) -> str:
    """The name for another file like it: ``flight.csv.gz`` becomes ``flight-2.csv.gz``.

    >>> numbered("flight.csv.gz", 2), numbered("flight", 3)
    ('flight-2.csv.gz', 'flight-3')
    """
    stem, dot, suffix = name.partition(".")
    return f"{stem}-{number}{dot}{suffix}"

"""Valid logs damaged by chance, as a broken disk, a hasty editor or an attacker would. The same seed, the same file."""

import gzip
import random
from collections.abc import Callable, Sequence

Damage = Callable[[random.Random, bytes], bytes]

PIECES: Sequence[bytes] = (
    *(bytes([sign]) for sign in b"\0\x07\"',;\t|\r\n <>&{}[]$*#%-+.:09"),
    *b"nan inf -inf 1e400 1e-400 null true 24:00:00 9999-12-31T23:59:59Z 0001-01-01T00:00:00+14:00 00:00".split(),
    *b"3/4/2026 180 -180 360 <!DOCTYPE_x> &amp; ]]> <!-- <trkpt> </trkpt> <coord> <when> time lat utc_offset".split(),
    b"9" * 40, b"9" * 5000, b"\xd9\xa3", b"\xc2\xb0", b"\x1b[2J", b"\xff\xfe", b"\xef\xbb\xbf", b"PK\x03\x04", b"\x1f\x8b",
    b"HFDTE320126\n", b"I013699FXA\n", b"I990136XXX\n", b"$GPRMC,,,,,,,,,,\n", b"alt (ft)", b"local time",
    b'"type":"LineString",', b"altitude above ellipsoid",
)  # fmt: skip


def _span(chance: random.Random, data: bytes, longest: int = 60) -> slice:
    begin = chance.randrange(len(data) + 1)
    return slice(begin, min(len(data), begin + chance.randrange(longest)))


def flip(chance: random.Random, data: bytes) -> bytes:
    """A few bytes become others."""
    changed = bytearray(data)
    for _ in range(chance.randrange(1, 5)):
        if changed:
            changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def cut(chance: random.Random, data: bytes) -> bytes:
    """A stretch is lost."""
    span = _span(chance, data, chance.choice((4, 60, 2000)))
    return data[: span.start] + data[span.stop :]


def insert(chance: random.Random, data: bytes) -> bytes:
    """A piece that readers look for appears."""
    span = _span(chance, data, 12)
    return data[: span.start] + chance.choice(PIECES) + data[chance.choice((span.start, span.stop)) :]


def repeat(chance: random.Random, data: bytes) -> bytes:
    """A stretch comes many times."""
    span = _span(chance, data, chance.choice((3, 60)))
    return data[: span.start] + data[span] * chance.choice((2, 3, 50, 3000)) + data[span.stop :]


def truncate(chance: random.Random, data: bytes) -> bytes:
    """The rest is lost."""
    return data[: chance.randrange(len(data) + 1)]


def shuffle(chance: random.Random, data: bytes) -> bytes:
    """Lines change places, or come twice."""
    lines = data.split(b"\n")
    for _ in range(chance.randrange(1, 6)):
        lines.insert(chance.randrange(len(lines) + 1), lines[chance.randrange(len(lines))])
    if chance.random() < 0.3:
        chance.shuffle(lines)
    return b"\n".join(lines)


def digits(chance: random.Random, data: bytes) -> bytes:
    """One digit becomes another wherever it stands, or here and there."""
    old, new = (str(chance.randrange(10)).encode() for _ in range(2))
    return data.replace(old, new, chance.choice((-1, 1, 5, 40)))


def replace(chance: random.Random, data: bytes) -> bytes:
    """A piece of the log becomes a piece that readers look for, wherever it stands."""
    old = data[_span(chance, data, 6)]
    return data.replace(old, chance.choice(PIECES), chance.choice((1, 3, 30))) if old else data


def recode(chance: random.Random, data: bytes) -> bytes:
    """The text in another encoding."""
    return data.decode("latin-1").encode(chance.choice(("utf-16", "utf-16-le", "utf-8", "utf-32")))


def pack(chance: random.Random, data: bytes) -> bytes:
    """Packed once more, and the packing perhaps damaged."""
    packed = gzip.compress(data, 1, mtime=0)
    return chance.choice((flip, truncate))(chance, packed) if chance.random() < 0.7 else packed


DAMAGES: Sequence[Damage] = (
    flip, flip, cut, cut, insert, insert, insert, insert, repeat, truncate, shuffle, digits, replace, replace, recode, pack,
)  # fmt: skip


def damaged(valid: Sequence[bytes], seed: int) -> bytes:
    """One of the valid files after one to six damages, or the halves of two of them joined."""
    chance = random.Random(seed)  # noqa: S311 (no secret)
    data = chance.choice(valid)
    if chance.random() < 0.05:
        other = chance.choice(valid)
        data = truncate(chance, data) + other[chance.randrange(len(other)) :]
    for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
        data = chance.choice(DAMAGES)(chance, data)
        if len(data) > 200_000:
            break
    return data

"""A whole country of coded procedures: how long it takes to index, to look an approach up, and to import one.

    python benchmarks/coded_country.py [RECORDS]

The records are the invented island's, set out again and again over an ocean of one-degree squares under other names: 400,000 of
them, 53 MB, as a large country publishes.
"""

import itertools
import resource
import string
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from analyzer.gradebook.country import read_country
from analyzer.track.read import read_track

FLIGHT = Path(__file__).resolve().parents[1] / "sample_tracks" / "missed_and_hold.csv"
ISLAND = Path(__file__).resolve().parents[1] / "sample_tracks" / "wendle_island_coded.txt"
ROWS, LEAST_LATITUDE, LEAST_LONGITUDE = 60, 5, 24  # one of the islands comes to lie where the sample flights are
LETTERS = string.ascii_uppercase


def country(records: int) -> Iterator[str]:
    """The records of as many islands as it takes, each a degree from the next."""
    header, *island = ISLAND.read_text(encoding="ascii").splitlines()
    yield header
    names = itertools.product(LETTERS, repeat=3)
    for number, name in zip(range(-(-records // len(island))), names, strict=False):
        code, region = "".join(name), LETTERS[number // 500] + LETTERS[number // 20 % 25]
        moved = number % ROWS - 48 + LEAST_LATITUDE, number // ROWS - 24 + LEAST_LONGITUDE
        yield from (_renamed(record, code, region, *moved) for record in island)


def _renamed(record: str, code: str, region: str, north: int, west: int) -> str:
    """A record of the island under its own name and region, so many degrees farther north and west."""
    text = record.replace("XWND", f"Y{code}").replace("XX", region)
    for ident in ("WND", "WI "):
        text = text.replace(f"{ident} ", f"{'N' if ident == 'WI ' else ''}{code}{'' if ident == 'WI ' else ' '}")
    text = text.replace("DORVA", f"DO{code}").replace("PELTO", f"PE{code}")
    for at in (32, 55):
        if text[at] == "N" and text[at + 9] == "W" and text[at + 1 : at + 9].isdigit():
            latitude, longitude = int(text[at + 1 : at + 3]) + north, int(text[at + 10 : at + 13]) + west
            text = f"{text[: at + 1]}{latitude:02d}{text[at + 3 : at + 10]}{longitude:03d}{text[at + 13 :]}"
    return text


def main() -> None:
    """Make the file, and time what is done with it, each in a process of its own."""
    records = int(sys.argv[1]) if len(sys.argv) > 1 else 400_000
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "country.txt"
        path.write_text("".join(f"{record}\n" for record in country(records)), encoding="ascii")
        print(f"{records:,} records, {path.stat().st_size / 1e6:.0f} MB")
        for words, arguments in (
            ("airports, index made", ["import", str(path)]),
            ("approaches of one airport", ["import", str(path), "YABC"]),
            ("one approach", ["import", str(path), "YABC", "VOR Z 24"]),
        ):
            begin = time.perf_counter()
            subprocess.run([sys.executable, "-m", "analyzer", "procedure", *arguments], check=True, capture_output=True)  # noqa: S603
            most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
            print(f"{words}: {time.perf_counter() - begin:.2f} s, most memory so far {most:.0f} MB")
        country_of, track = read_country(path, "straight-in", ()), read_track(FLIGHT)
        begin = time.perf_counter()
        near = country_of.near(track)
        print(f"{len(near)} procedures that a flight passes near, made: {(time.perf_counter() - begin) * 1e3:.0f} ms")


if __name__ == "__main__":
    main()

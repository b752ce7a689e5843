"""Where the bytes come from and how many may come: gzip, zip, standard input, limits, and files made to do harm."""

import gzip
import io
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from flights import Flight, Reader, csv_text, flown
from log_writers import WRITERS, geojson_points, gpx, igc, kml, kml_track, nmea, zipped

from analyzer.errors import LogError
from analyzer.track.limits import Limits
from analyzer.track.options import ReadOptions
from analyzer.track.read import read_track

FLIGHT = flown(120)
CSV = csv_text(FLIGHT).encode()
PICTURE = b"\x89PNG\r\n\x1a\n\0\0\0"
MIB = 2**20


class Stdin:
    """Standard input with these bytes."""

    def __init__(self, content: bytes) -> None:
        self.buffer = io.BytesIO(content)


@pytest.mark.parametrize("name", WRITERS)
@pytest.mark.parametrize("pack", [gzip.compress, lambda content: zipped({"a folder/log": content})], ids=["gzip", "zip"])
def test_every_format_is_read_from_gzip_and_zip_alike(read: Reader, name: str, pack: Callable[[bytes], bytes]) -> None:
    if name in ("gzip", "zip"):
        with pytest.raises(LogError, match="packed more than once: unpack it"):
            read(pack(WRITERS[name](FLIGHT)))
        return
    plain, packed = (read(content) for content in (WRITERS[name](FLIGHT), pack(WRITERS[name](FLIGHT))))
    assert packed.format == plain.format
    for field in ("time_s", "latitude_rad", "longitude_rad", "altitude_m"):
        np.testing.assert_array_equal(getattr(packed, field), getattr(plain, field))


@pytest.mark.parametrize("content", [CSV, gzip.compress(CSV), zipped({"x": CSV})], ids=["plain", "gzip", "zip"])
def test_a_dash_is_standard_input(monkeypatch: pytest.MonkeyPatch, content: bytes) -> None:
    monkeypatch.setattr("sys.stdin", Stdin(content))
    track = read_track("-")
    assert (track.file, len(track)) == ("standard input", 120)
    monkeypatch.setattr("sys.stdin", Stdin(b""))
    with pytest.raises(LogError, match="standard input: the file is empty"):
        read_track("-")


def test_pictures_and_folders_in_a_zip_do_not_count(read: Reader) -> None:
    packed = zipped({"doc.kml": kml(kml_track(FLIGHT)).encode(), "files/icon.png": PICTURE, "__MACOSX/._doc.kml": b"Mac OS X"})
    assert read(packed).format == "KML 2.2"


@pytest.mark.parametrize(
    ("members", "told"),
    [
        ({"a.csv": CSV, "b.csv": CSV}, "a zip with 2 files (a.csv, b.csv): unpack it, and give one log"),
        ({f"{k}.csv": b"1" for k in range(9)}, "a zip with 9 files (0.csv, 1.csv, 2.csv, 3.csv, 4.csv, 5.csv and 3 more)"),
        ({"a.png": PICTURE, "b.png": PICTURE}, "a zip with 2 files (a.png, b.png)"),
        ({}, "a zip with no file in it"),
        ({"[Content_Types].xml": b"<Types/>", "xl/workbook.xml": b"<workbook/>"}, "its sheet as CSV"),
        ({"mimetype": b"application/", "META-INF/manifest.xml": b"<m/>", "content.xml": b"<c/>"}, "its sheet as CSV"),
        ({"a\x1b[2J\n.csv": CSV, "b": CSV}, "a zip with 2 files (a\ufffd[2J .csv, b)"),
    ],
)
def test_a_zip_of_another_number_of_logs_is_refused_by_its_members(read: Reader, members: dict[str, bytes], told: str) -> None:
    with pytest.raises(LogError) as caught:
        read(zipped(members))
    assert told in str(caught.value)


def with_password() -> bytes:
    """A zip whose member is marked as encrypted."""
    content = bytearray(zipped({"log.csv": CSV}))
    for mark, place in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        content[content.index(mark) + place] |= 1
    return bytes(content)


def with_method(method: int) -> bytes:
    """A zip whose member is packed by another method."""
    content = bytearray(zipped({"log.csv": CSV}))
    for mark, place in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
        content[content.index(mark) + place] = method
    return bytes(content)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "the file is empty"),
        (gzip.compress(b" \n", mtime=0), "the file is empty"),
        (gzip.compress(CSV, mtime=0)[:-200], "damaged gzip file"),
        (b"\x1f\x8bnonsense", "damaged gzip file"),
        (zipped({"log.csv": CSV})[:-30], "damaged zip file"),
        (b"PK\x03\x04\0\0\0\0", "damaged zip file"),
        (with_password(), "a zip with a password: unpack it"),
        (with_method(97), "a zip packed in a way that is not known here"),
    ],
)
def test_what_is_damaged_is_refused(read: Reader, content: bytes, message: str) -> None:
    with pytest.raises(LogError) as caught:
        read(content)
    assert f"log.csv: {message}" in str(caught.value)


@pytest.mark.parametrize("size", [1, 20])
def test_a_file_over_the_limit_is_refused_packed_or_not(read: Reader, size: int) -> None:
    options = ReadOptions(limits=Limits(max_bytes=MIB))
    content = (CSV * 300)[: MIB + size]
    for data in (content, gzip.compress(content), zipped({"log": content})):
        with pytest.raises(LogError, match=r"log\.csv: larger than 1 MiB unpacked: cut .*or allow more with --max-bytes"):
            read(data, options)
    assert len(read(content, ReadOptions(limits=Limits(max_bytes=MIB + size)))) == 120


@pytest.mark.parametrize("pack", ["gzip", "zip"])
def test_what_unpacks_to_far_too_much_stops_early(tmp_path: Path, pack: str) -> None:
    """64 MiB of nothing in a small file: never more than the limit and the pieces of it are in memory."""
    bomb = gzip.compress(bytes(64 * MIB)) if pack == "gzip" else zipped({"log": bytes(64 * MIB)})
    assert len(bomb) < MIB
    path = tmp_path / "log.csv"
    path.write_bytes(bomb)
    del bomb
    tracemalloc.start()
    try:
        with pytest.raises(LogError, match="larger than 4 MiB unpacked"):
            read_track(path, ReadOptions(limits=Limits(max_bytes=4 * MIB)))
        assert tracemalloc.get_traced_memory()[1] < 16 * MIB
    finally:
        tracemalloc.stop()


def test_a_zip_that_lies_about_its_size_is_counted_while_it_comes(read: Reader) -> None:
    content = bytearray(zipped({"log": bytes(8 * MIB)}))
    for mark, place in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        begin = content.index(mark) + place
        content[begin : begin + 4] = (100).to_bytes(4, "little")
    with pytest.raises(LogError, match=r"larger than 1 MiB|damaged zip file"):
        read(bytes(content), ReadOptions(limits=Limits(max_bytes=MIB)))


@pytest.mark.parametrize(
    "write", [csv_text, gpx, igc, nmea, lambda flight: kml(kml_track(flight)), geojson_points], ids=lambda write: write.__name__
)
def test_more_samples_than_allowed_are_refused(read: Reader, write: Callable[[Flight], str]) -> None:
    with pytest.raises(LogError, match=r"log\.csv: more than 119 samples: cut .*or allow more with --max-samples"):
        read(write(FLIGHT), ReadOptions(limits=Limits(max_samples=119)))
    assert len(read(write(FLIGHT), ReadOptions(limits=Limits(max_samples=120)))) == 120


def test_a_wide_header_over_short_rows_is_refused_before_it_fills_memory(read: Reader) -> None:
    content = "time_utc,lat,lon,alt_ft," + ",".join(f"c{k}" for k in range(9000)) + "\n" + "2026-05-01T14:00:00Z,1,1,1\n" * 2000
    with pytest.raises(LogError, match=r"more than 100,000 values, 50 for each sample allowed: .*--max-samples"):
        read(content, ReadOptions(limits=Limits(max_samples=2000)))


def test_points_with_elements_of_their_own_each_are_refused(read: Reader) -> None:
    points = "".join(f'<trkpt lat="1" lon="1"><e{k}>1</e{k}></trkpt>' for k in range(600))
    with pytest.raises(LogError, match="more than 500 different elements in the points"):
        read(f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>")


@pytest.mark.parametrize("value", [{"max_bytes": 0}, {"max_samples": -1}])
def test_a_limit_must_be_above_zero(value: dict[str, int]) -> None:
    with pytest.raises(LogError, match=r"--max-(bytes 0|samples -1): must be a whole number above zero"):
        Limits(**value)


def test_a_missing_file_a_folder_and_a_name_that_is_none_are_refused(tmp_path: Path) -> None:
    with pytest.raises(LogError, match=r"none\.csv: cannot be read: No such file or directory"):
        read_track(tmp_path / "none.csv")
    with pytest.raises(LogError, match="a folder, not a log: name one file"):
        read_track(str(tmp_path))
    with pytest.raises(LogError, match=r"a\ufffdb: cannot be read"):
        read_track("a\0b")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (PICTURE, "a picture, not a log: export the log as CSV or GPX. A chart has to be typed in"),
        (b"\xff\xd8\xff\xe0 JFIF, of commas, too", "a picture, not a log"),
        (b"%PDF-1.4\n1 0 obj\n<<>>\nendobj\n", "a PDF, not a log"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a workbook or document: save its sheet as CSV"),
        (b"Dear diary,\nlast night I flew.\nIt was windy.\n", "only one column; is it a position log?"),
    ],
)
def test_what_is_given_by_mistake_is_called_what_it_is(read: Reader, content: bytes, said: str) -> None:
    with pytest.raises(LogError, match=said):
        read(content)

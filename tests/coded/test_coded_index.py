"""The index of a coded file: what it finds, when it is kept next to the file, made again, and left alone."""

import sqlite3
import sys
from pathlib import Path

import pytest
from islands import CODED, encode, tables

from analyzer.errors import ProcedureError
from analyzer.procedure.coded import file as module
from analyzer.procedure.coded.file import index_path, read_coded
from analyzer.procedure.coded.places import is_ident, place_of
from analyzer.procedure.coded.select import all_chosen, approaches_with_reversals

BENCHMARKS = Path(__file__).resolve().parents[2] / "benchmarks"


@pytest.fixture(scope="module")
def country(tmp_path_factory):
    """Twenty-five islands, each a degree from the next."""
    sys.path.insert(0, str(BENCHMARKS))
    from coded_country import country as islands_of

    path = tmp_path_factory.mktemp("country") / "country.txt"
    path.write_text("".join(f"{record}\n" for record in islands_of(2000)), encoding="ascii")
    return path


@pytest.fixture
def kept(monkeypatch):
    """Indexes are kept of files of any size."""
    monkeypatch.setattr(module, "_KEPT_BYTES", 0)


def test_every_island_is_found(country):
    file = read_coded(country)
    counts = file.with_reversals()
    assert {count for _, count in counts} == {7}
    assert [airport for airport, _ in counts] == sorted(file.airports)
    made = [(what, chosen) for what, chosen in all_chosen(file, file.airports)]
    assert not [what for what, chosen in made if isinstance(chosen, ProcedureError)]
    assert len(made) == 8 * len(counts)


def test_the_index_finds_what_is_read(country):
    """An approach is in the index where its records code a reversal, and nowhere else."""
    file = read_coded(country)
    for airport, count in file.with_reversals():
        assert len(list(approaches_with_reversals(file, airport))) == count


def test_what_is_near(country):
    file = read_coded(country)
    places = {}
    for airport in file.airports:
        at = place_of(file, f"{airport}/KESTA")
        places[airport] = at
        near = {ident for where, ident in file.near(at.latitude_deg, at.longitude_deg, 3.0) if where == airport}
        assert {"I24", "S24-Z", "S24-Y", "VOR-A"} <= near
        assert {where for where, _ in file.near(at.latitude_deg, at.longitude_deg, 3.0)} == {airport}
    somewhere = next(iter(places.values()))
    assert file.near(somewhere.latitude_deg + 40.0, somewhere.longitude_deg, 3.0) == []


def test_near_across_the_date_line(tmp_path):
    records = [encode.vhf_navaid("WND", (10.0, 179.99), 0.0)]
    records += [record for record in encode.records() if record[12] in "FA" and record[4] == "P"]
    path = tmp_path / "line.txt"
    path.write_text("".join(f"{record}\n" for record in records), encoding="ascii")
    assert ("XWND", "S24-Z") in read_coded(path).near(10.0, -179.99, 3.0)


def test_it_is_kept_and_used_again(tmp_path, kept):
    path = tmp_path / "island.txt"
    path.write_bytes(CODED.read_bytes())
    first = tables(read_coded(path), "S24-Z")
    index = index_path(path)
    made = index.stat().st_mtime_ns, index.read_bytes()
    assert tables(read_coded(path), "S24-Z") == first
    assert (index.stat().st_mtime_ns, index.read_bytes()) == made
    assert [one.name for one in tmp_path.iterdir() if one not in (path, index)] == []


def test_it_is_made_again_where_the_file_has_changed(tmp_path, kept):
    path = tmp_path / "island.txt"
    path.write_bytes(CODED.read_bytes())
    read_coded(path)
    path.write_bytes(CODED.read_bytes().replace(b"XWND", b"XISL"))
    assert read_coded(path).airports == ("XISL",)


@pytest.mark.parametrize("content", [b"somebody's own", b"", b"SQLite format 3\x00 and no more"])
def test_a_file_that_is_not_ours_is_left_alone(tmp_path, kept, content):
    path = tmp_path / "island.txt"
    path.write_bytes(CODED.read_bytes())
    index_path(path).write_bytes(content)
    assert read_coded(path).airports == ("XWND",)
    assert index_path(path).read_bytes() == content


def test_a_database_of_somebody_else_is_left_alone(tmp_path, kept):
    path = tmp_path / "island.txt"
    path.write_bytes(CODED.read_bytes())
    other = sqlite3.connect(index_path(path))
    other.executescript("CREATE TABLE about (key, value); INSERT INTO about VALUES ('theirs', 1);")
    other.close()
    before = index_path(path).read_bytes()
    assert read_coded(path).airports == ("XWND",)
    assert index_path(path).read_bytes() == before


def test_an_index_that_is_damaged_is_named(tmp_path, kept):
    path = tmp_path / "island.txt"
    path.write_bytes(CODED.read_bytes())
    read_coded(path)
    content = bytearray(index_path(path).read_bytes())
    content[4096:] = bytes(len(content) - 4096)
    index_path(path).write_bytes(content)
    whole = tmp_path / "whole.txt"
    whole.write_bytes(CODED.read_bytes())
    try:
        assert tables(read_coded(path), "S24-Z") == tables(read_coded(whole), "S24-Z")
    except ProcedureError as error:
        assert "delete it, and it is made again" in str(error)  # noqa: PT017 (either it is made again, or it is said)


def test_without_a_place_to_keep_it(tmp_path, kept, monkeypatch):
    path = tmp_path / "island.txt"
    path.write_bytes(CODED.read_bytes())

    def refused(_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(module, "whole_file", refused)
    assert tables(read_coded(path), "S24-Z")["fix"]["name"] == "WND"
    assert not index_path(path).exists()


def test_places_by_their_idents():
    file = read_coded(CODED)
    station = place_of(file, "wnd")
    assert (station.kind, station.latitude_deg, station.variation_deg_east) == ("vor", pytest.approx(48.35), -8.0)
    assert place_of(file, "XX/WND") == station
    assert place_of(file, "XWND/KESTA").kind == "waypoint"
    assert place_of(file, "WI").kind == "ndb"
    for asked, words in (("KESTA", "no navaid or waypoint"), ("YY/WND", "no navaid"), ("", "no navaid")):
        with pytest.raises(ProcedureError, match=words):
            place_of(file, asked)


def test_several_places_of_one_ident(tmp_path):
    path = tmp_path / "two.txt"
    other = encode.vhf_navaid("WND", (10.0, 20.0), 0.0)
    path.write_text(CODED.read_text(encoding="ascii") + other[:19] + "YY" + other[21:] + "\n", encoding="ascii")
    file = read_coded(path)
    with pytest.raises(ProcedureError, match=r"give XX/WND .vor, 48.35 N 24.70 W. or YY/WND .vor, 10.00 N 20.00 E."):
        place_of(file, "WND")
    assert place_of(file, "YY/WND").latitude_deg == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("text", "expected"), [("WND", True), ("K6/WND", True), ("48.35,-24.7", False), ("48", False), ("", False)]
)
def test_what_may_be_an_ident(text, expected):
    assert is_ident(text) is expected

"""Files of coded records: plain, packed, from other authorities, damaged; and whatever else is given in their place."""

import gzip
import io
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from islands import CODED, chosen, encode, island, tables, with_columns, written

from analyzer import read_procedure
from analyzer.errors import AnalyzerError, ProcedureError
from analyzer.procedure.coded.file import read_coded
from analyzer.procedure.coded.select import airport_of, all_chosen, approaches_with_reversals

CONTENT = CODED.read_bytes()


def packed(members):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name, content in members.items():
            target.writestr(name, content)
    return out.getvalue()


@pytest.mark.parametrize(
    "content",
    [
        gzip.compress(CONTENT),
        packed({"ISLAND18": CONTENT}),
        # as it is published: with notices and tables, one of which is longer than the records
        packed({"readme.pdf": b"%PDF-1.7" + bytes(50_000), "folder/": b"", "folder/ISLAND18": CONTENT, "index.txt": b"index"}),
        CONTENT.replace(b"\n", b"\r\n"),
        b"\n" + CONTENT.split(b"\n", 1)[1],  # without its header
        CONTENT + b"\x1a",
    ],
    ids=["gzip", "zip", "zip with notices", "CRLF", "blank first line", "end of file mark"],
)
def test_all_ways_that_a_file_comes(tmp_path, content):
    path = tmp_path / "coded"
    path.write_bytes(content)
    assert tables(read_coded(path), "S24-Z") == tables(read_coded(CODED), "S24-Z")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no coded record"),
        (b"time,latitude,longitude\n1,2,3\n", "no coded record"),
        (b"SHORT\n", "no coded record"),
        (packed({"notes.txt": b"nothing"}), "no member is a file of coded records; it holds notes.txt"),
        (packed({}), "no coded record|cannot be unpacked|no member"),
        (packed({"inner.zip": packed({"ISLAND18": CONTENT})}), "no member"),
        (packed({"ISLAND18": CONTENT})[:-200], "cannot be unpacked"),
        (gzip.compress(CONTENT)[:-20], "cannot be unpacked"),
        (b"PK\x03\x04", "cannot be unpacked"),
    ],
)
def test_what_is_no_such_file_is_refused(tmp_path, content, words):
    path = tmp_path / "coded"
    path.write_bytes(content)
    with pytest.raises(ProcedureError, match=words):
        read_coded(path)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(ProcedureError, match="No such file"):
        read_coded(tmp_path / "coded")
    with pytest.raises(ProcedureError, match="Is a directory"):
        read_coded(tmp_path)


@pytest.mark.parametrize(("begins", "area"), [("SUSA", "a country"), ("SPAC", "an ocean"), ("TCUS", "tailored records")])
def test_other_areas_and_tailored_records(tmp_path, begins, area):
    other = island(tmp_path, lambda record: begins + record[4:] if record[0] == "S" else record)
    assert tables(other, "R06") == tables(read_coded(CODED), "R06")


def test_records_of_other_kinds_are_passed_over(tmp_path):
    """Airways, communications, airspace; and continuation records of other applications."""
    others = [
        with_columns(encode.laid({1: "SEUR", 5: "ER"}), 14, "V123"),
        with_columns(encode.laid({1: "SEUR", 5: "P ", 7: "XWND", 13: "V"}), 14, "TWR"),
        with_columns(encode.laid({1: "SEUR", 5: "UC"}), 10, "XWND"),
        encode.leg("S24-Z", "S", 30, "", ("MAPAR", "PC"), continuation="3", description="P"),
        with_columns(encode.vhf_navaid("WND", (1.0, 2.0), 0.0), 22, "2"),
    ]
    assert tables(island(tmp_path, more=others), "S24-Z") == tables(read_coded(CODED), "S24-Z")


def test_what_another_version_codes_otherwise_is_said(tmp_path):
    """A path and an altitude's description that are not of version 18: the rest is read."""

    def later(record):
        if record[13:18] != "S24-Z" or record[19:21] != "S ":
            return record
        return {"021": with_columns(record, 83, "Q"), "050": with_columns(record, 48, "XX")}.get(record[26:29], record)

    made = chosen(island(tmp_path, later), "S24-Z").made
    assert any("the altitude of leg 021 of the final route is described as Q" in words for words in made.odd)
    assert any("leg 050 of the final route has a path XX" in words for words in made.odd)
    assert next(row for row in made.procedure.fixes if row.name == "TARRO").minimum_ft is None
    assert made.procedure.reversal.inbound_course_deg == 241.0


def test_a_fix_of_the_same_name_elsewhere(tmp_path):
    """Idents are unique within a region and a section only."""
    others = [
        with_columns(encode.vhf_navaid("WND", (10.0, 20.0), 0.0), 20, "YY"),
        encode.waypoint("WND", (11.0, 21.0), 0.0),
        encode.ndb("WND", (12.0, 22.0), 0.0),
        encode.waypoint("TARRO", (13.0, 23.0), 0.0, "XOTH"),
    ]
    assert tables(island(tmp_path, more=others), "S24-Z") == tables(read_coded(CODED), "S24-Z")


def test_two_places_of_one_fix_are_refused(tmp_path):
    file = island(tmp_path, more=[encode.vhf_navaid("WND", (10.0, 20.0), 0.0)])
    with pytest.raises(ProcedureError, match=r"lines 2 and \d+ hold different places of VHF navaid WND"):
        chosen(file, "S24-Z")


def test_a_leg_that_is_there_twice(tmp_path):
    again = [record for record in encode.records() if record[13:18] == "S24-Z"]
    assert tables(island(tmp_path, more=again), "S24-Z") == tables(read_coded(CODED), "S24-Z")
    other = with_columns(again[2], 71, "0200")
    with pytest.raises(ProcedureError, match=r"two records are leg \d{3} of one route"):
        chosen(island(tmp_path, more=[other]), "S24-Z")


def test_a_damaged_leg_is_named_by_its_line(tmp_path):
    def damage(record):
        return with_columns(record, 71, "2X10") if record[13:18] == "S24-Z" and record[47:49] == "CF" else record

    file = island(tmp_path, damage)
    with pytest.raises(ProcedureError, match=r"line \d+, XWND S24-Z: the course in columns 71 to 74 is '2X10'"):
        chosen(file, "S24-Z")
    assert tables(file, "S24-Y") == tables(read_coded(CODED), "S24-Y")
    listed = dict(approaches_with_reversals(file, "XWND"))
    assert isinstance(listed["S24-Z"], ProcedureError)
    assert len(listed) == 7


def test_lines_that_are_cut_are_said(tmp_path):
    def cut(record):
        return record[:100] if record[13:18] == "S24-Z" and record[26:29] == "021" else record

    one = chosen(island(tmp_path, cut), "S24-Z")
    assert "lines of this airport that are no records" in one.head
    assert [row.name for row in one.made.procedure.fixes] == ["MAPAR"]


def test_records_that_are_missing_are_said(tmp_path):
    def without(record):
        gone = record[13:18] == "S24-Z" and (record[19], record[26:29]) in (("A", "010"), ("S", "030"))
        return None if gone else record

    odd = chosen(island(tmp_path, without), "S24-Z").made.odd
    assert any("transition DORVA has no beginning" in words for words in odd)
    assert any("no record between 021 and 040" in words for words in odd)
    assert any("no missed approach point" in words for words in odd)


def test_choosing(tmp_path):
    file = read_coded(CODED)
    for asked in ("S24-Z", "s24-z", "VOR Z 24", "vor z 24", "VORZ24", "Z 24"):
        assert chosen(file, asked).made.approach.ident == "S24-Z"
    assert chosen(file, "ILS 24").made.approach.ident == "I24"
    assert chosen(file, "RNAV").made.approach.ident == "R06"
    assert chosen(file, "VOR-A").made.approach.ident == "VOR-A"
    for asked, words in (
        ("VOR 24", "several approaches match; give .*S24-Y .VOR Y 24.*S24-Z"),
        ("ILS 25", r"did you mean .*I24 \(ILS 24\)"),
        ("GLS 33", "no approach GLS 33; "),
        ("VOR/DME 24", "--from GERRI for the 10 NM arc about WND to TARSU, to the right; --from OSSIN"),
    ):
        with pytest.raises(ProcedureError, match=words):
            chosen(file, asked)
    with pytest.raises(ProcedureError, match="that route has no course reversal; those with one are from DORVA"):
        chosen(file, "VOR Z 24", "PELTO")
    with pytest.raises(ProcedureError, match="no such route; those with one are from DORVA"):
        chosen(file, "VOR Z 24", "QQQQQ")
    with pytest.raises(ProcedureError, match=r"no airport xwne; did you mean XWND"):
        airport_of(file, "xwne")


def test_wherever_a_procedure_file_is_named(tmp_path):
    assert read_procedure(f"{CODED}:XWND:VOR Z 24") == chosen(read_coded(CODED), "S24-Z").made.procedure
    assert read_procedure(f"{CODED}:xwnd:VOR/DME 24:OSSIN").reversal.turn == "left"
    for path, words in (
        (f"{CODED}:XWND:ILS 33", "no approach ILS 33"),
        (f"{CODED}:EGXX:ILS 24", "no airport EGXX"),
        (f"{CODED}", "name the airport and the approach, like .*:AIRPORT:APPROACH"),
        (f"{CODED}x:XWND:ILS 24", "No such file"),
        (f"{CODED}:XWND", "No such file"),
        (f"{tmp_path}:XWND:ILS 24", "No such file"),
    ):
        with pytest.raises(ProcedureError, match=words):
            read_procedure(path)


def test_a_path_with_colons_of_its_own(tmp_path):
    folder = tmp_path / "a:b"
    folder.mkdir()
    (folder / "c:d").write_bytes(CONTENT)
    assert read_procedure(f"{folder / 'c:d'}:XWND:VOR-A").reversal.kind == "base-turn"
    named = folder / "x:y:z.toml"
    named.write_text((CODED.parent / "wendle_island_vor24.toml").read_text(encoding="utf-8"), encoding="utf-8")
    assert read_procedure(named).title == "Wendle Island VOR 24"


def _all_or_refused(path: Path) -> None:
    """Everything that a file offers, made or refused by an error that is the user's."""
    try:
        file = read_coded(path)
        for _ in all_chosen(file, sorted(file.airports)):
            pass
    except AnalyzerError:
        return


LINES = CONTENT.split(b"\n")


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_damage_of_any_kind_is_refused_or_read(tmp_path, data):
    """Columns overwritten, lines cut, joined, exchanged or lost: an error that says so, never another one."""
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 6))):
        i = data.draw(st.integers(0, len(lines) - 1))
        kind = data.draw(st.sampled_from(["overwrite", "cut", "join", "swap", "drop", "blank", "copy field"]))
        at = data.draw(st.integers(0, max(len(lines[i]) - 1, 0)))
        if kind == "overwrite":
            text = data.draw(st.one_of(st.binary(max_size=6), st.text("0123456789TNSEWFL-+ ", max_size=6).map(str.encode)))
            lines[i] = (lines[i][:at] + text.replace(b"\n", b"") + lines[i][at + len(text) :])[: len(lines[i])]
        elif kind == "cut":
            lines[i] = lines[i][:at]
        elif kind == "join" and i + 1 < len(lines):
            lines[i] += lines.pop(i + 1)
        elif kind == "swap":
            k = data.draw(st.integers(0, len(lines) - 1))
            lines[i], lines[k] = lines[k], lines[i]
        elif kind == "drop" and len(lines) > 1:
            del lines[i]
        elif kind == "blank":
            lines[i] = lines[i][:at] + b" " * (len(lines[i]) - at)
        else:
            k = data.draw(st.integers(0, len(lines) - 1))
            if len(lines[k]) == len(lines[i]) == 132:
                lines[i] = lines[i][:at] + lines[k][at : at + 10] + lines[i][at + 10 :]
    path = tmp_path / "damaged"
    path.write_bytes(b"\n".join(lines))
    _all_or_refused(path)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=400), st.sampled_from([b"", b"HDR01", b"SUSAP ", b"PK\x03\x04", b"\x1f\x8b\x08\x00"]))
def test_bytes_of_any_kind(tmp_path, content, begins):
    path = tmp_path / "bytes"
    path.write_bytes(begins + content)
    _all_or_refused(path)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=40))
def test_whatever_is_asked_for(asked):
    file = read_coded(CODED)
    for call in (lambda: airport_of(file, asked), lambda: chosen(file, asked), lambda: chosen(file, "S24-Z", asked)):
        try:
            call()
        except ProcedureError as error:
            assert "\n" not in str(error)  # noqa: PT017 (most of what is asked for is refused, but not all)


def test_the_order_of_the_file_does_not_matter(tmp_path):
    records = encode.records()
    made = [tables(file, "I24") for file in (read_coded(CODED), written(tmp_path, [records[0], *reversed(records[1:])]))]
    for one in made:
        one["arrivals"].sort(key=lambda row: row["name"])  # the routes are listed as the file has them
    assert made[0] == made[1]

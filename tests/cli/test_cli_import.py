"""``procedure import`` on the command line, and coded procedures wherever a procedure file is named."""

import shutil
import subprocess
import sys
import tomllib

import pytest
from command_line import SAMPLES, Command, run_here

CODED = "wendle_island_coded.txt"


@pytest.fixture
def folder(tmp_path):
    shutil.copy(SAMPLES / CODED, tmp_path / CODED)
    return tmp_path


def said(folder, *arguments):
    return run_here(Command(arguments, folder))


def test_what_a_file_holds(folder):
    out = said(folder, "procedure", "import", CODED).out
    assert "1 airport has 7 approaches with a course reversal" in " ".join(out.split())
    assert "cycle 2606 (the 6th of 2026)" in out
    assert max(map(len, out.splitlines())) <= 80


def test_the_approaches_of_an_airport(folder):
    out = said(folder, "procedure", "import", CODED, "xwnd").out
    words = " ".join(out.split())
    assert "procedure turn at WND, left of the outbound course 061°, within 10 NM; from DORVA NoPT from PELTO" in words
    assert "hold in lieu at KESTA, left turns, inbound 239°, 1 min legs; from WND" in words
    assert "hold in lieu at QUENO, right turns, inbound 059°, 4 NM legs; from QUENO" in words
    assert "teardrop at WND, outbound 079°, left turn, inbound 241°" in words
    assert "10 NM arc about WND to TARSU, to the left; from OSSIN" in words
    assert "check against the chart" in out
    assert max(map(len, out.splitlines())) <= 80


def test_a_procedure_file_is_made_and_checked(folder):
    printed = said(folder, "procedure", "import", CODED, "XWND", "VOR Z 24")
    assert "check against the chart" in printed.out
    written = said(folder, "procedure", "import", CODED, "XWND", "VOR Z 24", "-o", "made.toml")
    assert (written.code, written.err) == (0, "")
    assert (folder / "made.toml").read_text(encoding="utf-8") == printed.out
    assert said(folder, "procedure", "check", "made.toml").out.endswith("\nok\n")
    again = said(folder, "procedure", "import", CODED, "XWND", "VOR Z 24", "-o", "made.toml")
    assert again.code == 2
    assert "--force" in again.err
    assert said(folder, "procedure", "import", CODED, "XWND", "VOR Z 24", "-o", CODED, "--force").code == 2


def test_all_of_them(folder):
    outcome = said(folder, "procedure", "import", CODED, "--all", "made")
    assert "Written: 8 procedure files in made." in outcome.out
    names = sorted(path.name for path in (folder / "made").iterdir())
    assert names == [
        "XWND_D24_GERRI.toml", "XWND_D24_OSSIN.toml", "XWND_I24.toml", "XWND_N06.toml", "XWND_R06.toml", "XWND_S24-Y.toml",
        "XWND_S24-Z.toml", "XWND_VOR-A.toml",
    ]  # fmt: skip
    assert said(folder, "procedure", "import", CODED, "--all", "made").code == 2
    assert said(folder, "procedure", "import", CODED, "--all", "made", "--force").code == 0


def test_all_with_one_that_cannot_be_made(folder):
    records = (folder / CODED).read_text(encoding="ascii").splitlines(keepends=True)
    kept = [record for record in records if record[13:18] != "QUENO"]
    (folder / "less.txt").write_text("".join(kept), encoding="ascii")
    outcome = said(folder, "procedure", "import", "less.txt", "--all", "made")
    assert outcome.code == 0
    words = " ".join(outcome.out.split())
    assert "Written: 7 procedure files" in words
    assert "XWND R06: the fix of the reversal is terminal waypoint QUENO of region XX, which the file does not hold" in words


def test_a_coded_procedure_in_place_of_a_file(folder):
    log = str(SAMPLES / "clean.csv")
    coded = f"{CODED}:XWND:VOR Z 24"
    outcome = said(folder, "debrief", log, "--procedure", coded, "--json", "-")
    assert outcome.code == 0, outcome.err
    assert '"title": "XWND VOR Z 24"' in outcome.out
    brief = said(folder, "brief", coded, "--speed", "100", "-o", "out")
    assert brief.code == 0, brief.err
    assert "XWND VOR Z 24" in brief.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["nothing.txt"], "nothing.txt: No such file"),
        ([CODED, "EGXX"], "no airport EGXX; it holds XWND"),
        ([CODED, "XWND", "ILS 25"], "no approach ILS 25; did you mean I24 (ILS 24)"),
        ([CODED, "XWND", "VOR/DME 24"], "--from GERRI"),
        ([CODED, "--from", "GERRI"], "--from is of one approach"),
        ([CODED, "XWND", "-o", "made.toml"], "-o is of one approach"),
        ([CODED, "XWND", "ILS 24", "--all", "made"], "leave out APPROACH, or --all"),
    ],
)
def test_what_is_refused(folder, arguments, words):
    outcome = said(folder, "procedure", "import", *arguments)
    assert outcome.code == 2
    assert words in outcome.err
    assert len(outcome.err.splitlines()) <= 2
    assert "Traceback" not in outcome.err


def test_a_fix_by_its_ident(folder):
    log = str(SAMPLES / "clean.csv")
    by_ident = said(folder, "procedure", "draft", log, "--fix", "WND", "--coded", CODED)
    assert by_ident.code == 0, by_ident.err
    by_place = said(
        folder, "procedure", "draft", log, "--fix", "48.35,-24.7", "--name", "WND", "--kind", "vor", "--variation", "-8"
    )
    assert by_ident.out == by_place.out
    unknown = said(folder, "procedure", "draft", log, "--fix", "WNX", "--coded", CODED)
    assert unknown.code == 2
    assert "no navaid or waypoint of that ident" in unknown.err
    without = said(folder, "procedure", "new", "made.toml", "--fix", "WND")
    assert without.code == 2
    assert "give --coded FILE as well" in without.err


def test_idents_for_positions_where_they_are_asked_for(folder):
    """`procedure new` with the fix given, and an ident that is typed for the position of the arc's centre."""
    answers = [
        "An arc", "",  # title and category; of the fix, only what its record does not hold:
        "", "", "arc", "241", "left",  # elevation and variation; the reversal
        "", "WNX", "WND", "10",  # no limit; an ident that is none, then one; the radius
    ]  # fmt: skip
    command = [sys.executable, "-m", "analyzer", "procedure", "new", "made.toml", "--fix", "XWND/LOMBI", "--coded", CODED]
    done = subprocess.run(  # noqa: S603
        command,
        cwd=folder,
        input="\n".join(answers) + "\n" * 40,
        capture_output=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr + done.stdout
    assert "no navaid or waypoint of that ident" in done.stdout
    made = tomllib.loads((folder / "made.toml").read_text("utf-8"))
    assert made["fix"]["name"] == "LOMBI"
    assert made["arc"] == {"latitude_deg": 48.35, "longitude_deg": -24.7, "radius_nm": 10}

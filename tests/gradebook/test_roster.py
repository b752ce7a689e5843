"""Rosters: columns by plain words, which entry is of which log, and what is missing on either side."""

import datetime as dt

import pytest

from analyzer.errors import GradeError
from analyzer.gradebook.roster import match_roster, named_pilots, read_roster


def roster(tmp_path, text: str, encoding: str = "utf-8"):
    path = tmp_path / "roster.csv"
    path.write_bytes(text.encode(encoding))
    return read_roster(path)


@pytest.mark.parametrize(
    "text",
    [
        "file,pilot,date\na.csv,Ada,2026-06-01\n",
        "Pilot name;Filename;Day\r\nAda;a.csv;2026-06-01\r\n",
        "\ufeffdate_flown\tLOG_FILE\tstudent\n2026-06-01\ta.csv\tAda\n",
        'log,"trainee",flown\n"a.csv","Ada","2026-06-01"\n\n,,\n',
    ],
)
def test_columns_are_found_by_plain_words(tmp_path, text):
    (entry,) = roster(tmp_path, text).entries.values()
    assert (entry.file, entry.pilot, entry.date) == ("a.csv", "Ada", dt.date(2026, 6, 1))


def test_latin_1_is_read_and_a_date_may_be_left_out(tmp_path):
    (entry,) = roster(tmp_path, "file,pilot\na.csv,Zoë\n", "latin-1").entries.values()
    assert (entry.pilot, entry.date) == ("Zoë", None)


def test_aircraft_and_remark_are_read_where_they_are(tmp_path):
    text = 'file,pilot,Aircraft,Remark\na.csv,Ada,C172,"Good scan, calm."\nb.csv,Bo,,\n'
    first, second = roster(tmp_path, text).entries.values()
    assert (first.aircraft, first.remark) == ("C172", "Good scan, calm.")
    assert (second.aircraft, second.remark) == (None, None)


def test_logs_are_matched_by_path_or_name_or_stem(tmp_path):
    found = match_roster(
        roster(tmp_path, "file,pilot\nx/a.csv,Ada\nB.CSV,Bo\nc,Cy\ny\\d.csv,Dee\n"),
        ["x/a.csv", "x/b.csv", "x/c.csv.gz", "y/d.csv", "z.csv"],
    )
    assert {place: entry.pilot for place, entry in found.by_place.items()} == {0: "Ada", 1: "Bo", 2: "Cy", 3: "Dee"}
    assert (found.logs_without, found.without_log, found.of_several_logs) == (1, (), ())


def test_an_entry_of_several_logs_is_given_to_none(tmp_path):
    found = match_roster(roster(tmp_path, "file,pilot\na.csv,Ada\nlost.csv,Bo\n"), ["x/a.csv", "y/a.csv"])
    assert found.by_place == {}
    assert [entry.file for entry in found.of_several_logs] == ["a.csv"]
    assert [entry.file for entry in found.without_log] == ["lost.csv"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty; a roster begins with a header like file,pilot,date"),
        ("who,what\n1,2\n", "line 1: no column for the file; name one of them file or filename or file name"),
        ("file,date\na,2026-06-01\n", "line 1: no column for the pilot"),
        ("file,pilot,student\na,b,c\n", "line 1: pilot and student could both be the pilot; rename one"),
        ("file,pilot\na.csv,\n", "line 2: no pilot; fill it in"),
        ("file,pilot\na.csv,A\n\nA.csv,B\n", "line 4: A.csv is on line 2 too"),
        ("file,pilot,date\na.csv,A,01.06.2026\n", "line 2: date '01.06.2026': write it like 2026-06-14"),
    ],
)
def test_a_wrong_roster_is_refused(tmp_path, text, said):
    with pytest.raises(GradeError) as refused:
        roster(tmp_path, text)
    assert said in str(refused.value)
    assert "roster.csv" in str(refused.value)


def test_a_roster_that_is_not_there_is_said(tmp_path):
    with pytest.raises(GradeError, match=r"lost.csv: cannot be read"):
        read_roster(tmp_path / "lost.csv")


def test_pilots_of_single_logs_wherever_they_lie(tmp_path):
    path = tmp_path / "roster.csv"
    path.write_text("file,pilot\nada/log.csv,Ada\nbo/log.csv,Bo\n", encoding="utf-8")
    assert named_pilots(path, ["/home/class/bo/log.csv", "other.csv", "ada/log.csv"]) == ("Bo", "", "Ada")


@pytest.mark.parametrize(
    ("logs", "said"),
    [
        (["x/log.csv", "y/log.csv"], "line 2: log.csv matches several of the logs; write it with its folder"),
        (["a.csv", "b.csv"], "names none of the logs"),
    ],
)
def test_a_roster_that_leaves_single_logs_open_is_refused(tmp_path, logs, said):
    path = tmp_path / "roster.csv"
    path.write_text("file,pilot\nlog.csv,Ada\n", encoding="utf-8")
    with pytest.raises(GradeError, match=said):
        named_pilots(path, logs)

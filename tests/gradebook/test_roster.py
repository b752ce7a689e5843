"""Rosters: columns by plain words, which entry is of which log, and what is missing on either side."""

import datetime as dt

import pytest

from analyzer.errors import FlownError, GradeError
from analyzer.gradebook.flown_logs import flown_by_log
from analyzer.gradebook.index import index_of
from analyzer.gradebook.roster import match_roster, read_roster, roster_entries


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


def test_the_log_that_an_entry_names_most_fully_has_it(tmp_path):
    """``copy/a.csv`` ends like it too; that it has no pilot is said."""
    found = match_roster(roster(tmp_path, "file,pilot\na.csv,Ada\n"), ["a.csv", "copy/a.csv"])
    assert {place: entry.pilot for place, entry in found.by_place.items()} == {0: "Ada"}
    assert (found.logs_without, found.of_several_logs) == (1, ())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty; a roster begins with a header like file,pilot,date"),
        ("who,what\n1,2\n", "line 1: no column for the file; name one of them file or filename or file name"),
        ("file,date\na,2026-06-01\n", "line 1: no column for the pilot"),
        ("file,pilot,student\na,b,c\n", "line 1: pilot and student could both be the pilot; rename one"),
        ("file,pilot\na.csv,\n", "line 2: no pilot; fill it in"),
        ("file,pilot\na.csv,A\n\nA.csv,B\n", "line 4: A.csv is on line 2 too"),
        ("file,pilot,date\na.csv,A,June\n", "line 2: date 'June': not a date; write it like 2026-06-14"),
        ("file,pilot,date\na.csv,A,31.06.2026\n", "line 2: date '31.06.2026': not a date"),
        ("file,pilot,date\na.csv,A,1/6/2026\n", "line 2: date '1/6/2026': day and month cannot be told apart; write it like"),
    ],
)
def test_a_wrong_roster_is_refused(tmp_path, text, said):
    with pytest.raises(GradeError) as refused:
        roster(tmp_path, text)
    assert said in str(refused.value)
    assert "roster.csv" in str(refused.value)


@pytest.mark.parametrize(
    ("written", "dates"),
    [
        (("2026-06-01", "2026-06-14"), ("2026-06-01", "2026-06-14")),
        (("01.06.2026", "14.06.26"), ("2026-06-01", "2026-06-14")),  # with dots, the day is first
        (("6/1/2026", "6/14/2026"), ("2026-06-01", "2026-06-14")),  # the second settles the first
        (("01/06/2026", "14/06/2026"), ("2026-06-01", "2026-06-14")),
        (("1 June 2026", "14-Jun-26"), ("2026-06-01", "2026-06-14")),
    ],
)
def test_dates_as_spreadsheets_save_them(tmp_path, written, dates):
    """A spreadsheet turns 2026-06-14 into its own form when it saves the roster."""
    text = "file,pilot,date\n" + "".join(f"{number}.csv,A,{cell}\n" for number, cell in enumerate(written))
    assert tuple(str(entry.date) for entry in roster(tmp_path, text).entries.values()) == dates


def test_a_roster_that_is_not_there_is_said(tmp_path):
    with pytest.raises(GradeError, match=r"lost.csv: cannot be read"):
        read_roster(tmp_path / "lost.csv")


def test_pilots_of_single_logs_wherever_they_lie(tmp_path):
    path = tmp_path / "roster.csv"
    path.write_text("file,pilot\nada/log.csv,Ada\nbo/log.csv,Bo\n", encoding="utf-8")
    entries = roster_entries(path, ["/home/class/bo/log.csv", "other.csv", "ada/log.csv"])
    assert [entry and entry.pilot for entry in entries] == ["Bo", None, "Ada"]


def test_what_was_flown_is_a_column_of_its_own(tmp_path):
    """``flown`` alone is when; several approaches of a log stand in one cell."""
    text = "file,pilot,flown,Flown as\na.csv,Ada,2026-06-01,15:41:30=base-turn 16:02=45/180\nb.csv,Bo,,\n"
    first, second = roster(tmp_path, text).entries.values()
    assert (first.date, first.flown_as) == (dt.date(2026, 6, 1), ("15:41:30=base-turn", "16:02=45/180"))
    assert second.flown_as == ()


LOGS = ["class/ada/log.csv", "class/bo/log.csv", "odd=name.csv"]


@pytest.mark.parametrize(
    ("word", "flown"),
    [
        ("ada/log.csv=teardrop", (("teardrop",), (), ())),
        ("class/bo/LOG.csv=15:41:30=base-turn", ((), ("15:41:30=base-turn",), ())),
        ("odd=name=15:41:30=arc", ((), (), ("15:41:30=arc",))),
        ("bo\\log.csv=15:41:30", ((), ("15:41:30",), ())),
    ],
)
def test_what_was_flown_goes_to_the_log_that_it_begins_with(word, flown):
    assert flown_by_log([word], LOGS, [None, None, None]) == flown


def test_what_was_flown_is_by_the_roster_where_nothing_else_says(tmp_path):
    path = tmp_path / "roster.csv"
    path.write_text("file,pilot,flown as\nada/log.csv,Ada,teardrop\nbo/log.csv,Bo,\n", encoding="utf-8")
    entries = roster_entries(path, LOGS)
    assert flown_by_log(["bo/log.csv=hold"], LOGS, entries) == (("teardrop",), ("hold",), ())
    with pytest.raises(FlownError, match=r"line 2 of the roster names what was flown in class/ada/log\.csv; keep one"):
        flown_by_log(["ada/log.csv=hold"], LOGS, entries)


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("teardrop", "begins with none of the logs; write it like log.csv=15:41:30=base-turn"),
        ("other.csv=teardrop", "begins with none of the logs"),
        ("log.csv=teardrop", "several of the logs are called log.csv; write it with its folder"),
    ],
)
def test_what_was_flown_in_no_one_log_is_refused(word, said):
    with pytest.raises(FlownError, match=said):
        flown_by_log([word], LOGS, [None, None, None])


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
        roster_entries(path, logs)


FLIGHT, OTHER = "ab" * 32, "cd" * 32


def indexed(tmp_path, text, logs):
    """An index of logs by name and digest, each with one approach on the same day."""
    documents = [
        {"file": file, "sha256": digest, "start": "2026-06-14T09:12:00.000Z", "approaches": [{}], "holds": []}
        for file, digest in logs
    ]
    return index_of(documents, roster(tmp_path, text))


@pytest.mark.parametrize(
    ("text", "logs", "owner", "copy"),
    [
        ("file,pilot\nzoe.csv,Zoe\n", [("a copy.csv", FLIGHT), ("other.csv", OTHER), ("zoe.csv", FLIGHT)], 2, 0),
        ("file,pilot\nzoe.csv,Zoe\n", [("backup/zoe.csv", FLIGHT), ("zoe.csv", FLIGHT)], 1, 0),
        ("file,pilot\nzoe.csv,Zoe\n", [("x/zoe.csv", FLIGHT), ("y/zoe.csv", FLIGHT)], 0, 1),
        ("file,pilot\na.csv,Ada\nb.csv,Bo\n", [("a.csv", FLIGHT), ("b.csv", FLIGHT)], 0, 1),
    ],
)
def test_a_flight_stays_with_the_pilot_of_the_roster(tmp_path, text, logs, owner, copy):
    """Whatever its copies are called, and wherever they come in order."""
    index = indexed(tmp_path, text, logs)
    assert index.first_of == {copy: owner}
    assert index.matches.by_place[owner].file in logs[owner][0]
    assert index.attempts == {owner: (1,)}
    assert index.matches.of_several_logs == ()


def test_without_a_roster_the_first_of_copies_counts():
    documents = [
        {"file": file, "sha256": FLIGHT, "start": None, "approaches": [], "holds": []} for file in ("a.csv", "b.csv", "c.csv")
    ]
    assert index_of(documents, None).first_of == {1: 0, 2: 0}
